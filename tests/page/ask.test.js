import * as model from "../../web/js/ask_model.js";
import { findKit } from "../../web/js/parts/other_kit.js";
import { shortNames } from "../../web/js/names.js";
import { words } from "../../web/js/all_words.js";
import { ok, same, test } from "./runner.js";

const choice = (kit_type_id, name, free) => ({ kit_type_id, name, free });
const proposal = (quantity) => ({
  window: { start: "2026-11-26T07:30:00+00:00", end: "2026-11-26T19:00:00+00:00", shoot_day: { date: "2026-11-26", number: 9 } },
  held: { radios: 8, ways: 10 },
  lines: [
    { role: "pack", kit_type_id: "low", name: "Pack, low", quantity, choices: [choice("low", "Pack, low", 4), choice("high", "Pack, high", 10)] },
    { role: "way", kit_type_id: "two", name: "Receiver, two-way", quantity: Math.ceil(quantity / 2), choices: [choice("two", "Receiver, two-way", 5)] },
    { role: "battery", kit_type_id: "aa", name: "AA", quantity: quantity * 2, choices: [choice("aa", "AA", 90)] },
    { role: "pouch", kit_type_id: "pouch", name: "Pouch", quantity, choices: [choice("pouch", "Pouch", 20)] },
  ],
  last_ask: { quantity: 3, lines: [{ kit_type_id: "high", name: "Pack, high", quantity: 3 }, { kit_type_id: "aa", name: "AA", quantity: 12 }, { kit_type_id: "arm", name: "Long arm", quantity: 1 }] },
  days: [
    { date: "2026-11-26", number: 9, call: "2026-11-26T07:30:00+00:00", wrap: "2026-11-26T19:00:00+00:00" },
    { date: "2026-11-27", number: 10, call: "2026-11-27T15:00:00+00:00", wrap: "2026-11-28T02:30:00+00:00" },
  ],
});
const anAsk = (quantity = 6, span = null) => model.withProposal(model.newAsk("second", span, quantity), proposal(quantity));

test("an ask opens on what is proposed and leaves the hours to the service", () => {
  const body = model.bodyOf(anAsk());
  same(body.start, undefined);
  same(body.state, "confirmed");
  same(body.lines, [{ kit_type_id: "low", quantity: 6 }, { kit_type_id: "two", quantity: 3 }, { kit_type_id: "aa", quantity: 12 }, { kit_type_id: "pouch", quantity: 6 }]);
});

test("days chosen on the strip go from the first call to the last wrap, over midnight too", () => {
  const body = model.bodyOf(anAsk(6, { from: "2026-11-26", to: "2026-11-27" }));
  same([body.start, body.end], ["2026-11-26T07:30:00+00:00", "2026-11-28T02:30:00+00:00"]);
});

test("a day off the call sheet is sent as the pool's local day and time", () => {
  const ask = anAsk(6, { from: "2026-11-28", to: "2026-11-28" });
  same(model.bodyOf(ask).start, { day: "2026-11-28", time: "08:00" });
  same(model.shownWindow(ask), { start: "2026-11-28T08:00:00+00:00", end: "2026-11-28T20:00:00+00:00", shot: false });
});

test("typed times win over the strip", () => {
  const own = { start: { day: "2026-11-26", time: "05:00" }, end: { day: "2026-11-26", time: "09:00" } };
  same(model.bodyOf({ ...anAsk(6, { from: "2026-11-27", to: "2026-11-27" }), own }).end, own.end);
  ok(model.inOrder(own.start, own.end));
  ok(!model.inOrder(own.end, own.start));
  ok(!model.inOrder(own.start, own.start));
});

