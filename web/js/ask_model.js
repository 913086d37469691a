// What is being asked for, as plain values: from thumb presses to the body of a booking. Pure.

import { words } from "./all_words.js";
import { shortNames } from "./names.js";
import { dateOf, timeOf } from "./when.js";

export const QUICK = [2, 4, 6, 8];
/** As many as the service proposes for at once. */
export const MOST = 200;
const MORNING = "08:00";
const EVENING = "20:00";
export const PACK = "pack";

/** A new ask for a unit. `span` is what the strip says, or null: then the next shoot day. `chosen`: its number or kit was. */
export function newAsk(unitId, span, quantity = 2) {
  return { unitId, span, quantity, own: null, window: null, shootDay: null, held: null, days: [], lines: [], proposed: 0, readFor: "",
    changed: {}, others: [], last: null, purpose: "", whoPays: "", orderNumber: "", pencil: false, again: false, chosen: false };
}

/** The ask with what the service proposes for it: for `proposed` radios, and read for `readFor`. */
export function withProposal(ask, proposal) {
  const { window, held, last_ask: last, days } = proposal;
  const lines = proposal.lines.map((line, index) => ({ ...line, key: keyOf(proposal.lines, index) }));
  const next = { ...ask, window, shootDay: window.shoot_day, held, lines, last, days, proposed: proposal.quantity ?? ask.quantity, readFor: proposalPath(ask) };
  return ask.again ? { ...sortedAsLast(next), again: false } : next;
}

/** Whether its lines were proposed for what is asked now: only then may they be sent. */
export const isFresh = (ask) => ask.readFor !== "" && ask.readFor === proposalPath(ask);

/** The ask with its days said outright, so that one that is kept over midnight still means the same day. */
export function frozen(ask) {
  if (ask.own || ask.span) return ask;
  const date = ask.shootDay?.date;
  return date ? { ...ask, span: { from: date, to: date } } : { ...ask, own: { start: ask.window.start, end: ask.window.end } };
}

/** A part's own name: its role, numbered where a radio has two of one, such as two kinds of receiver. */
function keyOf(lines, index) {
  const before = lines.slice(0, index).filter((line) => line.role === lines[index].role).length;
  return before ? `${lines[index].role}-${before + 1}` : lines[index].role;
}

/** Another number of radios: chosen kit stays chosen, typed part numbers are counted anew. */
export function withQuantity(ask, quantity) {
  const changed = Object.fromEntries(Object.entries(ask.changed).map(([role, change]) => [role, { ...change, quantity: undefined }]));
  return { ...ask, changed, quantity: Math.min(MOST, Math.max(0, quantity)), chosen: true };
}

/**
 * One part changed: another kit type, or another number; 0 leaves it out. Another pack brings its
 * own parts, so what was chosen to fit the one before is forgotten.
 */
export function withPart(ask, key, change) {
  const changed = key === PACK && change.kit_type_id ? {} : ask.changed;
  return { ...ask, changed: { ...changed, [key]: { ...ask.changed[key], ...change } }, chosen: true };
}

/** Other kit: a number for a kit type; 0 takes it off. */
export function withOther(ask, kit, quantity) {
  const others = ask.others.filter((line) => line.kit_type_id !== kit.kit_type_id);
  if (quantity < 1) return { ...ask, others };
  const line = { kit_type_id: kit.kit_type_id, name: kit.name, quantity: Math.min(MOST, quantity) };
  const place = ask.others.findIndex((one) => one.kit_type_id === kit.kit_type_id);
  others.splice(place < 0 ? others.length : place, 0, line);
  return { ...ask, others };
}

/** The same kit as last time. Its pack may bring other parts: they are sorted again when proposed. */
export function asLastTime(ask) {
  return { ...sortedAsLast(ask), again: true, chosen: true };
}

/** Last time's lines as parts, where they still are what a radio needs; the rest is other kit. */
function sortedAsLast(ask) {
  const left = new Map(ask.last.lines.map((line) => [line.kit_type_id, line]));
  const changed = {};
  for (const part of ask.lines) {
    const choice = left.has(part.kit_type_id) ? part : part.choices.find((one) => left.has(one.kit_type_id));
    changed[part.key] = { quantity: 0 };
    if (!choice) continue;
    changed[part.key] = { kit_type_id: choice.kit_type_id, quantity: left.get(choice.kit_type_id).quantity };
    left.delete(choice.kit_type_id);
  }
  return { ...ask, quantity: ask.last.quantity, changed, others: [...left.values()] };
}

/**
 * The radio's parts as they stand now: { key, role, kit_type_id, name, quantity, choices }. Until
 * this number is proposed for, what was proposed for another is scaled: good to show, not to send.
 */
export function partsOf(ask) {
  if (!ask.quantity) return [];
  return ask.lines.map((line) => {
    const change = ask.changed[line.key] ?? {};
    const { kit_type_id, name } = line.choices.find((one) => one.kit_type_id === change.kit_type_id) ?? line;
    return { ...line, kit_type_id, name, quantity: change.quantity ?? Math.ceil((line.quantity * ask.quantity) / (ask.proposed || ask.quantity)) };
  });
}

