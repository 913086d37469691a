import { byCategory, cellWords, filtered, freeFigure, levelOf, spokenCell } from "../../web/js/days_model.js";
import { figuresShown, stretches } from "../../web/js/pages/kit.js";
import { byKit } from "../../web/js/pages/mine.js";
import { same, test } from "./runner.js";

const cell = (members) => ({ date: "2026-11-26", at: "2026-11-26T00:00:00+00:00", start: "2026-11-26T00:00:00+00:00", capacity: 24, free: 6, if_pencils_fall: 6, booked: 18, pencilled: 0, out: 0, overdue: 0, out_of_service: 0, idle: 0, ...members });

test("little is the last piece or an eighth, never all there is", () => {
  const level = (free, capacity) => levelOf({ free, if_pencils_fall: free, capacity });
  same([level(3, 24), level(4, 24), level(1, 6), level(2, 6), level(1, 1), level(0, 24), level(-1, 24)], ["little", "some", "little", "some", "some", "none", "none"]);
});

test("a figure says what it is out of, or what stands idle", () => {
  same(cellWords(cell()), "of 24");
  same(cellWords(cell({ idle: 20 })), "20 idle on trucks");
});

test("a cell with none left says when and why", () => {
  same(cellWords(cell({ free: 0, if_pencils_fall: 0, booked: 24, at: "2026-11-26T07:00:00+00:00" })), "at 07:00 · all 24 booked");
  same(cellWords(cell({ free: 0, if_pencils_fall: 0, overdue: 1 })), "1 late, out");
  same(cellWords(cell({ free: 0, if_pencils_fall: 0, out_of_service: 2 })), "2 out of service");
  same(cellWords(cell({ free: 0, if_pencils_fall: 0, booked: 24 })), "all 24 booked");
  same(cellWords(cell({ free: -2, if_pencils_fall: -2 })), "short by 2");
});

test("what pencils alone keep is behind a pencil, never short", () => {
  const kept = cell({ free: -5, if_pencils_fall: 3, pencilled: 8, booked: 21 });
  same([levelOf(kept), freeFigure(kept), cellWords(kept)], ["pencil", "0", "behind a pencil · 3 if pencils fall"]);
  same(spokenCell(kept, "Fri 27"), "Fri 27, free: 0, behind a pencil · 3 if pencils fall");
  same(cellWords(cell({ free: 0, if_pencils_fall: 4, at: "2026-11-26T07:00:00+00:00" })), "behind a pencil · at 07:00 · 4 if pencils fall");
  same(cellWords(cell({ free: 2, if_pencils_fall: 6, idle: 3 })), "6 if pencils fall");
});

test("short is said only of what lacks without the pencils, and by how many then", () => {
  const lacking = cell({ free: -5, if_pencils_fall: -2, pencilled: 3, booked: 26 });
  same([levelOf(lacking), freeFigure(lacking), cellWords(lacking)], ["none", "−2", "short by 2"]);
  const nothing = cell({ free: -5, if_pencils_fall: 0, pencilled: 5, booked: 24 });
  same([levelOf(nothing), freeFigure(nothing), cellWords(nothing)], ["none", "0", "all 24 booked"]);
});

test("a frequency is never idle on a truck", () => {
  same(cellWords(cell({ idle: 16 }), { tracking: "frequency" }), "of 24");
});

test("a day that begins at one says nothing of one", () => {
  same(cellWords(cell({ free: 0, if_pencils_fall: 0, out_of_service: 2, at: "2026-03-29T01:00:00+01:00", start: "2026-03-29T01:00:00+01:00" })), "2 out of service");
});

test("colour and bar are read out too", () => {
  same(spokenCell(cell({ free: 1, if_pencils_fall: 1 }), "Thu 26"), "Thu 26, free: 1, of 24, little left");
  same(spokenCell(cell({ free: 0, if_pencils_fall: 0, booked: 24 }), "Thu 26"), "Thu 26, free: 0, all 24 booked, none left");
});

test("kit stands by category in the order given, and filters leave what they name", () => {
  const kits = [{ name: "Pack", category: "packs", cells: [cell()] }, { name: "Arm", category: "rigs", cells: [cell({ free: 0, if_pencils_fall: 0 })] }, { name: "Mini", category: "packs", cells: [cell({ free: 1 })] }];
  same(byCategory(kits).map(([name, rows]) => [name, rows.map((kit) => kit.name)]), [["packs", ["Pack", "Mini"]], ["rigs", ["Arm"]]]);
  same(filtered(kits, { scarce: true }).map((kit) => kit.name), ["Arm", "Mini"]);
  same(filtered(kits, { text: "PACKS mi" }).map((kit) => kit.name), ["Mini"]);
});

const hour = (start, free, members) => ({ start, end: `${start}+1`, free, if_pencils_fall: free, booked: 0, pencilled: 0, out: 0, overdue: 0, out_of_service: 0, ...members });

test("hours that say the same are one row, and empty columns go", () => {
  const hours = [hour("00", 6), hour("01", 6), hour("02", 2, { booked: 4 }), hour("03", 6)];
  same(stretches(hours).map((row) => [row.start, row.end, row.free]), [["00", "01+1", 6], ["02", "02+1", 2], ["03", "03+1", 6]]);
  same(figuresShown(hours), ["free", "booked"]);
  same(figuresShown([hour("00", 2, { if_pencils_fall: 4 })]), ["free", "if_pencils_fall"]);
});

test("what is out is one row a kit type and due time, late first", () => {
  const one = (tag, due_at, members) => ({ kit_type_id: "pack", kit_type: "Pack", quantity: 1, tag, due_at, person: null, overdue: false, ...members });
  const rows = byKit([one("PL01", "2026-11-26T19:00:00+00:00"), one("PL02", "2026-11-26T19:00:00+00:00"), one("LA02", "2026-11-27T11:00:00+00:00", { kit_type_id: "arm", overdue: true })]);
  same(rows.map((row) => [row.quantity, row.tags]), [[1, ["LA02"]], [2, ["PL01", "PL02"]]]);
});
