import { frameOf, holderLines, holderText, optionText, reasonOf } from "../../web/js/parts/answers.js";
import { decisionModel } from "../../web/js/parts/decision.js";
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
  same(optionText(mixed, asked), { press: "Book 6 radios: 4, and 2 × Pack, high", note: "with 1 × Receiver, two-way" });
});

test("a substitute says what comes instead", () => {
  same(optionText(option({ kind: "substitute", lines: [line("high", "Pack, high", 6), line("aa", "AA", 12)] }), asked).press, "Book 6 radios: 6 × Pack, high instead");
});

test("fewer says the number there would be", () => {
  same(optionText(option({ kind: "fewer", lines: [line("low", "Pack, low", 4)], lacks: [line("low", "Pack, low", 2)] }), asked).press, "Book 4 radios");
  const arms = { ...asked, lines: [line("arm", "Long arm", 3), line("stand", "Stand", 2)], radios: 0, packs: new Set() };
  same(optionText(option({ kind: "fewer", lines: [line("arm", "Long arm", 1), line("stand", "Stand", 2)], lacks: [line("arm", "Long arm", 2)] }), arms).press, "Book all but 2 × Long arm");
});

test("earlier and later say the hours, the shift and its cost", () => {
  const later = option({ kind: "later", lines: asked.lines, start: "2026-11-27T07:30:00+00:00", end: "2026-11-27T19:00:00+00:00", shift_s: 86400, outside_hours: true });
  same(optionText(later, asked), { press: "Book 6 radios, Fri 07:30 to 19:00", note: "24 h later · outside your call and wrap" });
  same(optionText({ ...later, kind: "earlier", shift_s: -1800, outside_hours: false }, asked).note, "30 min earlier");
});

test("a pencil behind says its place, and that it holds nothing", () => {
  same(optionText(option({ kind: "pencil_behind", lines: asked.lines, place: 2 }), asked), { press: "Pencil 6 radios, second in the queue", note: "a pencil holds no kit" });
});

const decision = (members) => ({ kind: "clash", unit: "Second", kit_type: "Pack, low", quantity: 6, short_by: 2, start: START, end: END, behind: [], late_s: null, tags: [], holder_person: null, ...members });

test("a decision is one sentence with the reason under it", () => {
  const clash = decisionModel(decision({ behind: [holder({ unit: "Splinter", state: "pencilled", quantity: 6, place: 1 })] }), TODAY);
  same([clash.is, clash.frame, clash.title], ["pencilled", "behind a pencil", "Second pencilled 6 × Pack, low, Thu 07:30 to 19:00"]);
  same(decisionModel(decision({ kind: "at_risk", short_by: 1 }), TODAY).frame, "short 1");
  const late = decisionModel(decision({ kind: "overdue", start: "2026-11-25T10:55:00+00:00", kit_type: "Long arm", quantity: 1, tags: ["LA02"], unit: "Main", late_s: 11100, holder_person: "Joss" }), TODAY);
  same([late.frame, late.title, late.reasons[0]], ["late 3 h", "Long arm LA02, still with Main", "Due 10:55. Joss has it."]);
});
