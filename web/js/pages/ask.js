// Ask: one large number, what goes with it, one button that says what will happen; a refusal takes
// the button's place. A judgement runs as things change, and what is pressed is judged again.

import { words } from "../all_words.js";
import { NO_SIGNAL, create, hasSignal, newKey, onSignal, read } from "../api.js";
import { askedOf, bodyOf, frozen, inOrder, isFresh, linesOf, newAsk, packsOf, proposalPath, shownWindow, windowOf, withOther, withProposal, withQuantity } from "../ask_model.js";
import { h, patch, telephone } from "../build.js";
import { dropKept, keep, keptAsks } from "../kept.js";
import { optionText, restOf, whatOf } from "../parts/answers.js";
import { countField, factLines, lastButton, moreFields } from "../parts/ask_form.js";
import { cautionLines } from "../parts/cautions.js";
import { frame } from "../parts/frame.js";
import { keptList } from "../parts/kept_list.js";
import { otherKit } from "../parts/other_kit.js";
import { bothOf, ordered, refusalPart, refusalText, shortLine } from "../parts/ask_refusal.js";
import { isAnswered, sendAsk } from "../parts/sending.js";
import { nowFor, todayFor } from "../pulse.js";
import { homeUnit, unitsToAskFor } from "../rights.js";
import { spanOf } from "../span.js";
import { dateOf, spanText } from "../when.js";

const CALM_MS = 250;

