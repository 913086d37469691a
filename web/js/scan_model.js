// Out and back as events: what was scanned, where it goes, and in what condition. Pure.

import { isLive, standsOf, stillToGo, toGo } from "./line_model.js";
import { secondsOf } from "./when.js";

const AHEAD_S = 36 * 3600;
const MOST_TAGS = 3;

/** What an answer of GET /scan is: "item", "box" or "kit". */
export function scanKind(found) {
  if (found.item) return "item";
  return found.box ? "box" : "kit";
}

/**
 * The body of POST /custody-events. `choice`: { mode, booking, unit, person, condition, words };
 * out, the booking wins over the unit; back, `from` says which unit's counted kit it is.
 * `anyway` records what would otherwise be refused.
 */
export function custodyEvent({ key, at, pieces, choice, from = null, anyway = false }) {
  const event = { key, happened_at: at, pieces, kind: choice.mode };
  if (choice.mode === "out") {
    if (choice.booking) event.booking_id = choice.booking;
    else event.unit_id = choice.unit;
    if (choice.person) event.person = choice.person;
  } else {
    if (from) event.unit_id = from;
    event.condition = choice.condition;
    if (choice.words && choice.condition !== "fit") event.words = choice.words;
  }
  if (anyway) event.anyway = true;
  return event;
}

/** What was moved, in words: "PL01 Pack", "16 × AA"; of many of a kind their number, with few tags. */
export function movedText(moved, of) {
  const kinds = new Map();
  for (const one of moved) {
    const kind = kinds.get(one.kit_type) ?? { quantity: 0, tags: [] };
    kinds.set(one.kit_type, { quantity: kind.quantity + one.quantity, tags: one.tag ? [...kind.tags, one.tag] : kind.tags });
  }
  return [...kinds].map(([name, { quantity, tags }]) => {
    if (tags.length !== quantity || tags.length > MOST_TAGS) return of(quantity, name);
    return `${tags.join(", ")} ${name}`;
  }).join(", ");
}

/** Counted kit whose name or category has every word typed: whole words before beginnings, "AA" before "AAA". */
export function countedMatches(kits, text) {
  const wanted = wordsOf(text);
  if (!wanted.length || text.trim().length < 2) return [];
  const fits = (test) => kits.filter((kit) => {
    const name = wordsOf(`${kit.name} ${kit.category ?? ""}`);
    return wanted.every((word) => name.some((part) => test(part, word)));
  });
  const whole = fits((part, word) => part === word);
  return whole.length ? whole : fits((part, word) => part.startsWith(word));
}

/** A plural says the same as the one: "pouches", "headphones", "cells" are looked for without their s. */
const wordsOf = (text) => text.toLowerCase().split(/[^\p{L}\p{N}]+/u).filter(Boolean).map((word) => (word.length > 3 ? word.replace(/(ch|sh|x)es$/, "$1").replace(/s$/, "") : word));

/** Which units have counted kit out: [{ unit_id, unit, quantity }], the units of `first` before others. */
export function holdersOf(custody, kitId, { may, first = [] }) {
  const units = new Map();
  for (const one of custody) {
    if (one.kit_type_id !== kitId || one.item_id || !may(one.unit_id)) continue;
    const before = units.get(one.unit_id)?.quantity ?? 0;
    units.set(one.unit_id, { unit_id: one.unit_id, unit: one.unit, quantity: before + one.quantity });
  }
  return [...units.values()].sort((a, b) => first.includes(b.unit_id) - first.includes(a.unit_id));
}

/** The bookings kit can go out on: running, or begun within a day and a half; own units' first, by their start. */
export function outBookings(bookings, { now, own = [], may }) {
  const soon = (booking) => secondsOf(booking.start) < secondsOf(now) + AHEAD_S && secondsOf(booking.end) > secondsOf(now);
  return bookings.filter((booking) => booking.state === "confirmed" && soon(booking) && may(booking.unit_id))
    .sort((a, b) => own.includes(b.unit_id) - own.includes(a.unit_id) || secondsOf(a.start) - secondsOf(b.start));
}

export const isRunning = (booking, now) => secondsOf(booking.start) <= secondsOf(now);

/** Other bookings of the same unit that have a line for this kit: where a refused piece can go. */
export function otherBookings(bookings, chosen, kitId) {
  return bookings.filter((one) => one.unit_id === chosen.unit_id && one.id !== chosen.id && one.lines.some((line) => isLive(line) && line.kit_type_id === kitId));
}

/** How many of a kit type a booking has still to go out. */
export function leftFor(booking, standing, kitId) {
  return booking.lines.filter((line) => isLive(line) && line.kit_type_id === kitId)
    .reduce((total, line) => total + toGo(line, standsOf(line, standing)), 0);
}

/**
 * What of a box is offered at once: { items, counts }. Out on a booking: no more than that has still to
 * go, of what is fit and not out. Back: what of it is out, counted kit of the unit `from`.
 */
export function boxOffer(box, { mode, custody, booking = null, standing = null, from = null, may = () => true }) {
  const out = new Map(custody.filter((one) => one.item_id).map((one) => [one.item_id, one]));
  if (mode === "back") {
    const held = (count) => custody.filter((one) => !one.item_id && one.kit_type_id === count.kit_type_id && one.unit_id === from).reduce((total, one) => total + one.quantity, 0);
    return { items: box.items.filter((item) => out.has(item.id) && may(out.get(item.id).unit_id)), counts: capped(box.counts, held) };
  }
  const there = box.items.filter((item) => item.condition === "fit" && !out.has(item.id));
  if (!booking) return { items: there, counts: box.counts };
  const left = new Map();
  for (const { line, left: some } of stillToGo(booking, standing)) left.set(line.kit_type_id, (left.get(line.kit_type_id) ?? 0) + some);
  const items = there.filter((item) => {
    const some = left.get(item.kit_type_id) ?? 0;
    if (some > 0) left.set(item.kit_type_id, some - 1);
    return some > 0;
  });
  return { items, counts: capped(box.counts, (count) => left.get(count.kit_type_id) ?? 0) };
}

function capped(counts, most) {
  return counts.map((count) => ({ ...count, quantity: Math.min(count.quantity, most(count)) })).filter((count) => count.quantity > 0);
}

/** What of a box is offered, as pieces of a custody event. */
export function piecesOfBox(offer) {
  return [
    ...offer.items.map((item) => ({ tag: item.tag })),
    ...offer.counts.map((count) => ({ kit_type_id: count.kit_type_id, quantity: count.quantity })),
  ];
}

/** The same in words: "PL15, PL16 Pack, 18 × AA". */
export function boxText(offer, of) {
  const items = offer.items.map((item) => ({ tag: item.tag, kit_type: item.name, quantity: 1 }));
  return movedText([...items, ...offer.counts.map((count) => ({ tag: null, kit_type: count.name, quantity: count.quantity }))], of);
}
