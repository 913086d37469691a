import { edgeLines, frameOf, holderLines, holderText, optionText, reasonLine, reasonOf, restOf } from "../../web/js/parts/answers.js";
import { frequencyLine } from "../../web/js/parts/yes.js";
import { handOnRows, pickupRows } from "../../web/js/parts/handover.js";
import { before, queuePart } from "../../web/js/parts/queue.js";
import { bothOf, ordered, shortLine } from "../../web/js/parts/ask_refusal.js";
import { ok, same, test } from "./runner.js";

const TODAY = "2026-11-25";
const START = "2026-11-26T07:30:00+00:00";
const END = "2026-11-26T19:00:00+00:00";
const holder = (members) => ({ unit: "Main", state: "confirmed", quantity: 14, start: START, end: END, out: 0, overdue: false, idle: 0, place: null, tags: [], person: null, phone: null, expires_at: null, ...members });
const shortage = (members) => ({ kit_type_id: "low", name: "Pack, low", quantity: 6, free: 4, if_pencils_fall: 4, why: "numbers", stretches: [{ start: START, end: END, by: 2 }], holders: [], swap_at: [], ...members });

test("short says when and by how many", () => {
  same(frameOf([shortage()]), { is: "short", text: "2 short" });
  same(reasonOf(shortage(), TODAY), ["Pack, low: 4 free, 2 short, Thu 07:30 to 19:00."]);
});

test("kit that is already short is not said to be free", () => {
  same(reasonOf(shortage({ free: -1, if_pencils_fall: -1, stretches: [{ start: START, end: END, by: 7 }] }), TODAY), ["Pack, low: none free, 7 short, Thu 07:30 to 19:00."]);
});

test("behind a pencil is never short", () => {
  const pencil = shortage({ why: "pencil", if_pencils_fall: 10 });
  same(frameOf([pencil]), { is: "pencilled", text: "2 behind a pencil" });
  ok(!reasonOf(pencil, TODAY).join(" ").includes("short"));
  same(frameOf([pencil, shortage()]).is, "short");
});

test("enough at each hour but not throughout says when a swap would serve", () => {
  const text = reasonOf(shortage({ why: "names", stretches: [], swap_at: ["2026-11-26T12:00:00+00:00"] }), TODAY)[0];
  ok(text.includes("not the same pieces throughout"));
  ok(text.includes("A swap Thu 12:00"));
});

test("each holder is named with how many, how firmly, and until when", () => {
  same(holderText(holder({ idle: 3 }), TODAY), "Main holds 14 (confirmed) until Thu 19:00, 3 of them idle.");
  same(holderText(holder({ unit: "Splinter", state: "pencilled", quantity: 6, place: 1, expires_at: "2026-11-26T12:00:00+00:00" }), TODAY), "Splinter has a first pencil on 6, lapses Thu 12:00.");
  same(holderText(holder({ state: "out_of_service", unit: null, quantity: 1, end: null }), TODAY), "1 out of service until further notice.");
  same(holderText(holder({ state: "out", quantity: 2, out: 2, overdue: true, end: "2026-11-25T11:00:00+00:00" }), TODAY), "Main still has 2, due 11:00.");
});

test("what one unit has until the same time is said once, pencils first", () => {
  const lines = holderLines([holder({ quantity: 1, unit_id: "m" }), holder({ quantity: 2, unit_id: "m" }), holder({ unit: "Splinter", unit_id: "p", state: "pencilled", quantity: 2 })], TODAY);
  same(lines, ["Splinter has a pencil on 2.", "Main holds 3 (confirmed) until Thu 19:00."]);
});

test("a long list of holders is cut short and counted", () => {
  const many = Array.from({ length: 6 }, (_, index) => holder({ quantity: 6 - index, unit_id: String(index) }));
  same([holderLines(many, TODAY).length, holderLines(many, TODAY).at(-1)], [4, "3 more hold some."]);
});

test("short even without the pencils says both numbers", () => {
  same(reasonOf(shortage({ free: 2, if_pencils_fall: 4 }), TODAY)[0], "Pack, low: 2 free, 4 if pencils fall, still 2 short, Thu 07:30 to 19:00.");
});

