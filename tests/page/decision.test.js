import { decisionModel, decisionsFor, promisedText } from "../../web/js/parts/decision.js";
import { changesInstead, changesOf, differenceText } from "../../web/js/parts/decision_options.js";
import { backNote, outNote } from "../../web/js/parts/moves.js";
import { same, test } from "./runner.js";

const TODAY = "2026-11-25";
const NOW = "2026-11-25T14:05:00+00:00";
const START = "2026-11-27T07:00:00+00:00";
const END = "2026-11-27T20:00:00+00:00";
const decision = (members) => ({ kind: "clash", key: "clash/1", unit: "Second", unit_id: "s", kit_type: "Long arm", kit_type_id: "arm", quantity: 3, short_by: 1, start: START, end: END, behind: [], promised_at: null, late_s: null, tags: [], holder_person: null, ...members });
const pencil = { unit: "Splinter", unit_id: "p", state: "pencilled", quantity: 3, start: START, end: END, overdue: false, idle: 0, place: 1, expires_at: null };

test("a decision is one sentence with the reason under it", () => {
  const clash = decisionModel(decision({ behind: [pencil] }), TODAY);
  same([clash.is, clash.frame, clash.title], ["pencilled", "behind a pencil", "Second pencilled 3 × Long arm, Fri 07:00 to 20:00"]);
  same(decisionModel(decision({ kind: "at_risk", short_by: 1 }), TODAY).frame, "short 1");
});

test("two pencils on the same day each say how many of their own they would get", () => {
  const reason = (short_by) => decisionModel(decision({ short_by }), TODAY).reasons[0];
  same(reason(1), "When all that is ahead of it is kept, it gets 2 of its 3.");
  same(reason(3), "When all that is ahead of it is kept, it gets none of its 3.");
});

const late = (members) => decision({ kind: "overdue", start: "2026-11-24T19:30:00+00:00", end: "2026-11-25T19:30:00+00:00", quantity: 1, tags: ["LA02"], unit: "Main", late_s: 66900, holder_person: "Joss", ...members });

test("what is late says the day it was due, and what was promised since", () => {
  const model = decisionModel(late(), TODAY, NOW);
  same([model.frame, model.title, model.reasons], ["late 18 h", "Long arm LA02, still with Main", ["Due Tue 24 19:30.", "", "Joss has it."]]);
  same(decisionModel(late({ promised_at: "2026-11-25T21:00:00+00:00" }), TODAY, NOW).reasons[1], "Promised 21:00.");
  same(promisedText("2026-11-25T13:00:00+00:00", TODAY, NOW), "Promised 13:00, and not back.");
});

const session = (role, unit_ids = []) => ({ account: { role, unit_ids } });
const items = [decision({ key: "fri", unit_id: "p" }), decision({ key: "own", unit_id: "s" }), decision({ key: "mon", start: "2026-11-30T15:00:00+00:00" }), late({ key: "late" })];
const keys = ({ shown, others }) => [shown.map((item) => item.key), others];

test("everybody sees what waits for an answer, their own unit's first", () => {
  same(keys(decisionsFor(session("mixer", ["s"]), items, null))[0][0], "own");
  same(decisionsFor(session("mixer", ["s"]), items, null).shown.length, 4);
});

test("a chosen day shows the decisions that the strip counts there, and counts the others", () => {
  same(keys(decisionsFor(session("coordinator"), items, { from: "2026-11-27", to: "2026-11-27" })), [["fri", "own"], 2]);
  same(keys(decisionsFor(session("coordinator"), items, { from: TODAY, to: TODAY })), [["late"], 3]);
});

const line = (id, kit_type_id, name, quantity, members) => ({ id, kit_type_id, name, quantity, state: "pencilled", item_id: null, ...members });
const booking = { start: START, end: END, lines: [line("l1", "arm", "Long arm", 3), line("l2", "clamp", "Jaw clamp", 4)] };
const option = (members) => ({ kind: "mixed", shift_s: 0, outside_hours: false, start: START, end: END, lines: [], body: { unit_id: "s", state: "confirmed", start: START, end: END, lines: [{ id: "l1", kit_type_id: "arm", quantity: 1 }] }, ...members });
const context = { today: TODAY, unit: "Second" };
const after = (arms, shorts) => [line(null, "arm", "Long arm", arms), ...(shorts ? [line(null, "short", "Short arm", shorts)] : []), line(null, "clamp", "Jaw clamp", 4)];

