// What waits for an answer: one sentence, the reason under it, and what can be done as buttons.
// What a press does stands in deciding.js and decision_options.js: they are fetched with the first press.

import { h, telephone } from "../build.js";
import { concerns, may } from "../rights.js";
import { dateOf, lengthText, momentText, secondsOf, spanText } from "../when.js";
import { words } from "../words.js";
import { frame } from "./frame.js";
import { holderLines } from "./holders.js";

/** What a decision says: { is, frame, title, reasons }. `now` tells a promise from a broken one. Pure. */
export function decisionModel(item, today, now = item.start) {
  const say = words.decide;
  const span = spanText(item.start, item.end, today);
  const holders = holderLines(item.behind, today);
  if (item.kind === "overdue") {
    return { is: "late", frame: say.frames.overdue(lengthText(item.late_s ?? 0)), title: say.overdue(item),
      reasons: [say.due(momentText(item.start, today)), promisedText(item.promised_at, today, now), item.holder_person && say.has(item.holder_person)] };
  }
  if (item.kind === "at_risk") {
    return { is: "short", frame: say.frames.at_risk(item.short_by), title: say.atRisk(item, span),
      reasons: [say.atRiskReason(item), ...holders] };
  }
  const behind = item.behind.some((holder) => holder.state === "pencilled");
  return { is: "pencilled", frame: behind ? say.frames.behind : say.frames.clash, title: say.clash(item, span),
    reasons: [say.clashReason(item.quantity - item.short_by, item.quantity), ...holders] };
}

/** "Promised 13:00.", or that it was and is not kept; nothing where nothing was said. Pure. */
export function promisedText(promised, today, now) {
  if (!promised) return "";
  const kept = secondsOf(promised) > secondsOf(now);
  return words.decide[kept ? "promisedFor" : "promiseBroken"](momentText(promised, today));
}

/**
 * The decisions that a page shows, those of the reader's own units first: { shown, others }.
 * `others` is how many belong to other days than the `span` that was chosen. Pure.
 */
export function decisionsFor(session, items, span) {
  const at = (item) => dateOf(item.kind === "overdue" ? item.end : item.start);
  const there = span ? items.filter((item) => span.from <= at(item) && at(item) <= span.to) : items;
  const [own, rest] = [true, false].map((mine) => there.filter((item) => concerns(session, item) === mine));
  return { shown: [...own, ...rest], others: items.length - there.length };
}

/** Says whether a decision is still the one that was answered: how late it is changes by itself. */
const factsOf = ({ kind, quantity, short_by, start, promised_at, tags, behind }) =>
  JSON.stringify([kind, quantity, short_by, start, promised_at, tags, behind.map((one) => [one.booking_id, one.state, one.quantity])]);

/** What was pressed may be gone, with its card: whoever goes by keys stays on the card, or where it stood. */
function keepFocus(card) {
  if (document.activeElement !== document.body) return;
  (card?.isConnected ? card.querySelector(".press") : document.getElementById("part-decide"))?.focus();
}

/** The decisions of a page: draws them, and has what is pressed carried out. */
export function decisions({ session, say, redraw, beat }) {
  const answers = new Map(); // key → { facts, busy, sentences, changes, override, promising }
  const may_ = (verb, item) => may(session, verb, item.unit_id ?? undefined);

  function settle(item, answer) {
    answers.set(item.key, { ...answer, facts: factsOf(item) });
    if (answer.sentences) say(answer.sentences.join(" "));
    redraw();
  }

  /** Does `verb` of deciding.js: with the item, what the verb needs besides, and where to say how it went. */
  async function act(verb, item, today, ...more) {
    const card = document.activeElement?.closest(".decision");
    settle(item, { busy: verb });
    const deciding = await import("./deciding.js").catch(() => null);
    if (!deciding) return settle(item, { sentences: [words.problem.other(words.problem.unheard())] });
    settle(item, await deciding[verb](item, today, ...more));
    await beat();
    keepFocus(card);
  }

  function draw(item, { today, now }) {
    const model = decisionModel(item, today, now);
    const known = answers.get(item.key);
    const answer = known && (known.busy || known.facts === factsOf(item)) ? known : {};
    return h("li", { class: "decision", "data-key": item.key },
      h("h3", {}, frame(model.is, model.frame), " ", model.title),
      h("p", {}, words.sentences(model.reasons)),
      answer.sentences?.length ? h("p", { role: "alert", "data-key": "answer" }, words.sentences(answer.sentences)) : null,
      answer.promising ? promiseForm(item, today) : null,
      h("div", { class: "presses", "data-key": "presses" }, buttons(item, answer, today)));
  }

  function buttons(item, answer, today) {
    const press = (key, text, onclick, best) => h("button", { type: "button", class: best ? "press press-best" : "press",
      "data-key": key, disabled: Boolean(answer.busy), onclick }, text);
    const day = item.kind === "overdue" ? "" : `?from=${dateOf(item.start)}`;
    const who = h("a", { class: "press", "data-key": "who", href: `/kit/${item.kit_type_id}${day}` }, words.decide.who);
    const open = item.booking_id && h("a", { class: "press", "data-key": "open", href: `/booking/${item.booking_id}` }, words.decide.open);
    if (item.kind === "overdue") return [...overdueButtons(item, answer, press), who];
    if (!may_("confirm", item)) return [h("p", {}, words.decide.decides(item.unit)), who];
    const over = answer.override && may_("override", item) && press("over", words.decide.confirmOver, () => act("confirm", item, today, true));
    if (answer.changes?.length) {
      return [...answer.changes.map((one, index) => press(`change-${index}`, one.text, () => act("change", item, today, one), index === 0)), over, open, who];
    }
    if (item.kind === "at_risk") {
      return [!answer.changes && press("look", answer.busy ? words.decide.looking : words.decide.works, () => act("look", item, today), true), open, who];
    }
    return [
      !answer.override && press("confirm", words.decide.confirm(item.quantity), () => act("confirm", item, today), true),
      over, press("release", words.decide.release, () => act("release", item, today)), open, who,
    ];
  }

  function overdueButtons(item, answer, press) {
    const back = `/scan?mode=back${item.tags[0] ? `&code=${encodeURIComponent(item.tags[0])}` : ""}`;
    return [
      item.phone && h("a", { class: "press press-best", "data-key": "call", href: telephone(item.phone) },
        item.holder_person ? words.holder.call(item.holder_person) : words.holder.callNumber),
      may_("custody", item) && press("promise", words.decide.promise, () => settle(item, { promising: !answer.promising })),
      may_("custody", item) && h("a", { class: "press", "data-key": "back", href: back }, words.decide.back),
    ];
  }

  function promiseForm(item, today) {
    const submit = (event) => {
      event.preventDefault();
      const { day, time } = event.target.elements;
      act("promise", item, today, day.value, time.value);
    };
    const field = (name, type, value) => h("label", { class: "field" }, h("span", {}, words.decide[name === "day" ? "promiseDay" : "promiseTime"]),
      h("input", { type, name, required: true, "data-key": name, ...(value ? { value } : {}) }));
    return h("form", { class: "fields-across", "data-key": "promise-form", onsubmit: submit },
      field("day", "date", today), field("time", "time"),
      h("button", { type: "submit", class: "press press-best" }, words.decide.notePromise));
  }

  return { draw };
}