const asked = { lines: [{ kit_type_id: "low", name: "Pack, low", quantity: 6 }, { kit_type_id: "aa", name: "AA", quantity: 12 }], radios: 6, packs: new Set(["low", "high"]), radioKits: new Set(["low", "high", "two", "aa"]), today: TODAY };
const option = (members) => ({ kind: "mixed", body: {}, lines: [], start: START, end: END, shift_s: 0, brings: [], outside_hours: false, lacks: [], place: null, ...members });
const line = (kit_type_id, name, quantity) => ({ kit_type_id, name, quantity });

test("a mixed option says what stays, what is added and what it brings", () => {
  const mixed = option({ lines: [line("low", "Pack, low", 4), line("high", "Pack, high", 2), line("two", "Receiver, two-way", 1), line("aa", "AA", 12)], brings: [line("two", "Receiver, two-way", 1)] });
  same(optionText(mixed, asked), { press: "Book 6 radios: 4 of low and 2 of high", note: "another range · with 1 × Receiver, two-way for the 2 of high" });
});

test("a substitute says what comes instead", () => {
  same(optionText(option({ kind: "substitute", lines: [line("high", "Pack, high", 6), line("aa", "AA", 12)] }), asked).press, "Book 6 radios of high instead of low");
  const arms = { lines: [line("arm", "Long arm", 3)], today: TODAY };
  same(optionText(option({ kind: "substitute", lines: [line("short", "Short arm", 3)] }), arms), { press: "Book 3 Short arm instead of 3 Long arm", note: "other kit" });
  same(optionText(option({ lines: [line("arm", "Long arm", 1), line("short", "Short arm", 2)] }), arms).press, "Book 1 Long arm and 2 Short arm");
  const both = { ...arms, lines: [...arms.lines, line("stand", "Stand", 2)] };
  same(optionText(option({ lines: [line("arm", "Long arm", 1), line("short", "Short arm", 2), line("stand", "Stand", 2)] }), both).press, "Book 3 × Long arm and 2 × Stand: 2 Short arm instead of 2 Long arm");
});

test("fewer says the number there would be", () => {
  same(optionText(option({ kind: "fewer", lines: [line("low", "Pack, low", 4)], lacks: [line("low", "Pack, low", 2)] }), asked).press, "Book only 4 radios");
  const arms = { ...asked, lines: [line("arm", "Long arm", 3), line("stand", "Stand", 2)], radios: 0, packs: new Set() };
  same(optionText(option({ kind: "fewer", lines: [line("arm", "Long arm", 1), line("stand", "Stand", 2)], lacks: [line("arm", "Long arm", 2)] }), arms).press, "Book only 1 Long arm, all else as asked");
  const alone = { lines: [line("arm", "Long arm", 3)], today: TODAY };
  same(optionText(option({ kind: "fewer", lines: [line("arm", "Long arm", 1)], lacks: [line("arm", "Long arm", 2)] }), alone), { press: "Book only 1 Long arm", note: "2 fewer than asked" });
});

test("fewer of several kinds is said once, with what there is of each", () => {
  const asks = { lines: [line("low", "Pack, 470 to 548 MHz", 4), line("clip", "Lavalier, clip", 4), line("aa", "AA", 8)], radioKits: new Set(), radios: 0, packs: new Set(), today: TODAY };
  const some = option({ kind: "fewer", lines: [line("low", "Pack, 470 to 548 MHz", 2), line("aa", "AA", 8)], lacks: [line("low", "Pack, 470 to 548 MHz", 2), line("clip", "Lavalier, clip", 4)] });
  same(optionText(some, asks), { press: "Book what is free: 2 × Pack, 470 to 548 MHz + no Lavalier, clip; all else as asked", note: "6 pieces fewer than asked" });
});

test("fewer parts of as many radios never says that nothing is fewer", () => {
  const parts = option({ kind: "fewer", lines: [line("low", "Pack, low", 6), line("aa", "AA", 10)], lacks: [line("aa", "AA", 2)] });
  same(optionText(parts, asked), { press: "Book only 10 AA, all else as asked", note: "2 fewer than asked" });
});

