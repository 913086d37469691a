import { bodyOf, choiceField, dayAfter, fieldLines, lastChange, listModel, momentField, newRisks, numberField, overtaken, pointedAt, stepsDone, tableType, textField, ticksField, valueText } from "../../web/js/office/model.js";
import { office } from "../../web/js/office/words.js";
import { addDays, daysBetween } from "../../web/js/when.js";
import { ok, same, test } from "./runner.js";

const DAY = { id: "1", number: 9, call: "2026-11-26T07:00:00+00:00", wrap: "2026-11-26T19:30:00+00:00", location: "Quay Lane", inside: null, way_s: 2400, unit_ids: ["a", "b"] };
const FIELDS = [
  numberField("number", "Day number", { most: 9999, first: 1 }),
  momentField("call", "Call"),
  momentField("wrap", "Wrap", { open: true }),
  textField("location", "Location", { needed: "the location" }),
  choiceField("inside", "Where", [["true", "inside"], ["null", "not known"]], { first: "null", typed: (value) => ({ true: true, null: null })[value] }),
  numberField("way_s", "Way", { times: 60 }),
  ticksField("unit_ids", "Units", [["a", "Main"], ["b", "Second"]]),
];

test("what nobody touched is not sent, however it was read", () => {
  same(bodyOf(FIELDS, DAY, {}), { body: {}, wrong: null });
  same(bodyOf(FIELDS, DAY, { location: " Quay Lane " }), { body: {}, wrong: null });
});

test("only what differs is sent, as the service takes it", () => {
  const { body, wrong } = bodyOf(FIELDS, DAY, { call_time: "06:30", inside: "true", way_s: "45", unit_ids: "b", wrap_day: "", wrap_time: "" });
  same(wrong, null);
  same(body, { call: { day: "2026-11-26", time: "06:30" }, wrap: null, inside: true, way_s: 2700, unit_ids: ["b"] });
});

test("a new thing is sent whole, and what is missing is marked at its field", () => {
  const { body, wrong } = bodyOf(FIELDS, null, { call_day: "2026-11-26", call_time: "7", location: "  " });
  same(body, { number: 1, call: { day: "2026-11-26", time: "07:00" }, wrap: null, inside: null, way_s: 0, unit_ids: [] });
  same(wrong, { location: "Give the location." });
});

test("numbers and times that are none are marked, all at once", () => {
  const { wrong } = bodyOf(FIELDS, DAY, { number: "ten", call_time: "25:00", way_s: "-1" });
  same(Object.keys(wrong), ["number", "call", "way_s"]);
});

test("a bad moment points at the part of it that is bad", () => {
  const call = FIELDS[1];
  same(call.badKey({ call_day: "", call_time: "06:00" }), "call_day");
  same(call.badKey({ call_day: "2026-11-26", call_time: "" }), "call_time");
  same(call.badKey({ call_day: "2026-11-26", call_time: "06:00" }), "call_day");
});

test("a problem's pointers find their fields, and what has none is said for all", () => {
  const problem = { errors: [
    { pointer: "#/wrap", detail: "the wrap is not after the call: give a later one" },
    { pointer: "#/unit_ids/0", detail: "this pool has no such unit" },
    { pointer: "#/latitude_e7", detail: "a position has both" }, { parameter: "x", detail: "unknown." },
  ] };
  same(pointedAt(problem, FIELDS), {
    fields: { wrap: "The wrap is not after the call: give a later one.", unit_ids: "This pool has no such unit." },
    rest: ["A position has both.", "Unknown."],
  });
  same(pointedAt({ title: "Bad" }, FIELDS), { fields: {}, rest: [] });
});

test("what somebody else changed meanwhile is told where both changed it", () => {
  const fresh = { ...DAY, location: "Chapel", number: 10, unit_ids: ["a"] };
  same(overtaken(FIELDS, DAY, fresh, { location: "Boathouse", unit_ids: "b" }), { location: "Chapel", unit_ids: "Main" });
  same(overtaken(FIELDS, DAY, fresh, { location: "Chapel" }), {});
});

test("the journal's last entry says who, when and what", () => {
  const entries = [{ by: "Maud", at: "1", after: {} }, { by: "Hale", at: "2", after: { call_s: 1, location: "Chapel", not_shown: ["notes"] } }];
  same(lastChange(entries), { by: "Hale", at: "2", fields: ["call", "location", "notes"] });
  same(lastChange([]), { by: null, at: null, fields: [] });
  ok(office.form.stale("Hale", "14:05", ["call", "notes"]).startsWith("Hale changed it meanwhile, 14:05: call and notes. "));
  ok(office.form.stale(null, null, []).startsWith("Somebody changed it meanwhile. "));
});

