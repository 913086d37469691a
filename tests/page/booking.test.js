import { NO_DRAFT, changedBody, shownOf, withRadios } from "../../web/js/change_model.js";
import { bookingProgress, progressText, standsOf, stillToGo } from "../../web/js/line_model.js";
import { boxesOf } from "../../web/js/parts/truck_list.js";
import { words } from "../../web/js/all_words.js";
import { same, test } from "./runner.js";

const line = (id, quantity, category, more = {}) => ({ id, kit_type_id: id, name: id, quantity, category, released: 0, item_id: null, state: "confirmed", tracking: category === "battery" ? "count" : "serial", ...more });
const radios = () => ({
  id: "b", start: "2026-11-25T15:30:00+00:00", end: "2026-11-27T20:00:00+00:00", state: "confirmed",
  lines: [line("pack", 4, "pack"), line("four-way", 1, "receiver"), line("lav", 4, "lavalier"), line("aa", 24, "battery"), line("freq", 5, "frequency", { tracking: "frequency" })],
});
const stands = (id, more) => ({ id, out: 0, back: 0, used: 0, missing: 0, overdue: 0, ...more });

test("each line says how far it is, in words", () => {
  const says = (quantity, more) => progressText(line("aa", quantity, "battery"), stands("aa", more));
  same([says(12, {}), says(12, { out: 4 }), says(12, { out: 12 }), says(12, { out: 4, back: 2 }), says(12, { back: 12 })], ["0 of 12 out", "4 of 12 out", "all 12 out", "4 of 12 out, 2 back", "all 12 back"]);
  same([says(1, {}), says(1, { out: 1 }), says(1, { back: 1 }), says(6, { used: 4 })], ["not out", "out", "back", "4 of 6 out"]);
});

test("a booking is part out, out, part back or all back; frequencies are nowhere", () => {
  const booking = { lines: [line("pack", 2, "pack"), line("freq", 2, "frequency", { tracking: "frequency" })] };
  const is = (more) => bookingProgress(booking, { lines: [stands("pack", more)] });
  same([is({}), is({ out: 1 }), is({ out: 2 }), is({ out: 1, back: 1 }), is({ back: 2 }), is({ back: 1 })], [null, "part_out", "out", "part_back", "all_back", "part_back"]);
  same(Object.keys(words.booking.progress), ["part_out", "out", "part_back", "all_back"]);
});

test("what was released or used up has not to go out any more", () => {
  const booking = { lines: [line("pack", 4, "pack", { state: "released" }), line("aa", 10, "battery", { released: 2 }), line("tape", 6, "tape", { tracking: "consumable" })] };
  const standing = { lines: [stands("aa", { out: 3, back: 1 }), stands("tape", { used: 6 })] };
  same(stillToGo(booking, standing).map((one) => [one.line.id, one.left]), [["aa", 6]]);
  same(standsOf(booking.lines[0], null).out, 0);
});

const proposal = (quantity, way, ways) => [
  { role: "pack", kit_type_id: "pack", quantity, ways: 0, choices: [{ kit_type_id: "pack", ways: 0 }] },
  { role: "way", kit_type_id: way, quantity: 1, ways, choices: [{ kit_type_id: "four-way", ways: 4 }, { kit_type_id: "two-way", ways: 2 }] },
  { role: "lavalier", kit_type_id: "other-lav", quantity, ways: 0, choices: [{ kit_type_id: "lav", ways: 0 }, { kit_type_id: "other-lav", ways: 0 }] },
  { role: "battery", kit_type_id: "aa", quantity: 2 * quantity, ways: 0, choices: [{ kit_type_id: "aa", ways: 0 }] },
  { role: "pouch", kit_type_id: "pouch", quantity, ways: 0, choices: [] },
  { role: "frequency", kit_type_id: "freq", quantity, ways: 0, choices: [] },
];

function radiosBy(booking, by) {
  const [pack] = booking.lines;
  const { numbers } = shownOf(booking, NO_DRAFT);
  const now = Number(numbers.pack);
  return withRadios(booking, numbers, { pack, by, before: proposal(now, "four-way", 4), after: proposal(now + by, "two-way", 2) });
}

test("one radio fewer takes its parts along: cells as many each as there were, a receiver while it is needed", () => {
  same(radiosBy(radios(), -1), { pack: "3", "four-way": "1", lav: "3", aa: "18", freq: "4" });
});

test("one radio more needs another receiver only where the ways are used up", () => {
  same(radiosBy(radios(), 1)["four-way"], "2");
  const roomy = radios();
  roomy.lines[1] = line("two-way", 3, "receiver");
  same([radiosBy(roomy, 1)["two-way"], radiosBy(roomy, -1)["two-way"]], ["3", "3"]);
});

test("a receiver leaves when the rest have ways enough, and one that was spare stays", () => {
  const booking = radios();
  booking.lines[1] = line("two-way", 2, "receiver");
  booking.lines[0] = line("pack", 3, "pack");
  same(radiosBy(booking, -1)["two-way"], "1");
  booking.lines[1] = line("two-way", 4, "receiver");
  same(radiosBy(booking, -1)["two-way"], "4");
});

test("a part that the booking does without stays away", () => {
  same("pouch" in radiosBy(radios(), 1), false);
});

test("only what differs is sent, and what was typed outlasts another reading", () => {
  const booking = radios();
  const typed = (more) => shownOf(booking, { ...NO_DRAFT, ...more });
  same(changedBody(booking, typed({})), { wrong: words.booking.nothingChanged });
  const fewer = { numbers: { lav: "3" } };
  same(changedBody(booking, typed(fewer)).body.lines[2], { id: "lav", kit_type_id: "lav", quantity: 3 });
  same(Object.keys(changedBody(booking, typed(fewer)).body), ["lines"]);
  same(changedBody(booking, typed({ numbers: { lav: "x" } })).wrong, `lav: ${words.forms.wholeNumber}`);
  same(changedBody(booking, typed({ times: { toTime: "21:00" } })).body, { end: { day: "2026-11-27", time: "21:00" } });
  booking.lines.pop();
  booking.lines[0].quantity = 6;
  same(typed(fewer).numbers, { pack: "6", "four-way": "1", lav: "3", aa: "24" });
});

test("the truck's list goes box by box in the order of their numbers, what is in none last", () => {
  const lines = [["a", ["23"]], ["b", []], ["c", ["3"]], ["d", ["3"]], ["e", ["1", "2"]]].map(([name, boxes]) => ({ name, boxes }));
  same(boxesOf(lines).map((box) => [box.title, box.lines.map((one) => one.name).join("")]), [["Boxes 1 and 2", "e"], ["Box 3", "cd"], ["Box 23", "a"], ["In no box", "b"]]);
});
