// Changing a booking: other hours, other numbers, a radio fewer or more; or giving some of it back.

import { words } from "../all_words.js";
import { changeable, changedBody, packLines, readNumbers, wantedLines } from "../change_model.js";
import { h } from "../build.js";
import { isLive } from "../line_model.js";
import { bookedText } from "./booked.js";
import { stepper } from "./stepper.js";

/**
 * The form for hours and numbers. `draft` is what stands in it, `edit(part, name, text)` takes what is typed,
 * `radio(line, by)` makes it radios fewer or more; `send(body, lines)` is called with what differs, `refuse(text)` with
 * what is wrong; `answer` is why the last press was not done.
 */
export function changeForm(booking, { draft, edit, radio, send, refuse, busy, answer }) {
  const changed = changedBody(booking, draft);
  const submit = (event) => {
    event.preventDefault();
    if (changed.wrong) refuse(changed.wrong);
    else send(changed.body, wantedLines(booking, draft.numbers));
  };
  const time = (label, type, name) => draft.times[name] !== undefined && h("label", { class: "field" }, h("span", {}, label),
    h("input", { type, name, value: draft.times[name], required: true, oninput: (event) => edit("times", name, event.target.value) }));
  return h("details", { "data-key": "change" }, h("summary", {}, words.booking.change),
    h("form", { class: "fields", onsubmit: submit, novalidate: true },
      radioPresses(booking, { draft, radio, busy }),
      h("div", { class: "fields-across", "data-key": "times" },
        time(words.booking.from, "date", "fromDay"), time(words.booking.time, "time", "fromTime"), time(words.booking.until, "date", "toDay"), time(words.booking.time, "time", "toTime")),
      h("div", { "data-key": "numbers" }, changeable(booking).map((line) =>
        numberField(line, draft.numbers[line.id], (text) => edit("numbers", line.id, text)))),
      h("p", { "data-key": "send" }, h("button", { type: "submit", class: changed.body ? "press press-best" : "press", disabled: busy }, pressText(booking, draft, changed))),
      answer));
}

/** "Change to 5 radios", where the numbers are others. */
function pressText(booking, draft, { body }) {
  return body?.lines ? words.booking.changeTo(bookedText({ lines: wantedLines(booking, draft.numbers) })) : words.booking.changeThis;
}

/** One radio fewer, one more: of each kind of pack. */
function radioPresses(booking, { draft, radio, busy }) {
  const packs = packLines(booking);
  const press = (line, by, text) => h("button", { type: "button", class: "press", "data-key": `${line.id} ${by}`,
    disabled: busy || Number(draft.numbers[line.id]) + by < 0, onclick: () => radio(line, by) }, packs.length > 1 ? words.booking.radioOf(text, line.name) : text);
  if (!packs.length) return null;
  return h("div", { class: "presses", "data-key": "radios" }, packs.map((line) => [press(line, -1, words.booking.radioFewer), press(line, 1, words.booking.radioMore)]));
}

function numberField(line, value, change, most) {
  return h("div", { class: "part-line", "data-key": line.id }, h("span", {}, line.name),
    stepper({ value, change, most, says: { number: words.booking.numberOf(line.name), fewer: words.scan.fewer(line.name), more: words.scan.more(line.name) } }));
}

/** The form that releases some of each line. `typed`: what stands in it, by line; `edit(typed)`. */
export function releaseForm(booking, { typed, edit, send, refuse, busy, answer }) {
  const open = booking.lines.filter(isLive);
  const submit = (event) => {
    event.preventDefault();
    const numbers = readNumbers(open, Object.fromEntries(open.map((line) => [line.id, typed[line.id] ?? "0"])));
    if (numbers.wrong) return refuse(numbers.wrong);
    const lines = Object.entries(numbers.values).filter(([, quantity]) => quantity > 0).map(([id, quantity]) => ({ id, quantity }));
    if (lines.length) send({ lines });
    else refuse(words.booking.nothingReleased);
  };
  return h("details", { "data-key": "release" }, h("summary", {}, words.booking.releaseSome),
    h("form", { class: "fields", onsubmit: submit, novalidate: true },
      h("p", { class: "muted" }, words.booking.releaseHint),
      h("div", { "data-key": "numbers" }, open.map((line) => numberField(line, typed[line.id] ?? "0", (text) => edit({ ...typed, [line.id]: text }), line.quantity))),
      h("p", { "data-key": "send" }, h("button", { type: "submit", class: "press", disabled: busy }, words.booking.releaseThese)),
      answer));
}
