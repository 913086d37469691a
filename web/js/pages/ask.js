// Ask: one large number, what goes with it, one button that says what will happen; a refusal takes
// the button's place. A judgement runs as things change, and what is pressed is judged again.

import { NO_SIGNAL, create, newKey, read } from "../api.js";
import { askedOf, bodyOf, inOrder, linesOf, newAsk, proposalPath, shownWindow, windowOf, withOther, withProposal, withQuantity } from "../ask_model.js";
import { h, patch } from "../build.js";
import { keep } from "../kept.js";
import { frameOf, optionText, reasonOf, whatOf } from "../parts/answers.js";
import { countField, factLines, moreFields } from "../parts/ask_form.js";
import { cautionLines } from "../parts/cautions.js";
import { frame } from "../parts/frame.js";
import { keptList } from "../parts/kept_list.js";
import { otherKit } from "../parts/other_kit.js";
import { boardNow, poolNow } from "../pulse.js";
import { unitsToAskFor } from "../rights.js";
import { spanOf } from "../span.js";
import { dateOf, laterBy } from "../when.js";
import { words } from "../words.js";

const CALM_MS = 250;

export function open({ root, url, session, leave, go, say, named, beat, redrawStrip }) {
  const units = unitsToAskFor(session);
  const others = otherKit({ change, redraw: draw, leave });
  const today = () => boardNow()?.today ?? dateOf(session.now);
  let ask = startingAsk(url);
  let answer = null; // a judgement, or the members of a refusal
  let problem = null;
  let outcome = null; // "kept", "unsure" or "lost": nothing was answered
  let sending = false;
  let timer = null;
  let judging = null;

  named(words.ask.title);
  draw();
  judgeSoon(0);
  addKit(url.searchParams.get("kit"));
  addEventListener("kept", draw, { signal: leave });
  leave.addEventListener("abort", () => clearTimeout(timer));

  function startingAsk(from) {
    const wanted = units.find((unit) => unit.id === from.searchParams.get("unit")) ?? units[0];
    return wanted ? newAsk(wanted.id, spanOf(from)) : null;
  }

  /** A kit type's own page leads here: that kit is asked for, and no radios. */
  async function addKit(id) {
    if (!id || !ask) return;
    const kit = await read(`/kit-types/${encodeURIComponent(id)}`, { signal: leave });
    if (kit.ok) change(withOther(withQuantity(ask, 0), { kit_type_id: kit.body.id, name: kit.body.name }, 1));
  }

  function change(next) {
    ask = next;
    answer = problem = outcome = null;
    draw();
    judgeSoon(CALM_MS);
  }

  function judgeSoon(wait) {
    clearTimeout(timer);
    judging?.abort();
    if (ask) timer = setTimeout(judge, wait);
  }

  /** Reads the proposal, then asks what the answer would be. A later change gives this one up. */
  async function judge() {
    judging = new AbortController();
    const signal = AbortSignal.any([judging.signal, leave]);
    const first = !ask.window;
    const proposal = await read(proposalPath(ask), { signal });
    if (signal.aborted) return;
    if (!proposal.ok) return settle({ problem: proposal.problem });
    ask = withProposal(ask, proposal.body);
    if (first) redrawStrip();
    if (first && ask.span) return judge();
    if (!linesOf(ask).length) return settle({});
    draw();
    const judged = await create("/judgements", bodyOf(ask), null, { signal });
    if (signal.aborted || sending) return;
    settle(judged.ok ? { answer: judged.body } : { problem: judged.problem });
  }

  function settle(found) {
    answer = found.answer ?? null;
    problem = found.problem?.type === NO_SIGNAL ? null : found.problem ?? null;
    if (answer?.short.length) say(refusalLines().join(" "));
    draw();
  }

  async function send(body, text) {
    const key = newKey();
    sending = true;
    judging?.abort();
    draw();
    const result = await create("/bookings", body, key);
    sending = false;
    if (result.ok) return booked(result);
    if (result.problem.type === NO_SIGNAL) return keepIt({ key, path: "/bookings", body, text });
    if (result.problem.options || result.problem.short) {
      return settle({ answer: { answer: "short", short: result.problem.short ?? [], options: result.problem.options ?? [], cautions: [] } });
    }
    settle({ problem: result.problem });
    say(words.problem.other(result.problem));
  }

  function booked(result) {
    beat();
    go(`/booking/${result.body.booking.id}?yes`, { state: { cautions: result.body.cautions } });
  }

  function keepIt(kept) {
    const now = poolNow() ?? laterBy(session.now, 0);
    outcome = keep({ ...kept, kept_at: now }) ? (navigator.onLine ? "unsure" : "kept") : "lost";
    say(outcomeText());
    draw();
  }

  function keptSent(kept, result) {
    sending = false;
    outcome = null;
    if (result.ok && result.body.booking) return booked(result);
    if (result.ok) return draw();
    if (result.problem.type === NO_SIGNAL) outcome = "kept";
    else settle({ problem: result.problem, answer: result.problem.options && { answer: "short", cautions: [], short: [], ...result.problem } });
    draw();
  }

  const outcomeText = () => ({ kept: words.ask.noSignal, unsure: words.ask.noAnswer, lost: words.ask.notKept })[outcome];
  const refusals = () => answer.short.map((shortage) => reasonOf(shortage, today()));
  const refusalLines = () => refusals().flat();
  const whatText = () => whatOf(linesOf(ask), askedOf(ask, today()));

  function draw() {
    const title = h("h1", { class: "spoken" }, words.ask.title);
    const kept = keptList({ session, today: today(), busy: sending, start: () => { sending = true; draw(); }, sent: keptSent });
    if (!ask) return patch(root, title, kept, h("p", {}, words.ask.noUnit));
    if (!ask.window) return patch(root, title, kept, problem ? h("p", { class: "wrong", role: "alert" }, words.problem.other(problem)) : h("p", { class: "muted" }, words.loading));
    const unit = units.find((one) => one.id === ask.unitId);
    const own = session.account.unit_ids.includes(unit.id);
    patch(root, h("div", { class: "ask" }, title, kept,
      h("div", { class: "ask-what", "data-key": "what" },
        units.length > 1 && unitField(),
        h("p", { "data-key": "held" }, `${words.ask.extra} · ${own ? words.ask.held(ask.held) : words.ask.heldBy(unit.name, ask.held)}`),
        countField(ask, change),
        factLines(ask, { change, today: today(), whose: own ? null : unit.name })),
      h("div", { class: "ask-judged", "data-key": "judged" },
        answerPart(),
        h("div", { class: "thumb", "data-key": "thumb" }, bestButton())),
      h("div", { class: "ask-more", "data-key": "more" }, others.draw(ask), moreFields(ask, change))));
  }

  function unitField() {
    const choose = (event) => {
      const next = new URL(location.href);
      next.searchParams.set("unit", event.target.value);
      go(next, { replace: true });
    };
    return h("label", { class: "field", "data-key": "unit" }, h("span", {}, words.ask.forUnit),
      h("select", { value: ask.unitId, onchange: choose }, units.map((unit) => h("option", { value: unit.id }, `${unit.name} · ${unit.production}`))));
  }

  /** The reason, and all options but the best, above the thumb. */
  function answerPart() {
    const body = [];
    if (outcome) body.push(h("p", {}, frame("pencilled", words.ask.keptFrame), " ", outcomeText()), ringButton());
    if (problem) body.push(h("p", { class: "wrong" }, words.problem.other(problem)));
    if (answer && !answer.short.length && answer.answer === "yes") body.push(h("p", {}, frame("free", words.ask.freeFrame), " ", words.ask.free(whatText())));
    if (answer?.short.length) {
      const { is, text } = frameOf(answer.short);
      body.push(h("p", {}, frame(is, text)), refusals().map((lines) => h("p", { class: "muted" }, words.sentences(lines))));
      const [, ...rest] = answer.options;
      if (!answer.options.length) body.push(h("p", {}, words.answer.nothingWorks));
      body.push(h("div", { class: "presses presses-down", "data-key": "options" }, rest.map((option, index) => optionButton(option, `option-${index}`))));
    }
    body.push(cautionLines(answer?.cautions ?? []));
    return h("div", { class: "answer", "aria-live": "polite", "data-key": "answer" }, body);
  }

  function optionButton(option, key, best = false) {
    const { press, note } = optionText(option, askedOf(ask, today()));
    return h("button", { type: "button", class: best ? "press press-best" : "press press-wide", "data-key": key, disabled: sending, onclick: () => send(option.body, press) },
      h("span", {}, press, note && h("small", { class: "note" }, note)));
  }

  function bestButton() {
    if (answer?.options?.length) return optionButton(answer.options[0], "best", true);
    if (answer?.short.length) return ringButton(true);
    const what = whatText();
    const ready = linesOf(ask).length > 0 && inOrder(windowOf(ask).start, windowOf(ask).end);
    const text = sending ? words.ask.sending : !linesOf(ask).length ? words.ask.nothing : !ready ? words.ask.endsFirst
      : ask.pencil ? words.ask.pencilIt(what) : words.ask.book(what);
    return h("button", { type: "button", class: "press press-best", "data-key": "book", disabled: sending || !ready, onclick: () => send(withWindow(bodyOf(ask)), text) }, text);
  }

  /** What is sent says its hours, so that an ask kept over midnight still means the same day. */
  function withWindow(body) {
    return body.start ? body : { ...body, start: ask.window.start, end: ask.window.end };
  }

  function ringButton(best = false) {
    const { phone } = session.pool;
    return phone && h("a", { class: best ? "press press-best" : "press", "data-key": "ring", href: `tel:${phone.replace(/\s/g, "")}` }, `${words.ask.ring} · ${phone}`);
  }

  return {
    span() {
      const window = ask?.window && shownWindow(ask);
      if (!window) return null;
      const days = ask.span ?? { from: dateOf(window.start), to: dateOf(window.start) };
      return days;
    },
    refresh() {
      if (!sending) judgeSoon(CALM_MS);
    },
    turn(next) {
      const wanted = next.searchParams.get("unit");
      if (wanted && wanted !== ask.unitId) {
        ask = startingAsk(next);
        return change(ask);
      }
      change({ ...ask, span: spanOf(next), own: null });
    },
  };
}
