// What the Office's forms and lists work out without a page: fields, bodies, errors, lines. Pure.

import { words } from "../all_words.js";
import { clockTime, day as dayOf, moment, wholeNumber } from "../forms.js";
import { office } from "./words.js";

const good = (value) => ({ value, wrong: null });
const bad = (wrong) => ({ value: null, wrong });
const plain = (key, inputs, name) => ({ keys: [key], inputs, name });

/** A line of text. `needed` names it in the sentence that asks for it. */
export function textField(name, label, { needed = "", most = 200, lines = false, ...input } = {}) {
  return {
    ...plain(name, { type: "text", maxlength: most, ...input }, name), label, as: lines ? "area" : "input", needed: Boolean(needed),
    start: (base) => ({ [name]: base?.[name] ?? "" }),
    read: (texts) => {
      const text = String(texts[name] ?? "").trim();
      return !text && needed ? bad(words.forms.missing(needed)) : good(text);
    },
  };
}

export function numberField(name, label, { least = 0, most = 10000, first = 0, times = 1 } = {}) {
  return {
    ...plain(name, { type: "text", inputmode: "numeric", class: "few", autocomplete: "off" }, name), label, as: "input", needed: true,
    start: (base) => ({ [name]: String(base ? (base[name] ?? 0) / times : first) }),
    read: (texts) => {
      const read = wholeNumber(texts[name], { least, most });
      return read.wrong ? read : good(read.value * times);
    },
  };
}

/** One of some: options are [value, text]; `typed` turns the value in the list into what is sent. */
export function choiceField(name, label, options, { first = options[0]?.[0] ?? "", typed = (value) => value, needed = "" } = {}) {
  return {
    ...plain(name, {}, name), label, as: "select", options, needed: Boolean(needed),
    start: (base) => ({ [name]: base ? String(base[name] ?? null) : first }),
    read: (texts) => (needed && !texts[name] ? bad(words.forms.missing(needed)) : good(typed(texts[name]))),
  };
}

/** Any of some. What is ticked is kept as one text, ids with spaces between. */
export function ticksField(name, label, options) {
  return {
    ...plain(name, {}, name), label, as: "ticks", options,
    start: (base) => ({ [name]: (base?.[name] ?? []).join(" ") }),
    read: (texts) => good(texts[name].split(" ").filter(Boolean)),
  };
}

/** A wall moment, a day and a time; with `open` both may be empty, which is null. */
export function momentField(name, label, { open = false, first = { day: "", time: "" }, hint = "" } = {}) {
  const [dayKey, timeKey] = [`${name}_day`, `${name}_time`];
  return {
    name, label, keys: [dayKey, timeKey], as: "moment", hint, needed: !open,
    start: (base) => {
      const at = base ? base[name] : null;
      if (base) return { [dayKey]: at?.slice(0, 10) ?? "", [timeKey]: at?.slice(11, 16) ?? "" };
      return { [dayKey]: first.day, [timeKey]: first.time };
    },
    read: (texts) => {
      if (open && !texts[dayKey] && !texts[timeKey]) return good(null);
      return moment(texts[dayKey], texts[timeKey]);
    },
    badKey: (texts) => (dayOf(texts[dayKey]).wrong || !clockTime(texts[timeKey]).wrong ? dayKey : timeKey),
  };
}

/** What stands in the fields: what was typed, over what was read. */
export function textsOf(fields, base, typed) {
  return Object.assign({}, ...fields.map((field) => field.start(base)), typed);
}

/**
 * What to send: { body, wrong }. `wrong` is { field: sentence } or null. Of a thing that was read
 * (`base`) only what differs goes; of a new one everything.
 */
export function bodyOf(fields, base, typed) {
  const texts = textsOf(fields, base, typed);
  const body = {};
  const wrong = {};
  for (const field of fields) {
    const was = field.start(base);
    if (base && field.keys.every((key) => String(texts[key]).trim() === String(was[key]).trim())) continue;
    const read = field.read(texts);
    if (read.wrong) wrong[field.name] = read.wrong;
    else body[field.name] = read.value;
  }
  return { body, wrong: Object.keys(wrong).length ? wrong : null };
}

