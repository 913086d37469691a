import { byUnit, inOrder } from "../../web/js/pages/mine.js";
import { wallLists } from "../../web/js/pages/wall.js";
import { bookedText } from "../../web/js/parts/booked.js";
import { same, test } from "./runner.js";

const NOW = "2026-11-25T14:05:00+00:00";
const booking = (id, start, end, state = "confirmed") => ({ id, state, start: `${start}T07:00:00+00:00`, end: `${end}T20:00:00+00:00` });

test("bookings stand by their start, now before next, and what is past or ended apart", () => {
  const found = inOrder([
    booking("december", "2026-12-01", "2026-12-02"), booking("now", "2026-11-16", "2026-12-05"), booking("past", "2026-11-23", "2026-11-24"),
    booking("undone", "2026-11-26", "2026-11-26", "undone"), booking("new", "2026-11-26", "2026-11-26", "pencilled"),
  ], NOW);
  const ids = Object.values(found).map((some) => some.map((one) => one.id));
  same(ids, [["now"], ["new", "december"], ["undone", "past"]]);
});

test("what is out of all units is one row a unit, late first", () => {
  const one = (unit, quantity, overdue = false) => ({ unit_id: unit, unit, quantity, overdue });
  same(byUnit([one("Main", 60), one("Second", 2), one("Second", 1, true), one("Main", 2)]).map((row) => [row.unit, row.quantity, row.late]), [["Second", 3, 1], ["Main", 62, 0]]);
});

test("a part that was released is not counted off what is left of its line again", () => {
  const line = (members) => ({ category: "pack", name: "Pack", quantity: 4, released: 2, state: "confirmed", ...members });
  same(bookedText({ lines: [line()] }), "4 radios");
  same(bookedText({ lines: [line(), line({ state: "released", released: 4 })] }), "4 radios");
});

const out = (at, members) => ({ at: `${at}:00+00:00`, start: `${at}:00+00:00`, unit: "Main", lines: 1, pieces: 2, boxes: [], state: "prepare", purpose: "", ...members });
const back = (at, members) => ({ at: `${at}:00+00:00`, due_at: `${at}:00+00:00`, promised_at: null, unit: "Main", person: null, pieces: 1, kit: [], out: true, late: false, ...members });

test("the wall shows today and tomorrow, late first, and the day that late kit was due", () => {
  const board = {
    today: "2026-11-25", reminders: [],
    going_out: [out("2026-11-25T15:30"), out("2026-11-26T10:00"), out("2026-11-27T10:00")],
    coming_back: [back("2026-11-25T16:00"), back("2026-11-25T19:30", { late: true, due_at: "2026-11-24T19:30:00+00:00" }), back("2026-11-26T19:00")],
  };
  const [going, coming] = wallLists(board);
  same(going.rows.map((row) => row.date), ["2026-11-25", "2026-11-26"]);
  same(coming.rows.map((row) => [row.date, row.at.slice(0, 16), row.word]), [["2026-11-25", "2026-11-24T19:30", "late"], ["2026-11-25", "2026-11-25T16:00", "out"], ["2026-11-26", "2026-11-26T19:00", "out"]]);
  same(coming.rows[0].small, "expected 19:30");
});
