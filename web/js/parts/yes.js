// The yes: where, when, by whom, on which frequencies; and that it can be undone for ten minutes.

import { words } from "../all_words.js";
import { h } from "../build.js";
import { isLive } from "../line_model.js";
import { tailOf } from "../names.js";
import { secondsOf, timeOf } from "../when.js";
import { bookedDays, bookedText, isPack } from "./booked.js";
import { cautionLines } from "./cautions.js";
import { pickupRows } from "./handover.js";
import { queuePart } from "./queue.js";

/**
 * `view`: { booking, handover, cautions, strip, today, now, mayUndo, undo, busy }, and for a pencil
 * { standing }; `opening` are the pool's hours, `also` a pencil that was asked for with it.
 */
export function yesPart(view) {
  const { booking, handover, cautions, strip, today, now, mayUndo, undo, busy, opening, also } = view;
  const pencilled = booking.state === "pencilled";
  const say = pencilled ? words.yes.pencilled : words.yes.title;
  const pickups = pencilled ? [] : handover?.pickups ?? [];
  return [
    h("h1", {}, say(bookedText(booking), bookedDays(booking, strip, today))),
    pencilled ? queuePart(view, today) : [
      pickups.length > 1 && h("p", {}, fromText(booking, pickups)),
      pickupRows(pickups, today, opening),
      frequencyLine(booking, handover)],
    also && h("p", { class: also.id ? "" : "wrong" }, also.id ? h("a", { href: `/booking/${also.id}` }, words.yes.also(also.text)) : words.yes.alsoNot(also.text)),
    h("div", { class: "presses" },
      mayUndo && canUndo(booking, now) && h("button", { type: "button", class: "press", "data-key": "undo", disabled: busy, onclick: undo }, words.yes.undo(timeOf(booking.undo_until))),
      !pencilled && h("a", { class: "press", "data-key": "truck", href: `/booking/${booking.id}?truck` }, words.yes.truck),
      h("a", { class: "press", "data-key": "open", href: `/booking/${booking.id}` }, words.yes.open),
      h("a", { class: "press", "data-key": "again", href: "/ask" }, words.yes.another)),
    cautionLines(cautions),
  ];
}

export const canUndo = (booking, now) =>
  Boolean(booking.undo_until) && secondsOf(now) < secondsOf(booking.undo_until) && isLive(booking);

function fromText(booking, pickups) {
  const packs = new Set(booking.lines.filter(isPack).map((line) => line.kit_type_id));
  const radios = ({ lines }) => lines.filter((line) => packs.has(line.kit_type_id)).reduce((sum, line) => sum + line.quantity, 0);
  return words.yes.from(pickups.map((pickup) => words.yes.fromPlace(radios(pickup), pickup.place ?? words.yes.somewhere)));
}

/** The frequencies, with the packs they are for where the names say so: "Pack, 470 to 548 MHz: 528.650 · 530.275 MHz". */
export function frequencyLine(booking, handover) {
  const lines = booking.lines.filter((line) => line.frequencies?.length);
  const planned = handover?.frequencies?.map((one) => one.frequency_hz) ?? [];
  if (!lines.length && !planned.length) return null;
  const rows = lines.length ? lines.map((line) => words.yes.channels(packOf(line, booking), line.frequencies.map(words.yes.frequency)))
    : [words.yes.channels(words.yes.frequencies, planned.map(words.yes.frequency))];
  return h("ul", { class: "frequencies", "aria-label": words.yes.frequencies }, rows.map((text, index) => h("li", { "data-key": String(index) }, text)));
}

/** The packs of the range that a line of frequencies is for; where none or several fit, the line's own name. */
function packOf(line, booking) {
  const range = tailOf(line.name);
  const fits = booking.lines.filter((one) => isPack(one) && one.state !== "released" && range !== line.name && one.name.endsWith(range));
  return fits.length === 1 ? words.of(fits[0].quantity, fits[0].name) : line.name;
}
