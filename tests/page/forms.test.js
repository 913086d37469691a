import { clockTime, day, moment, readForm, someText, wholeNumber } from "../../web/js/forms.js";
import { ok, same, test } from "./runner.js";

test("a whole number is read, at its bounds too", () => {
  same(wholeNumber(" 6 ").value, 6);
  same(wholeNumber("0").value, 0);
  same(wholeNumber("0", { least: 1 }).value, null);
  same(wholeNumber("999", { most: 999 }).value, 999);
  same(wholeNumber("1000", { most: 999 }).wrong, "Give a number from 0 to 999.");
});

test("what is no whole number is refused with a sentence", () => {
  for (const text of ["", "six", "-1", "1.5", "1e3", "0x10", "٣", undefined, null]) ok(wholeNumber(text).wrong, `took ${text}`);
});

test("a day must exist", () => {
  same(day("2026-11-26").value, "2026-11-26");
  same(day("2028-02-29").value, "2028-02-29");
  for (const text of ["2026-02-29", "2026-13-01", "26.11.2026", "2026-11-31", ""]) ok(day(text).wrong, `took ${text}`);
});

test("a time may be typed short", () => {
  same(["06:00", "6:00", "6", "0600", "6.30", "23:59"].map((text) => clockTime(text).value), ["06:00", "06:00", "06:00", "06:00", "06:30", "23:59"]);
  for (const text of ["24:00", "6:60", "noon", "", "6:5"]) ok(clockTime(text).wrong, `took ${text}`);
});

test("a moment is a local day and time, never an instant", () => {
  same(moment("2026-10-25", "1:30").value, { day: "2026-10-25", time: "01:30" });
  ok(moment("2026-10-25", "").wrong);
});

test("text is trimmed, and counted in characters", () => {
  same(someText("  Hale ", { name: "a name" }).value, "Hale");
  same(someText("   ", { name: "a name" }).wrong, "Give a name.");
  same(someText("🎚🎚🎚", { name: "a name", most: 3 }).value, "🎚🎚🎚");
  ok(someText("🎚🎚🎚🎚", { name: "a name", most: 3 }).wrong);
});

test("a form marks the field that is wrong, and says the first thing to mend", () => {
  const form = document.createElement("form");
  for (const [name, value] of [["quantity", "x"], ["when", "6:00"]]) {
    const input = document.createElement("input");
    Object.assign(input, { name, value });
    form.append(input);
  }
  const read = readForm(form, { quantity: wholeNumber, when: clockTime });
  same(read, { values: { quantity: null, when: "06:00" }, wrong: "Give a whole number." });
  same(form.elements.quantity.getAttribute("aria-invalid"), "true");
  same(form.elements.when.getAttribute("aria-invalid"), "false");
});