test("an option says what the booking becomes, and names only what differs", () => {
  const texts = (options) => changesOf(booking, options, context).map((one) => one.text);
  same(texts([option({ lines: after(1, 2) })]), ["Change to 1 × Long arm + 2 × Short arm; the rest stays"]);
  same(texts([option({ kind: "fewer", lines: after(1, 0).slice(0, 2) })]), ["Change to 1 × Long arm; the rest stays"]);
  same(differenceText(booking.lines, [booking.lines[1]]), "Take off 3 × Long arm");
});

test("another time says the hours, the shift, and whose call and wrap it passes", () => {
  const later = option({ kind: "later", lines: after(3, 0), shift_s: 86400, outside_hours: true, start: "2026-11-28T07:00:00+00:00", end: "2026-11-28T20:00:00+00:00" });
  same(changesOf(booking, [later], context)[0].text, "Change to Sat 07:00 to 20:00 · 24 h later · outside Second's call and wrap");
});

test("a change is of the booking itself: its hours and its lines, and no second booking", () => {
  const [{ body }] = changesOf(booking, [option({ lines: after(1, 2) })], context);
  same(body, { start: START, end: END, lines: [{ id: "l1", kit_type_id: "arm", quantity: 1 }] });
});

const held = { ...booking, lines: booking.lines.map((one) => ({ ...one, state: "confirmed" })) };
const risk = decision({ kind: "at_risk", short_by: 1 });

test("what stands in for missing pieces takes their place in the booking", () => {
  const judged = { answer: "short", options: [option({ kind: "substitute", lines: [line(null, "short", "Short arm", 1)], body: { lines: [{ kit_type_id: "short", quantity: 1 }] } }), option({ kind: "later", lines: [line(null, "arm", "Long arm", 1)] })] };
  const changes = changesInstead(held, risk, judged);
  same(changes.map((one) => one.text), ["Change to 2 × Long arm + 1 × Short arm; the rest stays", "Go without 1 × Long arm"]);
  same(changes[0].body.lines, [{ id: "l1", kit_type_id: "arm", quantity: 2 }, { id: "l2", kit_type_id: "clamp", quantity: 4 }, { kit_type_id: "short", quantity: 1 }]);
});

test("where the number is there in other pieces, the line is split for them", () => {
  const [change] = changesInstead(held, { ...risk, short_by: 3 }, { answer: "yes", options: [] });
  same(change, { text: "Change to 3 other pieces", body: { lines: [{ id: "l2", kit_type_id: "clamp", quantity: 4 }, { kit_type_id: "arm", quantity: 3 }] } });
});

test("what goes out says when its booking begins if it is fetched before", () => {
  const row = { at: "2026-11-26T17:00:00+00:00", start: "2026-11-27T06:00:00+00:00", purpose: "inserts", boxes: ["2"] };
  same(outNote(row, TODAY), "from Fri 06:00 · inserts · box 2");
  same(outNote({ ...row, start: row.at }, TODAY), "inserts · box 2");
});

test("what comes back late says what was promised, else when it is counted on", () => {
  const row = { late: true, at: "2026-11-25T19:30:00+00:00", promised_at: null };
  same(backNote(row, TODAY), "expected 19:30");
  same(backNote({ ...row, promised_at: "2026-11-25T21:00:00+00:00" }, TODAY), "promised 21:00");
  same(backNote({ ...row, late: false }, TODAY), "");
});

test("what another unit hands on is taken straight from it, and the button says from whom", () => {
  const handed = { kind: "straight", body: { start: START, end: END, lines: [{ kit_type_id: "arm", quantity: 1, straight_from_id: "x" }] }, lines: [{ kit_type_id: "arm", name: "Long arm", quantity: 1, straight: { unit: "Main", at: "2026-11-26T19:00:00+00:00", place: "Sluice lane" } }], start: START, end: END, shift_s: 0, outside_hours: false, brings: [], lacks: [] };
  const text = "Take 1 × Long arm straight from Main, Thu 19:00 at Sluice lane";
  const [change] = changesOf({ lines: [] }, [handed], { today: TODAY, unit: "Second" });
  same(change, { text, body: handed.body });
  const held = { lines: [{ id: "l1", state: "confirmed", kit_type_id: "arm", name: "Long arm", quantity: 1 }] };
  const [instead] = changesInstead(held, { kit_type_id: "arm", kit_type: "Long arm", short_by: 1 }, { answer: "short", options: [handed] }, TODAY);
  same(instead, { text, body: { lines: handed.body.lines } });
});
