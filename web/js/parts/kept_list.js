// What waits on this phone: said plainly as not sent, to be sent again or thrown away.

import { NO_SIGNAL, create } from "../api.js";
import { h } from "../build.js";
import { dropKept, keptAsks } from "../kept.js";
import { momentText } from "../when.js";
import { words } from "../words.js";
import { frame } from "./frame.js";

/** The list. `sent(kept, answer)` is called with what the service said. */
export function keptList({ session, today, busy, start, sent }) {
  const kept = keptAsks();
  if (!kept.length) return null;
  const { phone } = session.pool;
  return h("section", { class: "part part-first", "data-key": "kept", "aria-labelledby": "kept-title" },
    h("h2", { id: "kept-title" }, words.ask.keptTitle),
    h("ul", {}, kept.map((ask) => keptRow(ask, { today, busy, start, sent }))),
    phone && h("p", {}, h("a", { class: "press", href: `tel:${phone.replace(/\s/g, "")}` }, `${words.ask.ring} · ${phone}`)));
}

function keptRow(ask, { today, busy, start, sent }) {
  const send = async () => {
    start(ask);
    const answer = await create(ask.path, ask.body, ask.key);
    if (answer.problem?.type !== NO_SIGNAL) dropKept(ask.key);
    sent(ask, answer);
  };
  return h("li", { class: "row", "data-key": ask.key },
    h("span", { class: "row-when" }, ask.kept_at ? momentText(ask.kept_at, today) : ""),
    h("span", { class: "row-what" }, ask.text, h("small", {}, words.ask.notAsked)),
    h("span", { class: "row-side" }, frame("pencilled", words.ask.keptFrame)),
    h("span", { class: "row-under presses" },
      h("button", { type: "button", class: "press", disabled: busy, onclick: send }, words.ask.askNow),
      h("button", { type: "button", class: "press", onclick: () => dropKept(ask.key) }, words.ask.throwAway)));
}