test("of a booking that is there an option says to what it is changed", () => {
  const change = { ...asked, does: "change" };
  same(optionText(option({ kind: "fewer", lines: [line("low", "Pack, low", 4)], lacks: [line("low", "Pack, low", 2)] }), change).press, "Change to only 4 radios");
  same(optionText(option({ kind: "substitute", lines: [line("high", "Pack, high", 6), line("aa", "AA", 12)] }), change).press, "Change to 6 radios of high instead of low");
  const text = [];
  for (const kind of ["mixed", "later", "fewer"]) text.push(optionText(option({ kind, lines: asked.lines, shift_s: 3600 }), change).press);
  same(text.filter((one) => one.includes("Book")), []);
});

test("an option that shifts between kit that is asked for already says how many of each", () => {
  const both = { ...asked, lines: [line("low", "Pack, low", 5), line("high", "Pack, high", 4), line("aa", "AA", 18)], radios: 9 };
  const shifted = option({ lines: [line("low", "Pack, low", 4), line("high", "Pack, high", 5), line("aa", "AA", 18)] });
  same(optionText(shifted, both).press, "Book 9 radios: 4 of low and 5 of high");
  same(optionText(option({ kind: "substitute", lines: [line("high", "Pack, high", 9), line("aa", "AA", 18)] }), both).press, "Book 9 radios of high instead of low");
  const arms = { lines: [line("arm", "Long arm", 3), line("short", "Short arm", 1), line("stand", "Stand", 2)], today: TODAY };
  same(optionText(option({ lines: [line("arm", "Long arm", 1), line("short", "Short arm", 3), line("stand", "Stand", 2)] }), arms).press, "Book 1 Long arm and 3 Short arm");
});

test("of an option that is partly outside call and wrap it says by how much", () => {
  const over = (outside_s) => optionText(option({ kind: "later", lines: asked.lines, shift_s: 1800, outside_hours: outside_s > 0, outside_s }), asked).note;
  same(over(1800), "30 min later · 30 min outside your call and wrap");
  same(over(5400), "30 min later · 1 h 30 min outside your call and wrap");
  same(over(7200), "30 min later · 2 h outside your call and wrap");
  same(over(0), "30 min later");
});

test("hours outside another unit's call and wrap are not called one's own", () => {
  const later = option({ kind: "later", lines: asked.lines, shift_s: 3600, outside_hours: true });
  same(optionText(later, { ...asked, whose: "Splinter" }).note, "1 h later · outside Splinter's call and wrap");
});

test("earlier and later say the hours, the shift and its cost", () => {
  const later = option({ kind: "later", lines: asked.lines, start: "2026-11-27T07:30:00+00:00", end: "2026-11-27T19:00:00+00:00", shift_s: 86400, outside_hours: true });
  same(optionText(later, asked), { press: "Book 6 radios, Fri 07:30 to 19:00", note: "another day · outside your call and wrap" });
  same(optionText({ ...later, kind: "earlier", shift_s: -1800, outside_hours: false }, asked).note, "30 min earlier");
});

test("a pencil behind says its place, and that it holds nothing", () => {
  same(optionText(option({ kind: "pencil_behind", lines: asked.lines, place: 2 }), asked), { press: "Pencil 6 radios, second in the queue", note: "a pencil holds no kit" });
});

test("what comes along says which kit it goes with, and not the range twice", () => {
  const asks = { lines: [line("low", "Pack, 470 to 548 MHz", 6)], radios: 6, packs: new Set(["low", "high"]), radioKits: new Set(["low"]), today: TODAY };
  const mixed = option({ lines: [line("low", "Pack, 470 to 548 MHz", 2), line("high", "Pack, 606 to 694 MHz", 4), line("four", "Receiver, four-way, 606 to 694 MHz", 1)], brings: [line("four", "Receiver, four-way, 606 to 694 MHz", 1)] });
  same(optionText(mixed, asks), { press: "Book 6 radios: 2 of 470 to 548 MHz and 4 of 606 to 694 MHz", note: "another range · with 1 × Receiver, four-way for the 4 of 606 to 694 MHz" });
});