/** What packs there are to choose from: [{ kit_type_id, name (short), free, chosen }]. */
export function packsOf(ask) {
  const pack = partsOf(ask).find((part) => part.role === PACK);
  if (!pack) return [];
  const names = shortNames(pack.choices.map((choice) => choice.name));
  return pack.choices.map(({ kit_type_id, free }, index) => ({ kit_type_id, free, name: names[index], chosen: kit_type_id === pack.kit_type_id }));
}

/** What "as last time" repeats: { quantity, packs: [{ quantity, name (short) }], others: lines beside the radios }. */
export function lastOf(ask) {
  if (!ask.last) return null;
  const choices = ask.lines.find((line) => line.role === PACK)?.choices ?? [];
  const names = shortNames(choices.map((choice) => choice.name));
  const packs = ask.last.lines.flatMap((line) => {
    const index = choices.findIndex((choice) => choice.kit_type_id === line.kit_type_id);
    return index < 0 ? [] : [{ quantity: line.quantity, name: names[index] }];
  });
  return { quantity: ask.last.quantity, packs, start: ask.last.start };
}

/** All lines with names, each kit type once. */
export function linesOf(ask) {
  const byKit = new Map();
  for (const { kit_type_id, name, quantity } of [...partsOf(ask), ...ask.others]) {
    if (quantity < 1) continue;
    const before = byKit.get(kit_type_id)?.quantity ?? 0;
    byKit.set(kit_type_id, { kit_type_id, name, quantity: before + quantity });
  }
  return [...byKit.values()];
}

/**
 * The window of a span of days: from the first day's call to the last day's wrap. A day that is no
 * shoot day begins at 08:00 and ends at 20:00, given as the pool's local time.
 */
function windowFor(span, days) {
  const call = days.find((day) => day.date === span.from);
  const wrap = days.find((day) => day.date === span.to);
  return {
    start: call?.call ?? { day: span.from, time: MORNING },
    end: wrap?.wrap ?? { day: span.to, time: EVENING },
    shot: Boolean(call && wrap),
  };
}

/** What the ask's window is: typed times, the days chosen, or what was proposed. */
export function windowOf(ask) {
  if (ask.own) return { ...ask.own, shot: false };
  if (ask.span) return windowFor(ask.span, ask.days);
  return ask.window ? { start: ask.window.start, end: ask.window.end, shot: Boolean(ask.shootDay) } : null;
}

/** An instant or { day, time } as one string; a local time borrows the offset of `like`. */
function instantText(moment, like) {
  return typeof moment === "string" ? moment : `${moment.day}T${moment.time}:00${like.slice(19)}`;
}

/** A window's ends as instants that can be shown. */
export function shownWindow(ask) {
  const window = windowOf(ask);
  if (!window) return null;
  const like = ask.window.start;
  return { ...window, start: instantText(window.start, like), end: instantText(window.end, like) };
}

/** The body of POST /bookings and POST /judgements; the ends are left out where the proposal stands. */
export function bodyOf(ask) {
  const window = ask.own || ask.span ? windowOf(ask) : {};
  const text = (value) => value.trim() || undefined;
  return {
    unit_id: ask.unitId, start: window.start, end: window.end,
    state: ask.pencil ? "pencilled" : "confirmed",
    purpose: text(ask.purpose), who_pays: text(ask.whoPays), order_number: text(ask.orderNumber),
    lines: linesOf(ask).map(({ kit_type_id, quantity }) => ({ kit_type_id, quantity })),
  };
}

/** Where the proposal is read for this ask. */
export function proposalPath(ask) {
  const query = new URLSearchParams({ unit: ask.unitId, quantity: Math.max(1, ask.quantity) });
  const window = ask.window && (ask.own || ask.span) ? shownWindow(ask) : null;
  if (window) {
    query.set("start", window.start);
    query.set("end", window.end);
  }
  const pack = ask.changed[PACK]?.kit_type_id;
  if (pack) query.set("pack", pack);
  return `/radio-proposal?${query}`;
}

/** What `answers.js` needs to know of the ask to speak of it. */
export function askedOf(ask, today) {
  const packs = ask.lines.filter((line) => line.role === PACK).flatMap((line) => line.choices.map((choice) => choice.kit_type_id));
  const radioKits = ask.lines.flatMap((line) => [line.kit_type_id, ...line.choices.map((choice) => choice.kit_type_id)]);
  return { lines: linesOf(ask), radios: ask.quantity, packs: new Set(packs), radioKits: new Set(radioKits), today };
}

/** "with each: way, lavalier, 2 batteries, pouch": the parts beside the pack, per radio where it divides. */
export function withText(ask) {
  const numbers = new Map();
  for (const { role, quantity } of partsOf(ask)) {
    if (role !== PACK && quantity > 0) numbers.set(role, (numbers.get(role) ?? 0) + quantity);
  }
  if (!numbers.size) return words.ask.withNothing;
  return words.ask.with([...numbers].map(([role, quantity]) => partText(role, quantity, ask.quantity)));
}

function partText(role, quantity, radios) {
  if (role === "way") return words.ask.role(role);
  const each = quantity / radios;
  return Number.isInteger(each) ? words.ask.perRadio(role, each) : words.ask.shared(role, quantity);
}

/** Whether a pair of ends is in order, compared as local text. */
export function inOrder(start, end) {
  const text = (moment) => (typeof moment === "string" ? `${dateOf(moment)}${timeOf(moment)}` : `${moment.day}${moment.time}`);
  return text(start) < text(end);
}
