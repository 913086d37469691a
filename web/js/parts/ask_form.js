// The upper part of Ask: how many, of what, for which hours. Draws, and says what was changed.

import { words } from "../all_words.js";
import { MOST, PACK, QUICK, asLastTime, lastOf, packsOf, partsOf, shownWindow, windowOf, withPart, withQuantity, withText } from "../ask_model.js";
import { h } from "../build.js";
import { moment, wholeNumber } from "../forms.js";
import { dateOf, dayText, spanText, timeOf } from "../when.js";

const MOST_PACKS = 4;

/** The one large number, with − and + and the quick counts; which packs; and what was asked last time. */
export function countField(ask, change, today) {
  const set = (quantity) => change(withQuantity(ask, quantity));
  const typed = (event) => {
    const read = wholeNumber(event.target.value, { most: MOST });
    event.target.setAttribute("aria-invalid", String(Boolean(read.wrong)));
    if (!read.wrong) set(read.value);
  };
  const quick = (n) => h("button", { type: "button", class: "press", "data-key": `quick-${n}`, "aria-pressed": String(n === ask.quantity), onclick: () => set(n) }, String(n));
  return [
    h("div", { class: "count", "data-key": "count" },
      h("button", { type: "button", class: "press", "aria-label": words.ask.fewer, disabled: ask.quantity < 1, onclick: () => set(ask.quantity - 1) }, "−"),
      h("input", { class: "count-number", type: "number", inputmode: "numeric", min: 0, max: MOST, "aria-label": words.ask.number, value: String(ask.quantity), onchange: typed }),
      h("button", { type: "button", class: "press", "aria-label": words.ask.more, onclick: () => set(ask.quantity + 1) }, "+")),
    h("div", { class: "quick", role: "group", "aria-label": words.ask.number, "data-key": "quick" }, QUICK.map(quick)),
    packField(ask, change),
    !ask.chosen && lastButton(ask, change, today),
  ];
}

/** What was asked last time, in one press: under the number until something is chosen, then with the rest. */
export function lastButton(ask, change, today) {
  if (!ask.last) return null;
  return h("button", { type: "button", class: "quiet last-time", "data-key": "last", onclick: () => change(asLastTime(ask)) },
    words.ask.lastTime(lastOf(ask), dayText(dateOf(ask.last.start), today)));
}

/** Which packs are asked for, by their range: one press takes others. */
function packField(ask, change) {
  const packs = packsOf(ask);
  const shown = packs.filter((pack, index) => index < MOST_PACKS || pack.chosen);
  if (!packs.length) return null;
  return h("div", { class: "packs", role: "group", "aria-label": words.ask.which, "data-key": "packs" }, shown.map((pack) =>
    h("button", { type: "button", class: "press", "data-key": pack.kit_type_id, "aria-pressed": String(pack.chosen), onclick: () => pack.chosen || change(withPart(ask, PACK, { kit_type_id: pack.kit_type_id })) },
      pack.name, " ", h("small", {}, words.ask.packFree(pack.free)))));
}

/** The hours and what goes with each radio, as lines that can be opened. */
export function factLines(ask, { change, today, whose }) {
  return h("div", { class: "facts", "data-key": "facts" },
    h("details", { "data-key": "hours" }, h("summary", {}, hoursText(ask, today, whose)), timesForm(ask, change)),
    ask.quantity > 0 && h("details", { "data-key": "with" }, h("summary", {}, withText(ask)),
      h("div", { class: "fields" }, partsOf(ask).map((part) => partField(part, ask, change)))));
}

function hoursText(ask, today, whose) {
  const { start, end } = shownWindow(ask);
  const span = spanText(start, end, today);
  if (ask.own) return words.ask.own(span);
  if (!windowOf(ask).shot) return words.ask.window(span);
  return whose ? words.ask.callToWrapOf(whose, span) : words.ask.callToWrap(span);
}

function timesForm(ask, change) {
  const { start, end } = shownWindow(ask);
  const read = (event) => {
    event.preventDefault();
    const form = event.target.closest("form");
    const from = moment(form.elements.fromDay.value, form.elements.fromTime.value);
    const to = moment(form.elements.toDay.value, form.elements.toTime.value);
    if (!from.wrong && !to.wrong) change({ ...ask, own: { start: from.value, end: to.value } });
  };
  const field = (label, type, name, value) => h("label", { class: "field" }, h("span", {}, label), h("input", { type, name, value, onchange: read }));
  return h("form", { class: "fields-across", onsubmit: read }, h("p", { class: "muted small" }, words.ask.stretch),
    field(words.ask.fromDay, "date", "fromDay", dateOf(start)), field(words.ask.fromTime, "time", "fromTime", timeOf(start)),
    field(words.ask.toDay, "date", "toDay", dateOf(end)), field(words.ask.toTime, "time", "toTime", timeOf(end)));
}

function partField(part, ask, change) {
  const choose = (event) => {
    change(withPart(ask, part.key, { kit_type_id: event.target.value }));
  };
  const count = (event) => {
    const read = wholeNumber(event.target.value, { most: 9999 });
    event.target.setAttribute("aria-invalid", String(Boolean(read.wrong)));
    if (!read.wrong) change(withPart(ask, part.key, { quantity: read.value }));
  };
  const choices = part.choices.some((choice) => choice.kit_type_id === part.kit_type_id) ? part.choices : [part, ...part.choices];
  const role = words.ask.role(part.role);
  const name = /-\d+$/.test(part.key) ? words.ask.another(role) : role;
  return h("div", { class: "part-line", "data-key": part.key },
    h("label", { class: "field" }, h("span", {}, name),
      h("select", { value: part.kit_type_id, onchange: choose },
        choices.map((choice) => h("option", { value: choice.kit_type_id }, choice.free === undefined ? choice.name : words.ask.choice(choice))))),
    h("input", { class: "few", inputmode: "numeric", "aria-label": words.ask.partNumber(name), value: String(part.quantity), onchange: count }));
}

/** Purpose, who pays, and whether it is only pencilled. */
export function moreFields(ask, change) {
  const field = (label, name) => h("label", { class: "field" }, h("span", {}, label),
    h("input", { type: "text", maxlength: 200, value: ask[name], onchange: (event) => change({ ...ask, [name]: event.target.value }) }));
  return h("details", { "data-key": "more" }, h("summary", {}, words.ask.moreAbout),
    h("div", { class: "fields" },
      field(words.ask.purpose, "purpose"), field(words.ask.whoPays, "whoPays"), field(words.ask.orderNumber, "orderNumber"),
      h("label", { class: "choice" }, h("input", { type: "checkbox", checked: ask.pencil, onchange: (event) => change({ ...ask, pencil: event.target.checked }) }), words.ask.pencil)));
}