test("options stand by cost: the time as asked, then the same day, then other days in their order", () => {
  const at = (kind, start, shift_s, members) => option({ kind, start, shift_s, outside_hours: true, ...members });
  const options = [
    option({ kind: "fewer" }), option({ kind: "mixed" }),
    at("later", "2026-11-29T07:30:00+00:00", 3 * 86400), at("later", "2026-11-26T09:00:00+00:00", 5400), at("earlier", "2026-11-25T07:30:00+00:00", -86400),
  ];
  same(ordered(options, START).map((one) => one.start.slice(8, 13)), ["26T07", "26T07", "26T09", "25T07", "29T07"]);
  same(ordered(options, START).map((one) => one.kind), ["mixed", "fewer", "later", "earlier", "later"]);
});

test("a twin a quarter of an hour off is not offered beside the asked times of day", () => {
  const at = (start, shift_s) => option({ kind: "earlier", start, shift_s, outside_hours: true });
  const twins = [at("2026-11-25T07:45:00+00:00", -85500), at("2026-11-25T07:30:00+00:00", -86400), at("2026-11-25T12:00:00+00:00", -70200)];
  same(ordered(twins, START).map((one) => one.start.slice(11, 16)), ["07:30", "12:00"]);
});

test("behind a pencil, what is free now and a pencil on the rest are one option", () => {
  const arms = { lines: [line("arm", "Long arm", 3)], today: TODAY };
  const offered = [option({ kind: "fewer", body: { lines: [{ kit_type_id: "arm", quantity: 1 }] }, lines: [line("arm", "Long arm", 1)], lacks: [line("arm", "Long arm", 2)] }),
    option({ kind: "pencil_behind", body: { state: "pencilled", lines: [{ kit_type_id: "arm", quantity: 3 }] }, lines: arms.lines, place: 2 })];
  const both = bothOf(offered);
  same([both.body.lines, both.then], [[{ kit_type_id: "arm", quantity: 1 }], { state: "pencilled", lines: [{ kit_type_id: "arm", quantity: 2 }] }]);
  same([optionText(both, arms).press, restOf(both, arms)], ["Book 1 Long arm, pencil 2 more", "2 Long arm"]);
  same(bothOf(offered.slice(0, 1)), null);
});

test("one's own unit is said as you", () => {
  same(holderText(holder({ unit: "Second", unit_id: "s", quantity: 4 }), TODAY, ["s"]), "You hold 4 until Thu 19:00.");
  same(holderText(holder({ unit: "Main", unit_id: "m" }), TODAY, ["s"]), "Main holds 14 (confirmed) until Thu 19:00.");
});

test("short at other times than were asked says why", () => {
  const asked_ = { start: START, end: END };
  const later = shortage({ stretches: [{ start: "2026-11-26T09:30:00+00:00", end: "2026-11-26T20:00:00+00:00", by: 2 }], holders: [holder({ unit: "Splinter", start: "2026-11-26T10:00:00+00:00" })] });
  const text = edgeLines(later, asked_).join(" ");
  ok(text.includes("From 09:30, as what Splinter has from 10:00 is prepared before."), text);
  ok(text.endsWith("Until 20:00, as kit is checked in after it comes back."), text);
  same(edgeLines(shortage({ stretches: [{ start: "2026-11-26T06:30:00+00:00", end: END, by: 2 }] }), asked_), ["From 06:30, as kit is prepared before it goes out."]);
  same(edgeLines(shortage(), asked_), []);
  same(edgeLines({ ...later, why: "pencil" }, asked_), []);
});

const pickup = { at: "2026-11-25T20:00:00+00:00", place: "Fernhill, counter 2", from: "house", ask_for: "Hale", phone: null, open_until: null, lines: [], note: null };

test("a pick-up says by when with its day, today's too, and the house's hours then", () => {
  const text = pickupRows([pickup], TODAY, { week: { wed: [["07:00", "20:00"]] } }).textContent;
  ok(text.includes("by\u00a0Wed 20:00"), text);
  ok(text.includes("ask for Hale · today, open 07:00 to 20:00"), text);
  const closed = pickupRows([pickup], TODAY, { week: { wed: [["07:00", "20:00"]] }, exceptions: { "2026-11-25": [["08:00", "20:00"]] } }).textContent;
  ok(closed.includes("open 08:00 to 20:00"), closed);
});