/** A problem's pointers at the fields they name: { fields: {name: sentence}, rest: [sentence] }. */
export function pointedAt(problem, fields) {
  const names = new Set(fields.map((field) => field.name));
  const found = { fields: {}, rest: [] };
  for (const { pointer = "", detail } of problem.errors ?? []) {
    const name = decodeURIComponent(pointer.replace(/^#\/?/, "")).split("/")[0];
    const sentence = words.capital(`${detail}${/[.?]$/.test(detail) ? "" : "."}`);
    if (names.has(name)) found.fields[name] ??= sentence;
    else found.rest.push(sentence);
  }
  return found;
}

/** The fields that somebody else changed while this one was typing: { name: text as it is now }. */
export function overtaken(fields, base, fresh, typed) {
  const found = {};
  for (const field of fields) {
    const [was, is] = [field.start(base), field.start(fresh)];
    const differs = field.keys.some((key) => was[key] !== is[key]);
    const mine = field.keys.some((key) => key in typed && typed[key] !== is[key]);
    if (differs && mine) found[field.name] = shownText(field, is);
  }
  return found;
}

function shownText(field, texts) {
  const parts = field.keys.map((key) => texts[key]);
  if (!field.options) return parts.join(" ");
  const names = new Map(field.options);
  return parts.join(" ").split(" ").map((value) => names.get(value) ?? value).join(", ");
}

/** The journal's last entry as who, when and which fields: { by, at, fields }. */
export function lastChange(entries) {
  const last = entries.at(-1);
  if (!last) return { by: null, at: null, fields: [] };
  const names = [...Object.keys(last.after ?? {}).filter((name) => name !== "not_shown"), ...(last.after?.not_shown ?? [])];
  return { by: last.by, at: last.at, fields: names.map(office.changedField) };
}

/** What a list would do, as a page shows it: changes by kind, problems in the order of rows. */
export function listModel(answer, most = 200) {
  const of = (kind) => answer.changes.filter((change) => change.kind === kind);
  const groups = ["new", "changed"].map((kind) => ({ kind, rows: of(kind).slice(0, most), more: Math.max(0, of(kind).length - most) }))
    .filter((group) => group.rows.length);
  const problems = answer.problems ?? [];
  return { groups, problems: problems.slice(0, most), moreProblems: Math.max(0, problems.length - most), badRows: new Set(problems.map((one) => one.row)).size };
}

/** "location: Chapel → Quay", one for each field of a change; of a new thing what it says at all. */
export function fieldLines(change) {
  const says = ([name, [before, after]]) => change.kind !== "new" || (name !== "name" && before !== after && Boolean(after));
  return Object.entries(change.fields).filter(says).map(([name, values]) =>
    office.lists.field(office.changedField(name), ...values.map((value) => timed(name, value))));
}

/** Seconds are said in minutes, as they are written in a list. */
const timed = (name, value) => (name.endsWith("_s") && Number.isInteger(value) ? words.time.minutes(value / 60) : valueText(value));

/** A field's value as text: instants lose their seconds, lists their brackets. */
export function valueText(value) {
  if (value === null || value === undefined) return "";
  if (Array.isArray(value)) return value.map(valueText).filter(Boolean).join(", ");
  if (typeof value === "object") return Object.entries(value).map(([name, inner]) => `${name} ${valueText(inner)}`).join(", ");
  if (typeof value === "boolean") return value ? "yes" : "no";
  return /^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:/.test(value) ? String(value).slice(0, 16).replace("T", " ") : String(value);
}

/** The type to send a table as: by its ending, and in Latin-1 where that was ticked. */
export function tableType(name, latin) {
  const ending = name.toLowerCase().split(".").at(-1);
  if (ending === "xlsx") return "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
  const type = ending === "tsv" ? "text/tab-separated-values" : "text/csv";
  return latin ? `${type}; charset=iso-8859-1` : type;
}

/** A new day as the last one was, one day on, and the first one tomorrow: { number, call, wrap, location … } to begin a form. */
export function dayAfter(days, today, addDays, daysBetween) {
  const last = days.at(-1);
  const tomorrow = addDays(today, 1);
  if (!last) return { number: 1, call: { day: tomorrow, time: "08:00" }, wrap: { day: tomorrow, time: "19:00" }, location: "" };
  const call = addDays(last.day, 1);
  const nights = daysBetween(last.day, last.wrap.slice(0, 10));
  return {
    number: last.number + 1, location: last.location,
    call: { day: call, time: last.call.slice(11, 16) },
    wrap: { day: addDays(call, nights), time: last.wrap.slice(11, 16) },
  };
}

/** The bookings of a kit type that are at risk now and were not, or less, before: the board's rows. */
export function newRisks(before, after, kitTypeId) {
  const mine = (rows) => rows.filter((row) => row.kind === "at_risk" && row.kit_type_id === kitTypeId);
  const was = new Map(mine(before).map((row) => [row.key, row.short_by]));
  return mine(after).filter((row) => row.short_by > (was.get(row.key) ?? 0));
}

/** Which of the first steps are done: { kit, units, days, people }. */
export function stepsDone({ kitTypes, units, shootDays, accounts, invitations }) {
  return { kit: kitTypes > 0, units: units > 0, days: shootDays > 0, people: accounts > 1 || invitations > 0 };
}
