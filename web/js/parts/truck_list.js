// The list for the truck: what is fetched where and when, box by box, with tags and frequencies. On the
// page first; on paper it is the same.

import { words } from "../all_words.js";
import { h } from "../build.js";
import { longDay, momentText, spanText } from "../when.js";
import { whenOf } from "./handover.js";
import { frequencyLine } from "./yes.js";

/** `view`: { booking, handover, today, now }, as a page of its own. */
export function truckPage({ booking, handover, today, now }) {
  const { pickups } = handover;
  return h("div", { class: "narrow stack truck", "data-key": "truck" },
    h("div", { class: "page-head" }, h("h1", {}, words.yes.truck),
      h("p", { class: "muted" }, words.yes.printedAt(longDay(now.slice(0, 10)), now.slice(11, 16)))),
    h("p", {}, h("span", { class: "strong" }, words.booking.title(booking)), h("br"), spanText(booking.start, booking.end, today)),
    h("div", { class: "presses no-paper" },
      h("button", { type: "button", class: "press press-best", onclick: () => print() }, words.yes.print),
      h("a", { class: "press", href: `/booking/${booking.id}` }, words.yes.toBooking)),
    pickups.length ? pickups.map((pickup, index) => pickupPart(pickup, index, today)) : h("p", { class: "nothing" }, words.yes.nothingToFetch),
    booking.lines.some((line) => line.frequencies?.length) && h("section", { class: "part", "aria-labelledby": "truck-frequencies" },
      h("h2", { id: "truck-frequencies" }, words.yes.frequencies), frequencyLine(booking, handover)));
}

function pickupPart(pickup, index, today) {
  const id = `truck-${index}`;
  const { place, ask_for: person, phone, open_until: until, unit } = pickup;
  const where = words.dotted([place, whenOf(pickup, today), person && words.yes.askFor(person), phone, until && words.yes.openUntil(momentText(until, today))]);
  return h("section", { class: "part part-set", "aria-labelledby": id }, h("h2", { id }, words.yes.fetch), h("p", {}, where),
    (unit ? [{ title: words.yes.straightFrom(unit), lines: pickup.lines }] : boxesOf(pickup.lines)).map(({ title, lines }) => h("table", {},
      h("caption", {}, title),
      h("thead", { class: "spoken" }, h("tr", {}, [words.yes.truckColumns.done, words.yes.truckColumns.number, words.yes.truckColumns.kit].map((name) => h("th", { scope: "col" }, name)))),
      h("tbody", {}, lines.map(lineRow)))));
}

function lineRow(line) {
  return h("tr", {},
    h("td", { class: "tick" }, h("span", { "aria-hidden": "true" })),
    h("td", { class: "figure" }, String(line.quantity)),
    h("th", { scope: "row" }, line.name, line.tags.length > 0 && h("small", { class: "note" }, line.tags.join(" "))));
}

/** The lines by the boxes that they are in, boxes in their order, what is in none last: [{ title, lines }]. Pure. */
export function boxesOf(lines) {
  const boxes = new Map();
  for (const line of lines) {
    const key = line.boxes.join(" ");
    boxes.set(key, { boxes: line.boxes, lines: [...(boxes.get(key)?.lines ?? []), line] });
  }
  const byNumber = new Intl.Collator("en-GB", { numeric: true });
  return [...boxes.values()]
    .sort((a, b) => !a.boxes.length - !b.boxes.length || byNumber.compare(a.boxes.join(" "), b.boxes.join(" ")))
    .map((one) => ({ title: one.boxes.length ? words.yes.inBoxes(one.boxes) : words.yes.inNoBox, lines: one.lines }));
}
