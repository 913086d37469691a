// The yes: where, when, by whom, on which frequencies; and that it can be undone for ten minutes.

import { h } from "../build.js";
import { secondsOf, timeOf } from "../when.js";
import { words } from "../words.js";
import { bookedDays, bookedText, isPack } from "./booked.js";
import { cautionLines } from "./cautions.js";
import { pickupRows, truckList } from "./handover.js";

/** `view`: { booking, handover, cautions, strip, today, now, mayUndo, undo, busy }. */
export function yesPart({ booking, handover, cautions, strip, today, now, mayUndo, undo, busy }) {
  const say = booking.state === "pencilled" ? words.yes.pencilled : words.yes.title;
  const pickups = handover?.pickups ?? [];
  return [
    h("h1", {}, say(bookedText(booking), bookedDays(booking, strip, today))),
    pickups.length > 1 && h("p", {}, fromText(booking, pickups)),
    pickupRows(pickups, today),
    frequencyLine(booking, handover),
    h("div", { class: "presses" },
      mayUndo && canUndo(booking, now) && h("button", { type: "button", class: "press", "data-key": "undo", disabled: busy, onclick: undo }, words.yes.undo(timeOf(booking.undo_until))),
      h("button", { type: "button", class: "press", "data-key": "truck", onclick: () => print() }, words.yes.truck),
      h("a", { class: "press", "data-key": "open", href: `/booking/${booking.id}` }, words.yes.open),
      h("a", { class: "press", "data-key": "again", href: "/ask" }, words.yes.another)),
    cautionLines(cautions),
    truckList(pickups, today),
  ];
}

export const canUndo = (booking, now) =>
  Boolean(booking.undo_until) && secondsOf(now) < secondsOf(booking.undo_until) && ["confirmed", "pencilled"].includes(booking.state);

function fromText(booking, pickups) {
  const packs = new Set(booking.lines.filter(isPack).map((line) => line.kit_type_id));
  const radios = ({ lines }) => lines.filter((line) => packs.has(line.kit_type_id)).reduce((sum, line) => sum + line.quantity, 0);
  return words.yes.from(pickups.map((pickup) => words.yes.fromPlace(radios(pickup), pickup.place ?? words.yes.somewhere)));
}

export function frequencyLine(booking, handover) {
  const planned = handover?.frequencies?.map((one) => one.frequency_hz) ?? booking.lines.flatMap((line) => line.frequencies ?? []);
  if (!planned.length) return null;
  return h("p", { class: "frequencies" }, h("span", { class: "spoken" }, `${words.yes.frequencies}: `), planned.map(words.yes.frequency).join(" · "));
}