test("a chosen kit type stays when the number changes, a typed number does not", () => {
  const chosen = model.withPart(model.withPart(anAsk(6), "pack", { kit_type_id: "high" }), "battery", { quantity: 40 });
  same(model.linesOf(chosen).map((line) => [line.kit_type_id, line.quantity]), [["high", 6], ["two", 3], ["aa", 40], ["pouch", 6]]);
  const more = model.withProposal(model.withQuantity(chosen, 8), proposal(8));
  same(model.linesOf(more).map((line) => [line.kit_type_id, line.quantity]), [["high", 8], ["two", 4], ["aa", 16], ["pouch", 8]]);
});

test("a part set to nothing is left out, and so are all of them without radios", () => {
  same(model.linesOf(model.withPart(anAsk(6), "pouch", { quantity: 0 })).some((line) => line.kit_type_id === "pouch"), false);
  same(model.linesOf(model.withQuantity(anAsk(6), 0)), []);
  same(model.withQuantity(anAsk(6), -3).quantity, 0);
  same(model.withQuantity(anAsk(6), 5000).quantity, 200);
});

test("other kit keeps its place, adds up with a part of the same type, and goes at nothing", () => {
  let ask = model.withOther(anAsk(2), { kit_type_id: "arm", name: "Long arm" }, 1);
  ask = model.withOther(ask, { kit_type_id: "aa", name: "AA" }, 8);
  ask = model.withOther(ask, { kit_type_id: "arm", name: "Long arm" }, 2);
  same(ask.others.map((line) => line.kit_type_id), ["arm", "aa"]);
  same(model.linesOf(ask).find((line) => line.kit_type_id === "aa").quantity, 12);
  same(model.withOther(ask, { kit_type_id: "arm", name: "Long arm" }, 0).others.length, 1);
});

test("as last time takes that kit and those numbers, and no part that was not asked for then", () => {
  const ask = model.asLastTime(anAsk(6));
  same(ask.quantity, 3);
  const lines = model.linesOf(model.withProposal(ask, proposal(3)));
  same(lines.map((line) => [line.kit_type_id, line.quantity]), [["high", 3], ["aa", 12], ["arm", 1]]);
});

test("last time's parts of another pack do not come twice once that pack is proposed", () => {
  const high = { ...proposal(3), last_ask: { quantity: 3, lines: [{ kit_type_id: "high", name: "Pack, high", quantity: 3 }, { kit_type_id: "high-two", name: "Receiver, high", quantity: 2 }] } };
  const before = model.asLastTime(model.withProposal(model.newAsk("second", null, 6), high));
  same(before.others.map((line) => line.kit_type_id), ["high-two"]);
  const lines = high.lines.map((line) => (line.role === "way" ? { ...line, kit_type_id: "high-two", choices: [choice("high-two", "Receiver, high", 5)] } : line));
  const after = model.withProposal(before, { ...high, lines });
  same(after.others, []);
  same(model.linesOf(after).find((line) => line.kit_type_id === "high-two").quantity, 2);
});

test("another pack forgets the parts that were chosen to fit the one before", () => {
  const ask = model.withPart(model.withPart(anAsk(6), "battery", { quantity: 40 }), "pack", { kit_type_id: "high" });
  same(model.linesOf(ask).find((line) => line.kit_type_id === "aa").quantity, 12);
});

test("a choice that is no longer offered falls back to what is proposed, name and all", () => {
  const ask = model.withPart(anAsk(6), "way", { kit_type_id: "gone" });
  same(model.linesOf(ask).find((line) => line.name === "Receiver, two-way").kit_type_id, "two");
});

test("two kinds of receiver are two parts, and one word", () => {
  const two = proposal(6);
  two.lines.splice(2, 0, { role: "way", kit_type_id: "four", name: "Receiver, four-way", quantity: 1, choices: [choice("two", "Receiver, two-way", 5), choice("four", "Receiver, four-way", 2)] });
  const ask = model.withPart(model.withProposal(model.newAsk("second", null, 6), two), "way-2", { quantity: 2 });
  same(model.partsOf(ask).filter((part) => part.role === "way").map((part) => [part.key, part.quantity]), [["way", 3], ["way-2", 2]]);
  same(model.withText(ask), "with each: way, 2 batteries, pouch");
});

