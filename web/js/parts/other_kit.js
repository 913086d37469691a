// Other kit than radios: found by name, several lines, each with its number.

import { words } from "../all_words.js";
import { create, readAll } from "../api.js";
import { bodyOf, withOther } from "../ask_model.js";
import { h } from "../build.js";
import { wholeNumber } from "../forms.js";

const MOST_SHOWN = 8;
const CALM_MS = 250;

/** Kit types whose name or category has every word typed, names that begin with it first. Pure. */
export function findKit(kits, text) {
  const wanted = text.toLowerCase().split(/\s+/).filter(Boolean);
  if (!wanted.length) return [];
  const fits = (kit) => wanted.every((word) => `${kit.name} ${kit.category}`.toLowerCase().includes(word));
  const begins = (kit) => (kit.name.toLowerCase().startsWith(wanted[0]) ? 0 : 1);
  return kits.filter(fits).sort((a, b) => begins(a) - begins(b) || a.name.localeCompare(b.name, "en-GB"));
}

/** The search and its lines. `change(ask)` is called with the ask as it becomes. */
export function otherKit({ change, redraw, leave }) {
  let kits = null;
  let text = "";
  let problem = null;
  let free = new Map(); // kit type → how many are free throughout the window that was asked last
  let freeFor = "";
  let timer = null;

  /** How many of what was found are free in the ask's window: a judgement of one of each. */
  function count(ask, found) {
    const window = { unit_id: ask.unitId, start: bodyOf(ask).start, end: bodyOf(ask).end };
    const wanted = JSON.stringify([window, found.map((kit) => kit.id)]);
    if (wanted === freeFor) return;
    freeFor = wanted;
    clearTimeout(timer);
    if (found.length) timer = setTimeout(async () => {
      const lines = found.map((kit) => ({ kit_type_id: kit.id, quantity: 1 }));
      const judged = await create("/judgements", { ...window, lines }, null, { signal: leave });
      if (!judged.ok || wanted !== freeFor) return;
      free = new Map(judged.body.lines.map((line) => [line.kit_type_id, Math.max(0, line.free)]));
      redraw();
    }, CALM_MS);
  }

  async function load() {
    if (kits) return;
    const answer = await readAll("/kit-types?limit=200", "kit_types", { signal: leave });
    if (answer.ok) kits = answer.body.filter((kit) => kit.tracking !== "frequency");
    problem = answer.ok ? null : answer.problem;
    redraw();
  }

  function draw(ask) {
    const found = kits && text ? findKit(kits, text).filter((kit) => !ask.others.some((line) => line.kit_type_id === kit.id)).slice(0, MOST_SHOWN) : [];
    count(ask, found);
    return h("details", { "data-key": "other", open: ask.others.length > 0, ontoggle: (event) => event.target.open && load() },
      h("summary", {}, ask.others.length ? words.ask.otherCount(ask.others.length) : words.ask.other),
      h("ul", {}, ask.others.map((line) => lineRow(line, ask))),
      h("label", { class: "field" }, h("span", {}, words.ask.search),
        h("input", { type: "search", autocomplete: "off", value: text, oninput: (event) => { text = event.target.value; redraw(); } })),
      problem && h("p", { class: "wrong" }, words.problem.other(problem)),
      text && kits && !found.length && h("p", { class: "nothing" }, words.ask.noMatch),
      h("div", { class: "presses presses-down found", "data-key": "found" }, found.map((kit) => addButton(kit, ask))));
  }

  function addButton(kit, ask) {
    return h("button", { type: "button", class: "press", "data-key": kit.id, onclick: () => {
      text = "";
      change(withOther(ask, { kit_type_id: kit.id, name: kit.name }, 1));
    } }, h("span", {}, h("span", { class: "spoken" }, words.ask.add, " "), kit.name, " ", h("small", {}, kit.category)), " ", free.has(kit.id) && h("small", {}, words.ask.packFree(free.get(kit.id))));
  }

  function lineRow(line, ask) {
    const id = `other-${line.kit_type_id}`;
    const set = (quantity) => change(withOther(ask, line, quantity));
    return h("li", { class: "part-line", "data-key": line.kit_type_id },
      h("label", { for: id }, line.name),
      h("span", { class: "presses" },
        h("button", { type: "button", class: "press", "aria-label": `${words.ask.fewer}: ${line.name}`, onclick: () => set(line.quantity - 1) }, "−"),
        h("input", { id, class: "few", inputmode: "numeric", value: String(line.quantity), onchange: (event) => {
          const typed = wholeNumber(event.target.value, { most: 999 });
          event.target.setAttribute("aria-invalid", String(Boolean(typed.wrong)));
          if (!typed.wrong) set(typed.value);
        } }),
        h("button", { type: "button", class: "press", "aria-label": `${words.ask.more}: ${line.name}`, onclick: () => set(line.quantity + 1) }, "+")));
  }

  return { draw };
}