const change = (kind, row, fields = {}) => ({ kind, row, what: "kit type", name: `kit ${row}`, fields });

test("a list's changes stand by kind, and the bad rows are counted once each", () => {
  const answer = {
    changes: [change("new", 2), change("same", 3), change("changed", 4), change("new", 5), change("new", 6)],
    problems: [{ row: 7, column: "Tag", reason: "" }, { row: 7, column: "Box", reason: "" }, { row: 9, column: "", reason: "" }],
  };
  const model = listModel(answer, 2);
  same(model.groups.map((group) => [group.kind, group.rows.map((one) => one.row), group.more]), [["new", [2, 5], 1], ["changed", [4], 0]]);
  same([model.problems.length, model.moreProblems, model.badRows], [2, 1, 2]);
});

test("a change says what was and what will be, in the words of a list", () => {
  same(fieldLines(change("changed", 2, { location: ["Chapel", "Quay"], prep_s: [1800, 0], mute: [false, true], call: ["2026-11-26T07:00:00+00:00", "2026-11-26T06:00:00+00:00"] })),
    ["location: Chapel → Quay", "prep: 30 min → 0 min", "mute: no → yes", "call: 2026-11-26 07:00 → 2026-11-26 06:00"]);
  same(fieldLines(change("changed", 2, { notes: ["old", ""] })), ["notes: old → empty"]);
});

test("a new thing leaves out what it does not say", () => {
  same(fieldLines(change("new", 2, { name: [null, "Strap"], count: [null, 6], ways: [null, 0], rechargeable: [null, false], prep_s: [null, 900] })), ["count: 6", "prep: 15 min"]);
});

test("values are said without brackets", () => {
  same(valueText([["receiver", 1, ["range", "mode"]]]), "receiver, 1, range, mode");
  same(valueText({ Bought: "2021" }), "Bought 2021");
  same(valueText(null), "");
});

test("a table's type comes by its ending, in Latin-1 only where that is said", () => {
  same(tableType("kit.CSV", false), "text/csv");
  same(tableType("kit.csv", true), "text/csv; charset=iso-8859-1");
  same(tableType("kit.tsv", false), "text/tab-separated-values");
  ok(tableType("kit.xlsx", true).endsWith("spreadsheetml.sheet"));
});

test("a day is added as the last one was, a night ending on the next morning", () => {
  const night = { day: "2026-11-30", number: 11, call: "2026-11-30T15:00:00+00:00", wrap: "2026-12-01T02:30:00+00:00", location: "Salt flats" };
  same(dayAfter([night], "2026-11-25", addDays, daysBetween), {
    number: 12, location: "Salt flats", call: { day: "2026-12-01", time: "15:00" }, wrap: { day: "2026-12-02", time: "02:30" },
  });
  same(dayAfter([], "2026-11-25", addDays, daysBetween).call.day, "2026-11-26");
});

test("only bookings that it put at risk, or deeper, are told of", () => {
  const row = (key, short_by, kind = "at_risk", kit_type_id = "k") => ({ key, short_by, kind, kit_type_id });
  const before = [row("a", 1), row("b", 1)];
  const after = [row("a", 1), row("b", 2), row("c", 1), row("d", 1, "clash"), row("e", 1, "at_risk", "other")];
  same(newRisks(before, after, "k").map((one) => one.key), ["b", "c"]);
});

test("an invitation that is open, or a second account, is people invited", () => {
  const none = { kitTypes: 0, units: 0, shootDays: 0, accounts: 1, invitations: 0 };
  same(stepsDone(none), { kit: false, units: false, days: false, people: false });
  same(stepsDone({ ...none, kitTypes: 1, invitations: 1 }), { kit: true, units: false, days: false, people: true });
  same(stepsDone({ ...none, accounts: 2 }).people, true);
});

test("no sentence of the office shouts, begs or boasts", () => {
  const text = [];
  (function walk(value) {
    if (typeof value === "string") text.push(value);
    else if (typeof value === "function") text.push(String(value));
    else Object.values(value ?? {}).forEach(walk);
  })(office);
  ok(text.length > 150);
  same(text.filter((one) => /successfully|please|[a-z]!(["'`\s]|$)/i.test(one)), []);
});
