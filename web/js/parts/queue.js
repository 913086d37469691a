// A pencil's place in the queue: who is before it, and what happens next. It is no yes, and says so.

import { read } from "../api.js";
import { h } from "../build.js";
import { momentText } from "../when.js";
import { words } from "../words.js";
import { reasonOf } from "./answers.js";
import { frame } from "./frame.js";

/** Shortages whose pencils say until when they stand: that is read from their bookings where it is not told. */
export async function withEnds(short, options) {
  const pencils = short.flatMap((one) => one.holders).filter((holder) => holder.state === "pencilled" && holder.booking_id && !holder.expires_at);
  const ids = [...new Set(pencils.map((holder) => holder.booking_id))];
  const answers = await Promise.all(ids.map((id) => read(`/bookings/${id}`, options)));
  const ends = new Map(ids.map((id, index) => [id, answers[index].body?.pencil_expires_at ?? null]));
  const ended = (holder) => (ends.has(holder.booking_id) ? { ...holder, expires_at: ends.get(holder.booking_id) } : holder);
  return short.map((one) => ({ ...one, holders: one.holders.map(ended) }));
}

/** What keeps a pencilled booking from being confirmed now, as shortages; null for any other booking. */
export async function readQueue(booking, standing, options) {
  return booking.state === "pencilled" && standing ? withEnds(standing.short ?? [], options) : null;
}

/** The pencils of other units before this one, each booking once. Pure. */
export function before(booking, short) {
  const pencils = short.flatMap((one) => one.holders).filter((holder) => holder.state === "pencilled" && holder.unit_id !== booking.unit_id);
  return [...new Map(pencils.map((holder) => [holder.booking_id, holder])).values()];
}

/** What a pencil is: its place, who is before it, what happens next. `queue`: as `readQueue` gives it. */
export function queuePart({ booking, standing, queue }, today) {
  const place = standing?.place ?? null;
  if (booking.state !== "pencilled" || !place) return null;
  return h("div", { class: "answer", "data-key": "queue" },
    h("p", {}, frame("pencilled", words.queue.place(place)), " ", whoIsBefore(place, before(booking, queue ?? []), today)),
    standing.can_confirm === false && place === 1 && (queue ?? []).map((short) => h("p", {}, words.sentences(reasonOf(short, today, [booking.unit_id])))),
    h("p", {}, words.sentences([words.queue.holdsNone, place === 1 ? words.queue.nextFirst : words.queue.next(place - 1),
      booking.pencil_expires_at && words.queue.lapses(momentText(booking.pencil_expires_at, today))])));
}

function whoIsBefore(place, pencils, today) {
  if (place === 1) return words.queue.first;
  const names = pencils.map((holder) => words.queue.one(holder, holder.expires_at && momentText(holder.expires_at, today)));
  return names.length ? words.queue.before(names) : words.queue.unknown(place - 1);
}
