// What was scanned, newest first; what has still to be answered stands in its row.

import { words } from "../all_words.js";
import { h } from "../build.js";
import { wholeNumber } from "../forms.js";
import { frame } from "./frame.js";
import { stepper } from "./stepper.js";

/**
 * One row. `entry`: { key, is, frame, text, notes, links, presses, ask }; `answer(entry, action)` runs
 * what was pressed and takes the question away; `undo` is the press that takes the last scan back.
 */
export function logRow(entry, { answer, redraw, undo }) {
  const link = ({ href, text }) => h("small", {}, h("a", { href }, text));
  const presses = [
    ...(entry.presses ?? []).map(({ text, action }) => press(text, () => answer(entry, action))),
    undo && press(words.scan.undo, () => answer(entry, undo)),
  ].filter(Boolean);
  return h("li", { class: "row row-wide", "data-key": entry.key },
    h("span", { class: "row-what" }, entry.text, (entry.notes ?? []).map((text) => h("small", {}, text)), (entry.links ?? []).map(link)),
    h("span", { class: "row-side" }, frame(entry.is, entry.frame)),
    presses.length > 0 && h("span", { class: "row-under presses", "data-key": "presses" }, presses),
    entry.ask && numberForm(entry, { answer, redraw }));
}

function press(text, onclick) {
  return h("button", { type: "button", class: "press", "data-key": text, onclick }, text);
}

/** How many of counted kit, and back from which unit where several have some. */
function numberForm(entry, { answer, redraw }) {
  const { ask } = entry;
  const chosen = ask.holders?.find((one) => one.unit_id === ask.from);
  const move = (event) => {
    event.preventDefault();
    const number = wholeNumber(ask.number, { least: 1 });
    event.target.elements.number.setAttribute("aria-invalid", String(Boolean(number.wrong)));
    if (!number.wrong) answer(entry, () => ask.move(number.value, ask.from));
  };
  const choose = (event) => {
    ask.from = event.target.value;
    ask.number = String(ask.holders.find((one) => one.unit_id === ask.from).quantity);
    redraw();
  };
  const change = (text) => {
    ask.number = text;
    redraw();
  };
  return h("form", { class: "row-under fields-across", onsubmit: move, "data-key": "number" },
    ask.holders?.length > 1 && h("label", { class: "field" }, h("span", {}, words.scan.from), h("select", { value: ask.from, onchange: choose },
      ask.holders.map((one) => h("option", { value: one.unit_id }, words.scan.fromUnit(one))))),
    stepper({ value: ask.number, change, name: "number", least: 1, most: chosen?.quantity ?? 9999,
      says: { number: words.scan.howMany(entry.text), fewer: words.scan.fewer(entry.text), more: words.scan.more(entry.text) } }),
    h("button", { type: "submit", class: "press press-best" }, words.scan.modes[ask.mode]));
}