export function open({ root, url, session, leave, go, say, named, beat, redrawStrip }) {
  const units = unitsToAskFor(session);
  const others = otherKit({ change, redraw: draw, leave });
  const today = () => todayFor(session);
  let ask = startingAsk(url);
  let answer = null; // a judgement, or the members of a refusal
  let problem = null;
  let outcome = null; // { is: "kept", "unsure" or "lost", kept }: nothing was answered
  let unheard = false; // what is free could not be asked
  let heard = hasSignal();
  let sending = false;
  let timer = null;
  let judging = null;

  named(words.ask.title);
  draw();
  judgeSoon(0);
  addKit(url.searchParams.get("kit"));
  addEventListener("kept", () => sending || draw(), { signal: leave });
  onSignal(({ signal }) => signal !== heard && signalChanged(signal), leave);
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
    unheard = !hasSignal();
    draw();
    judgeSoon(CALM_MS);
  }

  /** Signal went or came back: what waits is offered again, and what is shown is asked afresh. */
  function signalChanged(now) {
    heard = now;
    if (sending) return;
    if (now && keptAsks().length) say(words.ask.signalBack);
    if (now && (unheard || !ask?.window)) judgeSoon(0);
    draw();
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
    if (!isFresh(ask)) return judge();
    if (!linesOf(ask).length) return settle({});
    draw();
    const judged = await create("/judgements", bodyOf(ask), null, { signal });
    if (signal.aborted || sending) return;
    settle(judged.ok ? { answer: judged.body } : { problem: judged.problem });
  }

  function settle(found) {
    unheard = found.problem?.type === NO_SIGNAL;
    if (unheard && answer) return draw(); // it may still hold: it is shown with its age
    answer = found.answer ? withOptions(found.answer) : null;
    problem = unheard ? null : found.problem ?? null;
    if (answer?.short.length) say(refusalText(answer, told()));
    draw();
  }

  /** The options by what they cost, and where one is free in part, that part with a pencil on the rest. */
  function withOptions(judged) {
    const both = judged.options.some((option) => option.kind === "pencil_behind") ? bothOf(judged.options) : null;
    return { ...judged, options: ordered(both ? [...judged.options, both] : judged.options, judged.start ?? shownWindow(ask).start) };
  }

  /** An ask as it may be kept: what the button said, and what it stands for. Lines are sent only as they were proposed. */
  function asking(text, body = null, then = null) {
    const intent = frozen(ask);
    const pack = !body && ask.quantity > 0 ? packsOf(ask).find((one) => one.chosen)?.name : "";
    const { start, end } = body ?? shownWindow(ask);
    const span = spanText(start, end, today());
    return {
      key: newKey(), path: "/bookings", intent, then: then ? { key: newKey(), path: "/bookings", ...then } : undefined,
      text: words.ask.keptWhat(text, pack, text.includes(span) ? "" : span),
      body: body ?? (isFresh(ask) ? withWindow(bodyOf(ask)) : undefined),
    };
  }

  async function send(wanted) {
    sending = true;
    outcome = null;
    judging?.abort();
    clearTimeout(timer);
    draw();
    const { asked, result, second } = await sendAsk(wanted);
    sending = false;
    if (isAnswered(result)) dropKept(wanted.key);
    if (result.ok) return granted(asked, result, second);
    if (result.problem.type === NO_SIGNAL) return keepIt(asked);
    if (asked.intent && units.some((unit) => unit.id === asked.intent.unitId)) ask = asked.intent; // what was refused is what is shown
    if (result.problem.options || result.problem.short) return settle({ answer: { answer: "short", short: [], options: [], cautions: [], ...result.problem } });
    settle({ problem: result.problem });
    say(words.problem.other(result.problem));
  }

  function granted(asked, result, second) {
    if (!result.body.booking) { // a scan that waited
      judgeSoon(0);
      return draw();
    }
    if (second?.problem?.type === NO_SIGNAL) keep({ ...asked.then, kept_at: nowFor(session) });
    beat();
    go(`/booking/${result.body.booking.id}?yes`, { state: { cautions: result.body.cautions, also: second && { id: second.body?.booking?.id ?? null, text: asked.then.text } } });
  }

  

  function keepIt(asked) {
    const kept = { kept_at: nowFor(session), ...asked };
    const isKept = keep(kept);
    if (kept.path !== "/bookings") return draw(); // a scan: it stands in the list
    outcome = { kept, is: !isKept ? "lost" : asked.body && navigator.onLine ? "unsure" : "kept" };
    unheard = true;
    heard = hasSignal();
    say(outcomeText());
    draw();
  }

  const outcomeText = () => ({ kept: words.ask.noSignal, unsure: words.ask.noAnswer, lost: () => words.ask.notKept })[outcome.is](outcome.kept.text);
  const told = () => ({ today: today(), own: session.account.unit_ids });
  const whose = () => (session.account.unit_ids.includes(ask.unitId) ? null : units.find((unit) => unit.id === ask.unitId).name);
  const inWords = () => ({ ...askedOf(ask, today()), whose: whose() });
  const whatText = () => whatOf(linesOf(ask), inWords());

  function draw() {
    const title = h("h1", { class: "spoken" }, words.ask.title);
    const kept = keptList({ phone: session.pool.phone, today: today(), busy: sending, send });
    if (!ask) return patch(root, h("h1", {}, words.ask.title), kept, h("p", { "data-key": "who" }, whoAsks()), problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, words.problem.other(problem)), !kept && h("p", { "data-key": "ring" }, ringButton()));
    if (!ask.window) return patch(root, title, kept, ...unreadPart());
    const other = whose();
    patch(root, h("div", { class: "ask" }, title, kept,
      h("div", { class: "ask-what", "data-key": "what" },
        units.length > 1 && unitField(),
        h("p", { "data-key": "held" }, `${words.ask.extra} · ${other ? words.ask.heldBy(other, ask.held) : words.ask.held(ask.held)}`),
        countField(ask, change, today()),
        factLines(ask, { change, today: today(), whose: other })),
      h("div", { class: "answer", "data-key": "judged" },
        h("div", { class: "thumb", "data-key": "thumb" }, h("div", { "aria-live": "polite", "data-key": "told" }, toldPart()), bestButton()),
        optionsPart()),
      h("div", { class: "ask-more", "data-key": "more" }, ask.chosen && lastButton(ask, change, today()), others.draw(ask), moreFields(ask, change))));
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

  /** Who may ask instead, for somebody who may not. */
  function whoAsks() {
    const { role, unit_ids: own } = session.account;
    return ["mixer", "coordinator"].includes(role) ? words.ask.noUnit : words.ask.notYours(role, own.length ? homeUnit(session)?.name : null);
  }

  /** Before the first proposal. */
  function unreadPart() {
    if (problem) return [h("p", { class: "wrong", role: "alert", "data-key": "problem" }, words.problem.other(problem))];
    if (!unheard) return [h("p", { class: "muted", "data-key": "loading" }, words.loading)];
    return [h("p", { role: "alert", "data-key": "unheard" }, `${words.problem.unheard().title}.`), h("p", { "data-key": "ring" }, ringButton())];
  }

  /** What stands at the thumb, above its button: the answer in a line or two. */
  function toldPart() {
    if (outcome) return [h("p", { "data-key": "outcome" }, frame("pencilled", words.ask.keptFrame), " ", outcomeText()), outcome.is === "lost" && ringButton()];
    const short = answer?.short.length > 0;
    return [
      unheard && h("p", { class: "muted", "data-key": "unheard" }, words.ask.unheard(words.problem.unheard().title)),
      problem && h("p", { class: "wrong", "data-key": "problem" }, words.problem.other(problem)),
      short && shortLine(answer, today()),
      !short && answer?.answer === "yes" && h("p", { "data-key": "free" }, frame("free", words.ask.freeFrame), " ", words.ask.free(whatText())),
    ];
  }

  /** Who holds it and all options but the best, out of the thumb's way. */
  function optionsPart() {
    if (!answer?.short.length && !answer?.cautions.length) return null;
    const [, ...rest] = answer.options;
    return h("div", { class: "answer-more", "data-key": "options-part" },
      refusalPart(answer, told()),
      answer.short.length > 0 && !answer.options.length && h("p", { "data-key": "none" }, words.answer.nothingWorks),
      rest.length > 0 && h("div", { class: "presses presses-down", "data-key": "options" }, rest.map((option, index) => optionButton(option, `option-${index}`))),
      cautionLines(answer.cautions));
  }

  function optionButton(option, key, best = false) {
    const { press, note } = optionText(option, inWords());
    const then = option.then && { body: option.then, text: restOf(option, inWords()) };
    return h("button", { type: "button", class: best ? "press press-best" : "press press-wide", "data-key": key, disabled: sending, onclick: () => send(asking(press, option.body, then)) },
      h("span", {}, press, " ", note && h("small", { class: "note" }, note)));
  }

  function bestButton() {
    if (outcome && outcome.is !== "lost") return keptButton();
    if (answer?.options?.length) return optionButton(answer.options[0], "best", true);
    if (answer?.short.length) return ringButton(true);
    const what = whatText();
    const ready = linesOf(ask).length > 0 && inOrder(windowOf(ask).start, windowOf(ask).end);
    const text = sending ? words.ask.sending : !linesOf(ask).length ? words.ask.nothing : !ready ? words.ask.endsFirst
      : ask.pencil ? words.ask.pencilIt(what) : words.ask.book(what);
    return h("button", { type: "button", class: "press press-best", "data-key": "book", disabled: sending || !ready, onclick: () => send(asking(text)) }, text);
  }

  /** What was pressed is kept: it is sent again, not asked for a second time. */
  function keptButton() {
    const { kept } = outcome;
    if (!keptAsks().some((one) => one.key === kept.key)) outcome = null;
    if (!outcome) return bestButton();
    const text = kept.text.replace(/\.$/, "");
    return h("button", { type: "button", class: hasSignal() ? "press press-best" : "press", "data-key": "kept", disabled: sending || !hasSignal(), onclick: () => send(kept) },
      sending ? words.ask.sending : hasSignal() ? words.ask.keptAgain(text) : words.ask.keptPress(text));
  }

  /** What is sent says its hours, so that an ask kept over midnight still means the same day. */
  function withWindow(body) {
    return body.start ? body : { ...body, start: ask.window.start, end: ask.window.end };
  }

  function ringButton(best = false) {
    const { phone } = session.pool;
    return phone && h("a", { class: best ? "press press-best" : "press", "data-key": "ring", href: telephone(phone) }, `${words.ask.ring} · ${phone}`);
  }

  return {
    span() {
      const window = ask?.window && shownWindow(ask);
      if (!window) return null;
      const days = ask.span ?? { from: dateOf(window.start), to: dateOf(window.start) };
      return days;
    },
    draw,
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
