import { boxOffer, boxText, countedMatches, custodyEvent, holdersOf, movedText, outBookings, piecesOfBox, scanKind } from "../../web/js/scan_model.js";
import { wayBack } from "../../web/js/pages/sign_in.js";
import { words } from "../../web/js/all_words.js";
import { same, test } from "./runner.js";

const base = { key: "k", at: "2026-11-25T14:05:00+00:00", pieces: [{ tag: "PL01" }] };

test("kit goes out to a booking, or else to a unit, and to a person where one is named", () => {
  same(custodyEvent({ ...base, choice: { mode: "out", booking: "b1", unit: "u1", person: "Wyn" } }), { key: "k", happened_at: base.at, pieces: base.pieces, kind: "out", booking_id: "b1", person: "Wyn" });
  same(custodyEvent({ ...base, choice: { mode: "out", booking: "", unit: "u1", person: "" }, anyway: true }), { key: "k", happened_at: base.at, pieces: base.pieces, kind: "out", unit_id: "u1", anyway: true });
});

test("kit comes back with its condition, and words only where something is wrong", () => {
  same(custodyEvent({ ...base, choice: { mode: "back", condition: "fit", words: "socket" } }), { key: "k", happened_at: base.at, pieces: base.pieces, kind: "back", condition: "fit" });
  same(custodyEvent({ ...base, choice: { mode: "back", condition: "suspect", words: "socket" } }).words, "socket");
});

test("a box is its pieces and its counts", () => {
  same(piecesOfBox({ items: [{ tag: "PL01" }], counts: [{ kit_type_id: "p", quantity: 8 }] }), [{ tag: "PL01" }, { kit_type_id: "p", quantity: 8 }]);
  same([scanKind({ item: {} }), scanKind({ box: {} }), scanKind({ kit_type: {} })], ["item", "box", "kit"]);
});

test("what moved is named by tag, or counted when it is many of a kind", () => {
  const one = (tag, quantity = 1, kit_type = "Pack") => ({ tag, kit_type, quantity });
  same(movedText([one("PL01"), one("PL02"), one(null, 8, "Pouch")], words.of), "PL01, PL02 Pack, 8 × Pouch");
  same(movedText([one("1"), one("2"), one("3"), one("4")], words.of), "4 × Pack");
  same(movedText([one(null, 2, "Pouch"), one(null, 3, "Pouch")], words.of), "5 × Pouch");
});

test("counted kit comes back from the unit that is meant", () => {
  const choice = { mode: "back", condition: "fit" };
  same(custodyEvent({ ...base, pieces: [{ kit_type_id: "p", quantity: 2 }], choice, from: "u2" }).unit_id, "u2");
  same("unit_id" in custodyEvent({ ...base, choice }), false);
});

test("counted kit is found by its name or category, whole words before beginnings", () => {
  const kits = ["AA, rechargeable", "AA, single-use", "AAA, rechargeable", "Pouch, small", "Headphones, closed", "Cloth tape, black, roll"].map((name) => ({ name, category: name.startsWith("AA") ? "battery" : "other" }));
  const found = (text) => countedMatches(kits, text).map((kit) => kit.name);
  same(found("aa"), ["AA, rechargeable", "AA, single-use"]);
  same(found("pouches"), ["Pouch, small"]);
  same(found("headphone"), ["Headphones, closed"]);
  same(found("black tape"), ["Cloth tape, black, roll"]);
  same(found("batter").length, 3);
  same([found("PL12"), found("a"), found("")], [[], [], []]);
});

const line = (kit_type_id, quantity, more = {}) => ({ id: kit_type_id, kit_type_id, quantity, state: "confirmed", tracking: "serial", ...more });
const standing = (lines) => ({ lines: lines.map(([id, out, back = 0]) => ({ id, out, back, used: 0, missing: 0 })) });
const box = {
  items: [["PL01", "fit"], ["PL02", "damaged"], ["PL03", "fit"], ["PL04", "fit"]].map(([tag, condition]) => ({ id: tag, tag, name: "Pack", kit_type_id: "pack", condition })),
  counts: [{ kit_type_id: "aa", name: "AA", quantity: 96 }, { kit_type_id: "tape", name: "Tape", quantity: 4 }],
};

test("of a box no more is offered than the booking has still to go out, of what is fit and there", () => {
  const booking = { lines: [line("pack", 3), line("aa", 18, { tracking: "count" })] };
  const custody = [{ item_id: "PL01", kit_type_id: "pack", unit_id: "u1", quantity: 1 }];
  const offer = boxOffer(box, { mode: "out", custody, booking, standing: standing([["pack", 2], ["aa", 6]]) });
  same(piecesOfBox(offer), [{ tag: "PL03" }, { kit_type_id: "aa", quantity: 12 }]);
  same(boxText(offer, words.of), "PL03 Pack, 12 × AA");
});

test("of a box what is out comes back, counted kit of one unit", () => {
  const custody = [
    { item_id: "PL01", kit_type_id: "pack", unit_id: "u1", quantity: 1 }, { item_id: "PL03", kit_type_id: "pack", unit_id: "u2", quantity: 1 },
    { item_id: null, kit_type_id: "aa", unit_id: "u1", quantity: 24 }, { item_id: null, kit_type_id: "aa", unit_id: "u2", quantity: 60 },
  ];
  const offer = boxOffer(box, { mode: "back", custody, from: "u1", may: (unit) => unit === "u1" });
  same(piecesOfBox(offer), [{ tag: "PL01" }, { kit_type_id: "aa", quantity: 24 }]);
  same(holdersOf(custody, "aa", { may: () => true, first: ["u2"] }).map((one) => [one.unit_id, one.quantity]), [["u2", 60], ["u1", 24]]);
});

test("kit goes out on what runs and on what begins within a day and a half, own units first", () => {
  const at = (id, unit_id, start, end, state = "confirmed") => ({ id, unit_id, state, start: `2026-11-${start}:00+00:00`, end: `2026-11-${end}:00+00:00` });
  const bookings = [
    at("over", "u1", "24T06:00", "25T06:00"), at("main", "u1", "25T15:30", "27T20:00"), at("runs", "u2", "24T07:00", "27T20:00"),
    at("pencil", "u2", "25T15:30", "27T20:00", "pencilled"), at("far", "u2", "28T15:30", "29T20:00"),
  ];
  const shown = (more) => outBookings(bookings, { now: base.at, own: ["u2"], may: () => true, ...more }).map((one) => one.id);
  same(shown({}), ["runs", "main"]);
  same(shown({ may: (unit) => unit === "u1" }), ["main"]);
});

test("after sign-in only a path of our own is followed", () => {
  const way = (then) => wayBack(new URL(`http://board.test/sign-in?then=${encodeURIComponent(then)}`));
  same([way("/days?from=2026-11-26"), way("//elsewhere.test"), way("/\\elsewhere.test"), way("https://elsewhere.test"), way("")], ["/days?from=2026-11-26", "/", "/", "/", "/"]);
  same(wayBack(new URL("http://board.test/sign-in")), "/");
});
