// What is wanted of a booking instead: other numbers and other hours, as typed; radios with all their parts. Pure.

import { words } from "./all_words.js";
import { isLive } from "./line_model.js";
import { moment, wholeNumber } from "./forms.js";
import { isPack } from "./parts/booked.js";
import { dateOf, isForever, timeOf } from "./when.js";

/** The lines whose number can be changed: live, and no piece by name. */
export const changeable = (booking) => booking.lines.filter((line) => isLive(line) && !line.item_id);

/** Nothing typed yet: a draft has only what was. */
export const NO_DRAFT = { numbers: {}, times: {} };

/** What stands in the form when nothing was typed. */
function untouched(booking) {
  return {
    numbers: Object.fromEntries(changeable(booking).map((line) => [line.id, String(line.quantity)])),
    times: { fromDay: dateOf(booking.start), fromTime: timeOf(booking.start), ...(isForever(booking.end) ? {} : { toDay: dateOf(booking.end), toTime: timeOf(booking.end) }) },
  };
}

/** What stands in the form: what was typed over the booking as it is now; what is gone falls away. */
export function shownOf(booking, draft) {
  const fresh = untouched(booking);
  const numbers = Object.fromEntries(Object.keys(fresh.numbers).map((id) => [id, draft.numbers[id] ?? fresh.numbers[id]]));
  return { numbers, times: { ...fresh.times, ...draft.times } };
}

/** The body of the PATCH: only what differs; or what is wrong. `draft`: what stands in the form. */
export function changedBody(booking, draft) {
  const body = {};
  for (const [name, day, time] of [["start", "fromDay", "fromTime"], ["end", "toDay", "toTime"]]) {
    if (draft.times[day] === undefined) continue;
    const read = moment(draft.times[day], draft.times[time]);
    if (read.wrong) return { wrong: read.wrong };
    if (read.value.day !== dateOf(booking[name]) || read.value.time !== timeOf(booking[name])) body[name] = read.value;
  }
  const numbers = readNumbers(changeable(booking), draft.numbers);
  if (numbers.wrong) return numbers;
  if (changeable(booking).some((line) => numbers.values[line.id] !== line.quantity)) {
    body.lines = wantedLines(booking, numbers.values).map((line) => (line.item_id ? { id: line.id, item_id: line.item_id } : { id: line.id, kit_type_id: line.kit_type_id, quantity: line.quantity }));
    if (!body.lines.length) return { wrong: words.booking.nothingLeft };
  }
  return Object.keys(body).length ? { body } : { wrong: words.booking.nothingChanged };
}

/** The booking's live lines with the numbers that are wanted; those of none left out. */
export function wantedLines(booking, values) {
  return booking.lines.filter(isLive).map((line) => ({ ...line, quantity: values[line.id] === undefined ? line.quantity : Number(values[line.id]) })).filter((line) => line.quantity > 0);
}

/** { values } of what was typed at each line, or { wrong }. */
export function readNumbers(lines, typed) {
  const values = {};
  for (const line of lines) {
    const read = wholeNumber(typed[line.id]);
    if (read.wrong) return { wrong: `${line.name}: ${read.wrong}` };
    values[line.id] = read.value;
  }
  return { values };
}

/** The lines of packs that a radio fewer or more can be made of. */
export const packLines = (booking) => changeable(booking).filter(isPack);

/**
 * The numbers with `by` radios more of one pack. `before` and `after`: what the service proposes for so
 * many of it as there are and as are wanted. A part keeps its number for each radio where it divides
 * ("6 cells each"), else it changes as the proposal does; a part that the booking does without stays away.
 */
export function withRadios(booking, numbers, { pack, before, after, by }) {
  const next = { ...numbers };
  const packs = packLines(booking).reduce((total, line) => total + Number(numbers[line.id]), 0);
  const radios = Number(numbers[pack.id]);
  const proposed = (lines, role) => lines.filter((line) => line.role === role).reduce((total, line) => total + line.quantity, 0);
  for (const role of new Set([...before, ...after].map((line) => line.role))) {
    const parts = [...after, ...before].filter((one) => one.role === role);
    const [line, ...others] = linesFor(booking, numbers, parts);
    if (role === "pack") next[pack.id] = String(radios + by);
    else if (!line) continue;
    else if (role === "way") Object.assign(next, withWays([line, ...others], numbers, parts, { before: radios, radios: radios + by }));
    else next[line.id] = String(partFor(Number(numbers[line.id]), { packs, by, change: proposed(after, role) - proposed(before, role) }));
  }
  return next;
}

/** Of some numbers those that differ from what the booking has: what counts as typed. */
export function typedOf(booking, numbers) {
  return Object.fromEntries(changeable(booking).filter((line) => numbers[line.id] !== String(line.quantity)).map((line) => [line.id, numbers[line.id]]));
}

/** How many of a part: as many for each radio as now where that is even, else as many more as is proposed. */
function partFor(now, { packs, by, change }) {
  return packs && now % packs === 0 ? (now / packs) * (packs + by) : Math.max(0, now + change);
}

/** The booking's lines that play a part of the radio: of the proposed kit first, then of kit that could be chosen. */
function linesFor(booking, numbers, parts) {
  const kits = new Set(parts.map((part) => part.kit_type_id));
  const choices = new Set(parts.flatMap((part) => part.choices.map((one) => one.kit_type_id)));
  const mine = changeable(booking).filter((line) => kits.has(line.kit_type_id) || choices.has(line.kit_type_id));
  return mine.filter((line) => Number(numbers[line.id]) > 0)
    .sort((a, b) => kits.has(b.kit_type_id) - kits.has(a.kit_type_id));
}

/**
 * Receivers for `radios` in place of so many before: one is taken off only while the rest have ways enough,
 * and one is added only where they have not. Ways that the unit has elsewhere go on serving, and a whole
 * receiver that was spare stays when radios leave.
 */
function withWays(lines, numbers, parts, { before, radios }) {
  const waysOf = new Map(parts.flatMap((part) => [...part.choices, part]).map((one) => [one.kit_type_id, one.ways || 1]));
  const next = new Map(lines.map((line) => [line, Number(numbers[line.id])]));
  const ways = (line) => waysOf.get(line.kit_type_id);
  const spare = () => lines.reduce((total, line) => total + next.get(line) * ways(line), 0) - radios;
  const was = spare() + radios - before;
  const enough = radios < before && was >= Math.min(...lines.map(ways)) ? was : Math.min(was, 0);
  for (const line of [...lines].sort((a, b) => ways(a) - ways(b))) {
    while (radios < before && next.get(line) > 0 && spare() - ways(line) >= enough) next.set(line, next.get(line) - 1);
  }
  while (radios > before && spare() < enough) next.set(lines[0], next.get(lines[0]) + 1);
  return Object.fromEntries(lines.map((line) => [line.id, String(next.get(line))]));
}
