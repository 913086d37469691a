// What waits on this phone: said plainly as not sent, to be sent again or thrown away.

import { words } from "../all_words.js";
import { hasSignal } from "../api.js";
import { h, telephone } from "../build.js";
import { dropKept, keptAsks } from "../kept.js";
import { momentText } from "../when.js";
import { frame } from "./frame.js";

/** The list. `send(kept)` is called on a press; `phone` is the coordinator's, or empty. */
export function keptList({ phone, today, busy, send }) {
  const kept = keptAsks();
  if (!kept.length) return null;
  return h("section", { class: "part part-first", "data-key": "kept", "aria-labelledby": "kept-title" },
    h("h2", { id: "kept-title" }, words.ask.keptTitle),
    hasSignal() && h("p", { "data-key": "signal" }, words.ask.hasSignal),
    h("ul", { "data-key": "list" }, kept.map((ask) => keptRow(ask, { today, busy, send }))),
    phone && h("p", { "data-key": "ring" }, h("a", { class: "press", href: telephone(phone) }, `${words.ask.ring} · ${phone}`)));
}

function keptRow(ask, { today, busy, send }) {
  const isAsk = ask.path === "/bookings";
  return h("li", { class: "row", "data-key": ask.key },
    h("span", { class: "row-when" }, ask.kept_at ? momentText(ask.kept_at, today) : ""),
    h("span", { class: "row-what" }, ask.text, h("small", {}, isAsk ? words.ask.notAsked : words.ask.notSent)),
    h("span", { class: "row-side" }, frame("pencilled", words.ask.keptFrame)),
    h("span", { class: "row-under presses" },
      h("button", { type: "button", class: "press", disabled: busy, onclick: () => send(ask) }, isAsk ? words.ask.askNow : words.ask.sendNow),
      h("button", { type: "button", class: "press", onclick: () => dropKept(ask.key) }, words.ask.throwAway)));
}
