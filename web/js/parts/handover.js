// Where kit is handed over, when, and whom to ask for, with a call button.

import { h } from "../build.js";
import { momentText } from "../when.js";
import { words } from "../words.js";

/** A telephone link, or null where no number is known. */
export function callButton(phone, text, label) {
  if (!phone) return null;
  return h("a", { class: "press", href: `tel:${phone.replace(/[^+\d]/g, "")}`, "aria-label": label }, text);
}

/** The pick-ups as a list of rows. */
export function pickupRows(pickups, today) {
  if (!pickups.length) return h("p", { class: "nothing" }, words.yes.noPickup);
  return h("ul", {}, pickups.map((pickup, index) => pickupRow(pickup, index, today)));
}

function pickupRow(pickup, index, today) {
  const { at, place, ask_for: person, open_until: until, phone, note } = pickup;
  const under = words.dotted([
    person ? words.yes.askFor(person) : "",
    until ? words.yes.openUntil(momentText(until, today)) : "",
  ]);
  return h("li", { class: "row", "data-key": String(index) },
    h("span", { class: "row-when" }, at ? momentText(at, today) : words.yes.anyTime),
    h("span", { class: "row-what" }, place ?? "", note && h("small", {}, words.yes.nobody), under && h("small", {}, under)),
    h("span", { class: "row-side" }, callButton(phone, words.holder.callNumber, person ? words.holder.call(person) : words.holder.callNumber)));
}

/** The list for the truck: by pick-up, with boxes and tags; for paper. */
export function truckList(pickups, today) {
  return h("section", { class: "paper-only" }, h("h2", {}, words.yes.truckList), pickups.map((pickup) => h("table", {},
    h("caption", {}, words.dotted([pickup.at && momentText(pickup.at, today), pickup.place, pickup.ask_for])),
    h("tbody", {}, pickup.lines.map((line) => h("tr", {},
      h("td", { class: "figure" }, String(line.quantity)),
      h("th", { scope: "row" }, line.name),
      h("td", {}, words.dotted([line.boxes.length ? words.yes.box(line.boxes) : "", line.tags.join(" ")]))))))));
}
