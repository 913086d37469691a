import { custodyEvent, movedText, piecesOfBox, scanKind } from "../../web/js/scan_model.js";
import { wayBack } from "../../web/js/pages/sign_in.js";
import { words } from "../../web/js/words.js";
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

test("what moved is named, or counted when it is much", () => {
  const one = (tag, quantity = 1) => ({ tag, kit_type: "Pack", quantity });
  same(movedText([one("PL01"), one(null, 8)], words.of), "PL01 Pack, 8 × Pack");
  same(movedText([one("1"), one("2"), one("3"), one(null, 8)], words.of), "11 pieces");
});

test("after sign-in only a path of our own is followed", () => {
  const way = (then) => wayBack(new URL(`http://board.test/sign-in?then=${encodeURIComponent(then)}`));
  same([way("/days?from=2026-11-26"), way("//elsewhere.test"), way("/\\elsewhere.test"), way("https://elsewhere.test"), way("")], ["/days?from=2026-11-26", "/", "/", "/", "/"]);
  same(wayBack(new URL("http://board.test/sign-in")), "/");
});
