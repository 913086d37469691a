// What a scan does: the mode, where kit goes, and in what condition it comes back.

import { words } from "../all_words.js";
import { h } from "../build.js";
import { isRunning } from "../scan_model.js";
import { momentText } from "../when.js";

const CONDITIONS = ["fit", "suspect", "damaged", "lost"];

export function modeChoice(mode, choice, set) {
  return h("label", { class: "choice", "data-key": mode },
    h("input", { type: "radio", name: "mode", value: mode, checked: choice.mode === mode, onchange: () => set({ mode }) }), words.scan.modes[mode]);
}

/**
 * To which booking or unit, and to whom. `units`: those one may hand out to, own first; `bookings`:
 * running and next, in their order.
 */
export function outFields({ choice, set, units, bookings, now, today }) {
  const value = choice.booking ? `b:${choice.booking}` : choice.unit ? `u:${choice.unit}` : "";
  const choose = (event) => {
    const [kind, id] = [event.target.value[0], event.target.value.slice(2)];
    if (kind === "b") set({ booking: id, unit: "" });
    else set({ booking: "", unit: id ?? "" });
  };
  const option = (booking) => h("option", { value: `b:${booking.id}` }, bookingText(booking, now, today));
  const strange = choice.booking && !bookings.some((one) => one.id === choice.booking);
  return h("div", { class: "fields", "data-key": "out" },
    h("label", { class: "field" }, h("span", {}, words.scan.to),
      h("select", { value, onchange: choose },
        h("option", { value: "" }, words.scan.choose),
        strange && h("option", { value: `b:${choice.booking}` }, words.scan.thisBooking),
        units.map((unit) => h("optgroup", { label: words.capital(words.unit(unit.name)), "data-key": unit.id },
          bookings.filter((one) => one.unit_id === unit.id).map(option), h("option", { value: `u:${unit.id}` }, words.scan.noBooking(unit.name)))))),
    h("details", { "data-key": "person" }, h("summary", {}, words.scan.toPerson(choice.person)),
      h("label", { class: "field" }, h("span", {}, words.scan.person),
        h("input", { type: "text", maxlength: 100, value: choice.person, onchange: (event) => set({ person: event.target.value.trim() }) }))));
}

/** "Second · the crossing, radios · until Fri 20:00", "Main · market crowd · 15:30". */
function bookingText(booking, now, today) {
  const time = isRunning(booking, now) ? words.scan.running(momentText(booking.end, today)) : momentText(booking.start, today);
  return words.scan.booking({ unit: booking.unit, purpose: booking.purpose || booking.production, time });
}

/** In what condition the next piece comes back; the scan after that is fit again. */
export function backFields({ choice, set }) {
  return h("div", { class: "fields", "data-key": "back" },
    h("fieldset", {}, h("legend", { class: "muted small" }, words.scan.condition), h("div", { class: "choices" }, CONDITIONS.map((condition) =>
      h("label", { class: "choice", "data-key": condition }, h("input", { type: "radio", name: "condition", value: condition, checked: choice.condition === condition, onchange: () => set({ condition }) }), words.scan.conditions[condition])))),
    choice.condition !== "fit" && h("label", { class: "field", "data-key": "words" }, h("span", {}, words.scan.words), h("input", { type: "text", maxlength: 200, value: choice.words, oninput: (event) => { choice.words = event.target.value.trim(); } })));
}

/**
 * What the booking has still to go: counted kit as a button, since it carries no tag. It stands `open` until
 * something is scanned: then the newest row is what is looked at.
 */
export function toGoList(rows, { isCounted, ask, open }) {
  const some = ({ line, left }) => words.of(left, line.name);
  const counted = rows.filter(({ line }) => isCounted(line));
  const pieces = rows.filter(({ line }) => !isCounted(line));
  if (!rows.length) return h("p", { class: "muted", "data-key": "all-gone" }, words.scan.allGone);
  return h("details", { "data-key": open ? "to-go-first" : "to-go", open },
    h("summary", {}, words.scan.stillToGo(rows.reduce((total, { left }) => total + left, 0))),
    h("div", { class: "to-go" },
      pieces.length > 0 && h("p", { class: "muted small" }, words.dotted(pieces.map(some))),
      counted.length > 0 && h("p", { class: "presses" }, counted.map((row) =>
        h("button", { type: "button", class: "press", "data-key": row.line.id, onclick: () => ask(row.line) }, some(row))))));
}

/** Counted kit that fits what is being typed: one press in place of the whole name. */
export function suggestions(kits, take) {
  if (!kits.length) return null;
  return h("div", { class: "presses", role: "group", "aria-label": words.scan.counted, "data-key": "suggestions" },
    kits.map((kit) => h("button", { type: "button", class: "press", "data-key": kit.id, onclick: () => take(kit) }, kit.name)));
}
