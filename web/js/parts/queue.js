// A pencil's place in the queue: who is before it, and what happens next. It is no yes, and says so.

import { words } from "../all_words.js";
import { h } from "../build.js";
import { momentText } from "../when.js";
import { reasonOf } from "./answers.js";
import { frame } from "./frame.js";

/** The pencils of other units before this one, each booking once. Pure. */
export function before(booking, short) {
  const pencils = short.flatMap((one) => one.holders).filter((holder) => holder.state === "pencilled" && holder.unit_id !== booking.unit_id);
  return [...new Map(pencils.map((holder) => [holder.booking_id, holder])).values()];
}

/** What a pencil is: its place, who is before it, what happens next. */
export function queuePart({ booking, standing }, today) {
  const place = standing?.place ?? null;
  if (booking.state !== "pencilled" || !place) return null;
  return h("div", { class: "answer", "data-key": "queue" },
    h("p", {}, frame("pencilled", words.queue.place(place)), " ", whoIsBefore(place, before(booking, standing.short), today)),
    standing.can_confirm === false && place === 1 && standing.short.map((short) => h("p", {}, words.sentences(reasonOf(short, today, [booking.unit_id])))),
    h("p", {}, words.sentences([words.queue.holdsNone, place === 1 ? words.queue.nextFirst : words.queue.next(place - 1),
      booking.pencil_expires_at && words.queue.lapses(momentText(booking.pencil_expires_at, today))])));
}

function whoIsBefore(place, pencils, today) {
  if (place === 1) return words.queue.first;
  const names = pencils.map((holder) => words.queue.one(holder, holder.expires_at && momentText(holder.expires_at, today)));
  return names.length ? words.queue.before(names) : words.queue.unknown(place - 1);
}
