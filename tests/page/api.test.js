import { newKey, nextPage } from "../../web/js/api.js";
import { dropKept, keep, keptAsks } from "../../web/js/kept.js";
import { pause, setPace } from "../../web/js/pulse.js";
import { may, unitsToAskFor } from "../../web/js/rights.js";
import { routeOf } from "../../web/js/router.js";
import { ok, same, test } from "./runner.js";

test("a key is a version 4 UUID (RFC 9562), each its own", () => {
  const keys = new Set(Array.from({ length: 100 }, newKey));
  same(keys.size, 100);
  for (const key of keys) ok(/^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/.test(key), key);
});

test("the next page is read from a Link header (RFC 8288)", () => {
  same(nextPage('</api/v1/bookings?after=3>; rel="next"'), "/bookings?after=3");
  same(nextPage('</api/v1/bookings>; rel="first", </api/v1/bookings?after=3&limit=2>; rel="next"'), "/bookings?after=3&limit=2");
  same([nextPage(null), nextPage('</api/v1/bookings>; rel="first"')], [null, null]);
});

test("polls are 5 s apart, 60 s when hidden, spread by a tenth", () => {
  same([pause(false, 0), pause(false, 0.5), pause(false, 1)].map(Math.round), [4500, 5000, 5500]);
  same([pause(true, 0), pause(true, 1)].map(Math.round), [54000, 66000]);
});

test("the service may set another pace; what it does not say stands", () => {
  setPace({ shown_ms: 300 });
  same([pause(false, 0.5), pause(true, 0.5)].map(Math.round), [300, 60000]);
  setPace(undefined);
  same(Math.round(pause(false, 0.5)), 300);
});

test("what cannot be sent is kept with its key, once, until it is dropped", () => {
  localStorage.clear();
  keep({ key: "a", text: "first" });
  keep({ key: "b", text: "second" });
  keep({ key: "a", text: "again" });
  same(keptAsks().map((ask) => ask.text), ["second", "again"]);
  dropKept("b");
  same(keptAsks().length, 1);
  localStorage.setItem("crossload-kept", "not json");
  same(keptAsks(), []);
  localStorage.clear();
});

const session = (role, unit_ids) => ({ account: { role, unit_ids }, units: [{ id: "m" }, { id: "s" }] });

test("a mixer presses for their own unit, an assistant books nothing", () => {
  same([may(session("mixer", ["s"]), "book", "s"), may(session("mixer", ["s"]), "book", "m"), may(session("mixer", ["s"]), "override")], [true, false, false]);
  same([may(session("assistant", ["s"]), "custody", "m"), may(session("assistant", ["s"]), "book", "s"), may(session("supervisor", []), "remind")], [true, false, false]);
  same(unitsToAskFor(session("coordinator", [])).length, 2);
  same(unitsToAskFor(session("mixer", ["s"])).map((unit) => unit.id), ["s"]);
});

test("paths lead to their pages and no others", () => {
  same([routeOf("/").name, routeOf("/kit/0f3").params.id, routeOf("/booking/0f3").name, routeOf("/kit/").name, routeOf("/days/x").name], ["now", "0f3", "booking", "nowhere", "nowhere"]);
});
