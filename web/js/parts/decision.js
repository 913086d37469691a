// What waits for an answer: one sentence, the reason under it, and what can be done as buttons.

import { change, create, newKey, read } from "../api.js";
import { h } from "../build.js";
import { moment } from "../forms.js";
import { may } from "../rights.js";
import { lengthText, momentText, spanText } from "../when.js";
import { words } from "../words.js";
import { holderLines, optionText, reasonOf } from "./answers.js";
import { frame } from "./frame.js";

/** What a decision says: { is, frame, title, reasons }. Pure. */
export function decisionModel(item, today) {
  const say = words.decide;
  const span = spanText(item.start, item.end, today);
  const holders = holderLines(item.behind, today);
  if (item.kind === "overdue") {
    return { is: "late", frame: say.frames.overdue(lengthText(item.late_s ?? 0)), title: say.overdue(item),
      reasons: [say.overdueReason(momentText(item.start, today), item.holder_person)] };
  }
  if (item.kind === "at_risk") {
    return { is: "short", frame: say.frames.at_risk(item.short_by), title: say.atRisk(item, span),
      reasons: [say.atRiskReason(item), ...holders] };
  }
  const behind = item.behind.some((holder) => holder.state === "pencilled");
  return { is: "pencilled", frame: behind ? say.frames.behind : say.frames.clash, title: say.clash(item, span),
    reasons: [say.clashReason(item.short_by), ...holders] };
}

