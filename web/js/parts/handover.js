// Where kit is handed over, when, and whom to ask for, with a call button.

import { words } from "../all_words.js";
import { h, telephone } from "../build.js";
import { dateOf, dayMoment, momentText, weekdayKey } from "../when.js";
import { namedLines } from "./answers.js";

/** A telephone link, or null where no number is known. */
export function callButton(phone, text, label) {
  if (!phone) return null;
  return h("a", { class: "press", href: telephone(phone), "aria-label": label }, text);
}

/** The pick-ups as a list of rows. `opening`: the pool's, as the session tells it, for the house's own. */
export function pickupRows(pickups, today, opening = null) {
  if (!pickups.length) return h("p", { class: "nothing" }, words.yes.noPickup);
  return h("ul", {}, pickups.map((pickup, index) => pickupRow(pickup, index, today, opening)));
}

function pickupRow(pickup, index, today, opening) {
  const { at, place, ask_for: person, open_until: until, phone, note, unit, lines } = pickup;
  const under = words.dotted([
    unit ? words.yes.straight(unit, namedLines(lines)) : "",
    person ? words.yes.askFor(person) : "",
    [at && dateOf(at) === today ? words.yes.today : "", hoursText(pickup, opening) || (until ? words.yes.openUntil(momentText(until, today)) : "")].filter(Boolean).join(", "),
  ]);
  return h("li", { class: "row row-pickup", "data-key": String(index) },
    h("span", { class: "row-when" }, whenOf(pickup, today)),
    h("span", { class: "row-what" }, place ?? "", note && h("small", {}, words.yes.nobody), under && h("small", {}, under)),
    callSide(phone, person));
}

/** When kit changes hands: at a unit's wrap, or at the house by a time. */
export function whenOf({ at, unit }, today) {
  if (unit) return dayMoment(at, today);
  return at ? words.yes.by(dayMoment(at, today)) : words.yes.anyTime;
}

const callSide = (phone, person) => h("span", { class: "row-side" }, callButton(phone, words.holder.callNumber, person ? words.holder.call(person) : words.holder.callNumber));

/** What of a booking goes straight to other units, as a list of rows. */
export function handOnRows(handOn, today) {
  return h("ul", {}, handOn.map(({ at, place, unit, ask_for: person, phone, lines }, index) => h("li", { class: "row row-pickup", "data-key": String(index) },
    h("span", { class: "row-when" }, dayMoment(at, today)),
    h("span", { class: "row-what" }, words.yes.handOn(namedLines(lines), unit), h("small", {}, words.dotted([place, person ? words.yes.askFor(person) : ""]))),
    callSide(phone, person))));
}

/** "open 07:00 to 20:00": the house's hours on the day, where they are known. */
function hoursText({ at, from }, opening) {
  const spans = at && from === "house" ? opening?.exceptions?.[dateOf(at)] ?? opening?.week?.[weekdayKey(dateOf(at))] : null;
  return spans?.length ? words.yes.hours(spans) : "";
}