test("frequencies stand in MHz with the packs they are for", () => {
  const kit = (category, name, quantity, frequencies = []) => ({ category, name, quantity, released: 0, frequencies });
  const booking = { lines: [kit("pack", "Pack, 470 to 548 MHz", 2), kit("pack", "Pack, 606 to 694 MHz", 4), kit("frequency", "Frequency, 470 to 548 MHz", 2, [528650000, 530275000])] };
  same(frequencyLine(booking, null).textContent, "2 × Pack, 470 to 548 MHz: 528.650 · 530.275 MHz");
  same(frequencyLine({ lines: [kit("frequency", "Frequency, spare", 1, [528650000])] }, null).textContent, "Frequency, spare: 528.650 MHz");
});

test("a pencil says its place, who is before it, and that it is no booking", () => {
  const booking = { id: "b", unit_id: "s", state: "pencilled", start: START, end: END, pencil_expires_at: null };
  const pencil = holder({ booking_id: "p", unit_id: "x", unit: "Splinter", state: "pencilled", quantity: 3, expires_at: "2026-11-26T08:00:00+00:00" });
  const short = [shortage({ why: "pencil", holders: [pencil, holder({ booking_id: "b2", unit_id: "s", state: "pencilled" }), holder({ booking_id: "m", unit_id: "m" })] }), shortage({ holders: [pencil] })];
  same(before(booking, short).map((one) => one.booking_id), ["p"]);
  const text = queuePart({ booking, standing: { place: 2, can_confirm: false, short } }, TODAY).textContent;
  ok(text.startsWith("second in the queue Before it: Splinter's pencil on 3, which lapses Thu 08:00."), text);
  ok(text.includes("When that pencil falls yours can be confirmed."), text);
  ok(queuePart({ booking, standing: { place: 1, can_confirm: true, short: [] } }, TODAY).textContent.includes("No pencil is before it."));
  ok(queuePart({ booking, standing: { place: 1, can_confirm: false, short: [shortage()] } }, TODAY).textContent.includes("Pack, low: 4 free, 2 short"));
  same(queuePart({ booking: { ...booking, state: "confirmed" }, standing: { place: 1, short: [] } }, TODAY), null);
});


test("at the thumb stands the first kind that is short, and how many more are", () => {
  same(shortLine({ short: [shortage()] }, TODAY).textContent, `2 short ${reasonLine(shortage(), TODAY)}`);
  same(shortLine({ short: [shortage(), shortage(), shortage()] }, TODAY).textContent, `2 short ${reasonLine(shortage(), TODAY)} 2 more kinds are short.`);
});

test("what comes straight from another unit is booked as asked, and said with unit, time and place", () => {
  const from = { unit: "Main", at: "2026-11-25T19:00:00+00:00", place: "Sluice lane" };
  const found = option({ kind: "straight", lines: [{ ...line("low", "Pack, low", 2), straight: null }, { ...line("low", "Pack, low", 4), straight: from }, { ...line("aa", "AA", 12), straight: null }] });
  same(optionText(found, asked), { press: "Book 6 radios", note: "4 × Pack, low straight from Main, 19:00 at Sluice lane" });
});

test("a hand-over between units says from whom what comes, when and where", () => {
  const [row] = pickupRows([{ at: "2026-11-25T19:00:00+00:00", place: "Sluice lane", from: "unit", unit: "Main", ask_for: "Joss Pellamy", phone: "07700 900111", open_until: null, note: null, lines: [line("low", "Pack, low", 4)] }], TODAY).children;
  same(row.querySelector(".row-what").textContent, "Sluice lanestraight from Main: 4 × Pack, low · ask for Joss Pellamy · today");
  same(row.querySelector(".row-when").textContent.includes("by"), false);
});

test("a unit is told what it hands on, to whom, when and where", () => {
  const [row] = handOnRows([{ at: "2026-11-25T19:00:00+00:00", place: "Sluice lane", unit: "Second", ask_for: "Tobin", phone: null, lines: [line("low", "Pack, low", 4)] }], TODAY).children;
  same(row.querySelector(".row-what").textContent, "4 × Pack, low straight to SecondSluice lane · ask for Tobin");
});