/** The decisions of a page: draws them and carries out what is pressed. */
export function decisions({ session, say, redraw, beat }) {
  const answers = new Map(); // key → { busy, sentences, options, asked, override, promising, done }
  const may_ = (verb, item) => may(session, verb, item.unit_id ?? undefined);

  function settle(item, answer) {
    answers.set(item.key, answer);
    if (answer.sentences) say(answer.sentences.join(" "));
    redraw();
  }

  function failed(item, problem, today) {
    const reasons = (problem.short ?? []).flatMap((shortage) => reasonOf(shortage, today));
    settle(item, {
      sentences: reasons.length ? reasons : [words.problem.other(problem)],
      options: problem.options ?? [],
      asked: { lines: [], today },
      override: problem.type === "/problems/behind-pencil",
    });
  }

  async function confirm(item, today, override) {
    settle(item, { busy: true });
    const booking = await read(`/bookings/${item.booking_id}`);
    const answer = booking.ok
      ? await change("POST", `/bookings/${item.booking_id}/confirm`, override ? { override_pencils: true } : {}, booking.etag)
      : booking;
    finish(item, answer, today, words.booking.confirmed);
  }

  async function release(item, today) {
    settle(item, { busy: true });
    const booking = await read(`/bookings/${item.booking_id}`);
    const answer = booking.ok ? await change("POST", `/bookings/${item.booking_id}/release`, {}, booking.etag) : booking;
    finish(item, answer, today, words.booking.released);
  }

  function finish(item, answer, today, sentence) {
    if (!answer.ok) return failed(item, answer.problem, today);
    settle(item, { sentences: [sentence], done: true });
    beat();
  }

  async function look(item, today) {
    settle(item, { busy: true });
    const lines = [{ kit_type_id: item.kit_type_id, quantity: item.short_by, name: item.kit_type }];
    const body = { unit_id: item.unit_id, start: item.start, end: item.end,
      lines: lines.map(({ kit_type_id, quantity }) => ({ kit_type_id, quantity })) };
    const answer = await create("/judgements", body);
    if (!answer.ok) return failed(item, answer.problem, today);
    const asked = { lines, today };
    if (answer.body.answer === "yes") {
      return settle(item, { sentences: [words.decide.covered], options: [], cover: body, asked });
    }
    const { options } = answer.body;
    settle(item, { sentences: options.length ? [] : [words.decide.nothingWorks], options, asked });
  }

  async function take(item, body, today) {
    const key = newKey();
    settle(item, { busy: true });
    finish(item, await create("/bookings", body, key), today, words.booking.confirmed);
  }

  async function promise(item, form, today) {
    const when = moment(form.elements.day.value, form.elements.time.value);
    if (when.wrong) return settle(item, { promising: true, sentences: [when.wrong] });
    settle(item, { busy: true });
    const body = { key: newKey(), kind: "promise", happened_at: new Date().toISOString().replace(/\.\d+/, ""),
      booking_id: item.booking_id ?? undefined, unit_id: item.unit_id ?? undefined,
      pieces: piecesOf(item), promised_at: when.value };
    finish(item, await create("/custody-events", body, body.key), today, words.decide.promised);
  }

  function draw(item, today) {
    const model = decisionModel(item, today);
    const answer = answers.get(item.key) ?? {};
    return h("li", { class: "decision", "data-key": item.key },
      h("h3", {}, frame(model.is, model.frame), " ", model.title),
      h("p", {}, words.sentences(model.reasons)),
      answer.sentences?.length ? h("p", { role: "alert", "data-key": "answer" }, words.sentences(answer.sentences)) : null,
      answer.promising ? promiseForm(item, today) : null,
      answer.done ? null : h("div", { class: "presses", "data-key": "presses" }, buttons(item, answer, today)));
  }

  function buttons(item, answer, today) {
    const press = (key, text, onclick, best) => h("button", { type: "button", class: best ? "press press-best" : "press",
      "data-key": key, disabled: Boolean(answer.busy), onclick }, text);
    const who = h("a", { class: "press", "data-key": "who", href: `/kit/${item.kit_type_id}?from=${item.start.slice(0, 10)}` }, words.decide.who);
    if (answer.options?.length || answer.cover) return [...optionButtons(item, answer, today, press), who];
    if (item.kind === "overdue") return overdueButtons(item, today, press);
    if (item.kind === "at_risk") {
      return [may_("book", item) && press("look", answer.busy ? words.decide.looking : words.decide.works, () => look(item, today), true), who];
    }
    const over = answer.override && may_("override", item);
    return [
      may_("confirm", item) && !answer.override && press("confirm", words.decide.confirm(item.quantity), () => confirm(item, today), true),
      over && press("over", words.decide.confirmOver, () => confirm(item, today, true)),
      may_("release", item) && press("release", words.decide.release, () => release(item, today)),
      item.booking_id && h("a", { class: "press", "data-key": "open", href: `/booking/${item.booking_id}` }, words.decide.open),
      who,
    ];
  }

  function optionButtons(item, answer, today, press) {
    if (answer.cover) return [press("cover", words.decide.cover(item.short_by), () => take(item, answer.cover, today), true)];
    const taken = answer.options.map((option, index) => {
      const text = optionText(option, answer.asked);
      return press(`option-${index}`, words.dotted([text.press, text.note]), () => take(item, option.body, today), index === 0);
    });
    const over = answer.override && may_("override", item);
    return over ? [...taken, press("over", words.decide.confirmOver, () => confirm(item, today, true))] : taken;
  }

  function overdueButtons(item, today, press) {
    const back = `/scan?mode=back${item.tags[0] ? `&code=${encodeURIComponent(item.tags[0])}` : ""}`;
    return [
      item.phone && h("a", { class: "press press-best", "data-key": "call", href: `tel:${item.phone.replace(/\s/g, "")}` },
        item.holder_person ? words.holder.call(item.holder_person) : words.holder.callNumber),
      may_("custody", item) && press("promise", words.decide.promise, () => settle(item, { promising: true })),
      may_("custody", item) && h("a", { class: "press", "data-key": "back", href: back }, words.decide.back),
      item.kit_type_id && h("a", { class: "press", "data-key": "who", href: `/kit/${item.kit_type_id}` }, words.decide.who),
    ];
  }

  function promiseForm(item, today) {
    const submit = (event) => {
      event.preventDefault();
      promise(item, event.target, today);
    };
    const field = (name, type, value) => h("label", { class: "field" }, h("span", {}, words.decide[name === "day" ? "promiseDay" : "promiseTime"]),
      h("input", { type, name, required: true, "data-key": name, ...(value ? { value } : {}) }));
    return h("form", { class: "fields-across", "data-key": "promise-form", onsubmit: submit },
      field("day", "date", today), field("time", "time"),
      h("button", { type: "submit", class: "press press-best" }, words.decide.notePromise));
  }

  return { draw };
}

function piecesOf(item) {
  return item.tags.length ? item.tags.map((tag) => ({ tag })) : [{ kit_type_id: item.kit_type_id, quantity: item.quantity }];
}
