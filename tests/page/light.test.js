// Equinox and solstice of 2026 at 20 March 14:46 and 21 June 08:25 UTC, as almanacs publish them,
// from memory. At those instants the sun stands over the equator and over latitude 23.44 degrees.
import { isDark, lightFor, sunHeight } from "../../web/js/light.js";
import { ok, same, test } from "./runner.js";

const at = (text) => Date.parse(text) / 1000;
const near = (is, should, by) => ok(Math.abs(is - should) <= by, `expected ${should}, got ${is}`);

test("at the equinox the sun is on the poles' horizon, at the solstice as high as the tilt", () => {
  near(sunHeight(at("2026-03-20T14:46:00Z"), 90, 0), 0, 0.02);
  near(sunHeight(at("2026-06-21T08:25:00Z"), 90, 0), 23.44, 0.02);
});

test("it is light at noon and dark at midnight, and places differ", () => {
  same([isDark(at("2026-11-25T12:00:00Z"), 51.7, 0.9), isDark(at("2026-11-25T17:30:00Z"), 51.7, 0.9), isDark(at("2026-11-25T00:00:00Z"), 51.7, 0.9)], [false, true, true]);
  same(isDark(at("2026-11-25T00:00:00Z"), -36.8, 174.8), false);
  same(isDark(at("2026-06-21T23:00:00Z"), 69.6, 18.9), false);
});

const noon = { chosen: null, dark: false, phone: true, now: at("2026-11-25T12:00:00Z"), place: null, time: "12:00" };

test("a tap wins over everything, the system over the sun", () => {
  same(lightFor({ ...noon, chosen: "day", dark: true, time: "23:00" }), "day");
  same(lightFor({ ...noon, dark: true }), "night");
});

test("on a phone dusk brings the night, on a desk it does not", () => {
  same(lightFor({ ...noon, time: "23:00" }), "night");
  same(lightFor({ ...noon, time: "06:59" }), "night");
  same(lightFor({ ...noon, time: "07:00" }), "day");
  same(lightFor({ ...noon, time: "23:00", phone: false }), "day");
  same(lightFor({ ...noon, time: undefined }), "day");
  same(lightFor({ ...noon, now: at("2026-11-25T17:30:00Z"), place: { latitude: 51.7, longitude: 0.9 } }), "night");
});