test("until another number is proposed for, its parts are scaled to be shown, and not fit to be sent", () => {
  const read = model.withProposal(model.newAsk("second", null, 2), { ...proposal(2), quantity: 2 });
  ok(model.isFresh(read));
  const more = model.withQuantity(read, 4);
  ok(!model.isFresh(more), "the lines of 2 passed for those of 4");
  same(model.withText(more), "with each: way, 2 batteries, pouch");
  same(model.linesOf(more).map((line) => line.quantity), [4, 2, 8, 4]);
  ok(model.isFresh(model.withProposal(more, { ...proposal(4), quantity: 4 })));
  ok(!model.isFresh(model.withPart(read, "pack", { kit_type_id: "high" })));
  ok(!model.isFresh(model.newAsk("second", null)));
});

test("an ask that is kept names its days, and follows the call sheet for them", () => {
  const kept = model.frozen(anAsk(6));
  same(model.bodyOf(kept).start, "2026-11-26T07:30:00+00:00");
  const moved = { ...proposal(6), days: proposal(6).days.map((day) => ({ ...day, call: day.call.replace("07:30", "06:00") })) };
  same(model.bodyOf(model.withProposal(kept, moved)).start, "2026-11-26T06:00:00+00:00");
});

test("which packs are asked for is short, with how many are free", () => {
  same(model.packsOf(anAsk(6)), [{ kit_type_id: "low", free: 4, name: "low", chosen: true }, { kit_type_id: "high", free: 10, name: "high", chosen: false }]);
  same(model.packsOf(model.withPart(anAsk(6), "pack", { kit_type_id: "high" })).map((pack) => pack.chosen), [false, true]);
  same(model.packsOf(anAsk(0)), []);
});

test("as last time says what it repeats", () => {
  const ask = model.withProposal(model.newAsk("second", null), { ...proposal(2), last_ask: { ...proposal(2).last_ask, start: "2026-11-24T07:00:00+00:00" } });
  same(words.ask.lastTime(model.lastOf(ask), "Tue 24"), "as last time, Tue 24: 3 radios, high");
  same(words.ask.lastTime({ quantity: 6, packs: [{ quantity: 2, name: "low" }, { quantity: 4, name: "high" }] }, "Tue 24"), "as last time, Tue 24: 2 of low and 4 of high");
});

test("names that begin alike are short, others stay whole", () => {
  same(shortNames(["Pack, 470 to 548 MHz", "Pack, mini, 606 to 694 MHz"]), ["470 to 548 MHz", "mini, 606 to 694 MHz"]);
  same(shortNames(["Pack, low", "Bodypack"]), ["Pack, low", "Bodypack"]);
});

test("what goes with each radio is said per radio where it divides", () => {
  same(model.withText(anAsk(6)), "with each: way, 2 batteries, pouch");
  same(model.withText(model.withPart(anAsk(6), "battery", { quantity: 13 })), "with each: way, 13 batteries in all, pouch");
});

test("the proposal is read for the hours that are asked for", () => {
  same(model.proposalPath(model.newAsk("second", null, 0)), "/radio-proposal?unit=second&quantity=1");
  const path = model.proposalPath(model.withPart(anAsk(6, { from: "2026-11-28", to: "2026-11-28" }), "pack", { kit_type_id: "high" }));
  const query = new URLSearchParams(path.split("?")[1]);
  same([query.get("start"), query.get("pack")], ["2026-11-28T08:00:00+00:00", "high"]);
});

test("kit is found by every word typed, names that begin so first", () => {
  const kits = [{ name: "Short arm", category: "arms" }, { name: "Arm clamp", category: "clamps" }, { name: "Low stand", category: "arms and stands" }];
  same(findKit(kits, "arm").map((kit) => kit.name), ["Arm clamp", "Low stand", "Short arm"]);
  same(findKit(kits, "arm sho").map((kit) => kit.name), ["Short arm"]);
  same(findKit(kits, "  "), []);
});
