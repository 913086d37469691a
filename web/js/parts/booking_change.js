// Changing a booking: other hours, other numbers; or giving some of it back.

import { h } from "../build.js";
import { moment, wholeNumber } from "../forms.js";
import { dateOf, isForever, timeOf } from "../when.js";
import { words } from "../words.js";

/** The form for hours and numbers. `send(body)` is called with what was changed, `refuse(text)` with what is wrong. */
export function changeForm(booking, { send, refuse, busy }) {
  const submit = (event) => {
    event.preventDefault();
    const { body, wrong } = changedBody(booking, event.target.elements);
    if (wrong) refuse(wrong);
    else send(body);
  };
  const field = (label, type, name, value) => h("label", { class: "field" }, h("span", {}, label), h("input", { type, name, value, required: true }));
  const ends = isForever(booking.end) ? [] : [
    field(words.booking.until, "date", "toDay", dateOf(booking.end)), field(words.booking.time, "time", "toTime", timeOf(booking.end)),
  ];
  return h("details", { "data-key": "change" }, h("summary", {}, words.booking.change),
    h("form", { class: "fields", onsubmit: submit },
      h("div", { class: "fields-across" },
        field(words.booking.from, "date", "fromDay", dateOf(booking.start)), field(words.booking.time, "time", "fromTime", timeOf(booking.start)), ends),
      booking.lines.filter((line) => !line.item_id).map((line) => numberField(line, `line-${line.id}`, line.quantity - line.released)),
      h("p", {}, h("button", { type: "submit", class: "press", disabled: busy }, words.booking.changeThis))));
}

function numberField(line, name, value) {
  return h("label", { class: "part-line", "data-key": line.id }, h("span", {}, line.name),
    h("input", { class: "few", inputmode: "numeric", name, value: String(value) }));
}

/** The body of the PATCH: only what differs. Pure but for reading the fields. */
export function changedBody(booking, fields) {
  const body = {};
  const ends = [["start", "fromDay", "fromTime"], ["end", "toDay", "toTime"]];
  for (const [name, day, time] of ends) {
    if (!fields[day]) continue;
    const read = moment(fields[day].value, fields[time].value);
    if (read.wrong) return { wrong: read.wrong };
    if (read.value.day !== dateOf(booking[name]) || read.value.time !== timeOf(booking[name])) body[name] = read.value;
  }
  const numbers = lineNumbers(booking, fields, "line-");
  if (numbers.wrong) return numbers;
  const differs = booking.lines.some((line) => numbers.values.has(line.id) && numbers.values.get(line.id) !== line.quantity - line.released);
  if (differs) body.lines = booking.lines.map((line) => changedLine(line, numbers.values)).filter(Boolean);
  return Object.keys(body).length ? { body } : { wrong: words.booking.nothingChanged };
}

function changedLine(line, numbers) {
  if (line.item_id) return { id: line.id, item_id: line.item_id };
  const quantity = numbers.get(line.id);
  return quantity > 0 ? { id: line.id, kit_type_id: line.kit_type_id, quantity } : null;
}

function lineNumbers(booking, fields, prefix) {
  const values = new Map();
  for (const line of booking.lines) {
    const field = fields[`${prefix}${line.id}`];
    if (!field) continue;
    const read = wholeNumber(field.value);
    if (read.wrong) return { wrong: `${line.name}: ${read.wrong}` };
    values.set(line.id, read.value);
  }
  return { values };
}

/** The form that releases some of each line. */
export function releaseForm(booking, { send, refuse, busy }) {
  const open = booking.lines.filter((line) => line.quantity > line.released);
  const submit = (event) => {
    event.preventDefault();
    const numbers = lineNumbers(booking, event.target.elements, "release-");
    if (numbers.wrong) return refuse(numbers.wrong);
    const lines = [...numbers.values].filter(([, quantity]) => quantity > 0).map(([id, quantity]) => ({ id, quantity }));
    if (lines.length) send({ lines });
    else refuse(words.booking.nothingChanged);
  };
  return h("details", { "data-key": "release" }, h("summary", {}, words.booking.releaseSome),
    h("form", { class: "fields", onsubmit: submit },
      h("p", { class: "muted" }, words.booking.releaseHint),
      open.map((line) => numberField(line, `release-${line.id}`, 0)),
      h("p", {}, h("button", { type: "submit", class: "press", disabled: busy }, words.booking.releaseThese))));
}
