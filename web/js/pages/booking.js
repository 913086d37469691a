// A booking: its lines, where they are, what can be done with it; straight after the ask, the yes.

import { words } from "../all_words.js";
import { change, read, readAll } from "../api.js";
import { h, patch } from "../build.js";
import { NO_DRAFT, shownOf, typedOf, withRadios } from "../change_model.js";
import { isLive, stillToGo } from "../line_model.js";
import { reasonLine } from "../parts/answers.js";
import { bookedText } from "../parts/booked.js";
import { changeForm, releaseForm } from "../parts/booking_change.js";
import { bookingFacts, journalPart, lineTable, stateFrames } from "../parts/booking_view.js";
import { handOnRows, pickupRows } from "../parts/handover.js";
import { lineMoves } from "../parts/line_moves.js";
import { queuePart } from "../parts/queue.js";
import { refusal } from "../parts/refusal.js";
import { truckPage } from "../parts/truck_list.js";
import { canUndo, frequencyLine, yesPart } from "../parts/yes.js";
import { boardNow, nowFor, todayFor } from "../pulse.js";
import { may } from "../rights.js";
import { secondsOf, timeOf } from "../when.js";

export function open({ root, url, params, session, leave, go, say, named, beat }) {
  const path = `/bookings/${params.id}`;
  const own = session.account.unit_ids;
  let view = viewOf(url);
  let found = null; // { booking, etag, handover, standing, journal }
  let wrong = null; // { problem, at: "presses" | "change" | "release" | "load", lines? }: at the press itself
  let draft = NO_DRAFT; // what was typed in the form for changes
  let releasing = {}; // what stands in the form for releases, by line
  let busy = false;
  let asking = false;
  const today = () => todayFor(session);
  const now = () => nowFor(session);
  const moves = lineMoves({ now, redraw: draw, say, leave, moved: () => { beat(); load(); } });

  patch(root, h("p", { class: "muted" }, words.loading));
  load();

  async function load() {
    const options = { signal: leave };
    const booking = await read(path, options);
    if (leave.aborted) return;
    if (!booking.ok) {
      wrong = { problem: booking.problem, at: "load" };
      return draw();
    }
    const journalled = may(session, "journal", booking.body.unit_id) && view !== "yes";
    const [handover, standing, journal] = await Promise.all([
      read(`${path}/handover`, options), read(`${path}/standing`, options), journalled ? readAll(`/journal?subject=booking:${params.id}`, "entries", options) : null,
    ]);
    if (leave.aborted || busy) return;
    found = { booking: booking.body, etag: booking.etag, handover: handover.body ?? null, standing: standing.body ?? null, journal: journal?.body ?? null };
    draw();
    forgetUndo();
  }

  /** The undo button goes when its time is over. */
  function forgetUndo() {
    const until = found.booking.undo_until;
    const left = until ? secondsOf(until) - secondsOf(now()) : 0;
    if (left > 0) setTimeout(() => leave.aborted || draw(), left * 1000 + 500);
  }

  /** `at`: which press it was; `lines`: what was wanted, for the words of what would work instead. */
  async function act(at, verb, body, sentence, lines = []) {
    busy = true;
    wrong = null;
    draw();
    const answer = verb ? await change("POST", `${path}/${verb}`, body, found.etag) : await change("PATCH", path, body, found.etag);
    busy = false;
    asking = false;
    if (!answer.ok) {
      const stale = answer.status === 412;
      wrong = { problem: stale ? { ...answer.problem, detail: words.problem.stale } : answer.problem, at, lines };
      draw();
      if (stale) load();
      return;
    }
    say(sentence);
    draft = NO_DRAFT;
    releasing = {};
    if (verb === "undo") view = null;
    if (verb === "undo") go(`/booking/${params.id}`, { replace: true });
    beat();
    load();
  }

  /** What would work instead, taken in one step: of a pencil that was to be confirmed, confirmed with it. */
  function take(option) {
    const { start, end, lines, state } = option.body;
    const confirmed = state === "confirmed" && found.booking.state === "pencilled" ? { state } : {};
    act(wrong.at, null, { start, end, lines, ...confirmed }, confirmed.state ? words.booking.confirmed : words.booking.changed);
  }

  function draw() {
    if (!found) {
      named(words.nowhere.title);
      return patch(root, h("h1", {}, wrong?.problem.title ?? words.loading), h("p", {}, wrong ? words.problem.other(wrong.problem) : ""));
    }
    const { booking, handover } = found;
    named(view === "truck" ? words.yes.truck : words.booking.title(booking));
    if (view === "truck" && handover && booking.state === "confirmed") return patch(root, truckPage({ booking, handover, today: today(), now: now() }));
    if (view === "yes" && isLive(booking)) return patch(root, h("div", { class: "page narrow yes", "data-key": "yes" }, yes()));
    patch(root,
      h("div", { class: "page-head", "data-key": "head" }, h("h1", {}, words.booking.title(booking)), h("p", {}, stateFrames(booking, found.standing))),
      h("div", { class: "columns pair", "data-key": "columns" },
        h("div", { class: "stack" }, bookingFacts(booking, today()), pencilPart(), presses(), refusalAt("presses"),
          lineTable(booking, found.standing, may(session, "custody", booking.unit_id) ? (line, stands) => moves.row(booking, line, stands) : null), forms()),
        h("div", { class: "side" }, handoverPart(), handOnPart(), found.journal && journalPart(found.journal, today()))));
  }

  function yes() {
    const { booking, handover, standing } = found;
    return [
      yesPart({ booking, handover, standing, opening: session.pool.opening, also: history.state?.also, cautions: history.state?.cautions ?? [], strip: boardNow()?.strip ?? [], today: today(), now: now(), busy,
        mayUndo: may(session, "release", booking.unit_id), undo: () => act("presses", "undo", {}, words.yes.undone) }),
      refusalAt("presses"),
    ];
  }

  /** Where a pencil stands, and what it lacks beside the pencils before it. */
  function pencilPart() {
    const part = queuePart(found, today());
    const lacks = (found.standing?.short ?? []).filter((one) => one.why !== "pencil");
    return part && [part, lacks.length > 0 && h("div", { class: "answer", "data-key": "lacks" }, h("p", {}, words.booking.cannotConfirm), lacks.map((one) => h("p", { class: "muted" }, reasonLine(one, today()))))];
  }

  /** Kit is fetched for what is confirmed: a pencil has no hand-over. */
  function handoverPart() {
    const { booking, handover, standing } = found;
    if (!handover || booking.state !== "confirmed" || !stillToGo(booking, standing).length) return null;
    return h("section", { class: "part part-set", "data-key": "handover", "aria-labelledby": "handover-title" },
      h("h2", { id: "handover-title" }, words.booking.handover),
      pickupRows(handover.pickups, today(), session.pool.opening), frequencyLine(booking, handover),
      h("p", { class: "no-paper" }, h("a", { class: "press", href: `/booking/${booking.id}?truck` }, words.yes.truck)));
  }

  /** What another unit takes over from this booking, with no house between. */
  function handOnPart() {
    const { booking, handover } = found;
    if (booking.state !== "confirmed" || !handover?.hand_on.length) return null;
    return h("section", { class: "part part-set", "data-key": "hand-on", "aria-labelledby": "hand-on-title" },
      h("h2", { id: "hand-on-title" }, words.yes.handOnTitle), handOnRows(handover.hand_on, today()));
  }

  /** Why the last press at this place was not done, with what would work instead. */
  function refusalAt(at) {
    if (wrong?.at !== at) return null;
    const { problem, lines } = wrong;
    const title = at === "change" ? words.booking.notChanged : found.booking.state === "pencilled" ? words.booking.notConfirmed : "";
    const over = problem.type === "/problems/behind-pencil" && at === "presses" && may(session, "override");
    return refusal({ problem, title, asked: lines ?? [], whose: own.includes(found.booking.unit_id) ? null : found.booking.unit, today: today(), own, take, busy,
      more: over && press("over", words.booking.confirmOver, () => act("presses", "confirm", { override_pencils: true }, words.booking.confirmed)) });
  }

  function press(key, text, onclick, best) {
    return h("button", { type: "button", class: best ? "press press-best" : "press", "data-key": key, disabled: busy, onclick }, text);
  }

  /** What can be done with it at once. */
  function presses() {
    const { booking, standing } = found;
    if (!isLive(booking)) return null;
    const unit = booking.unit_id;
    const out = standing?.lines.some((line) => line.out > 0);
    if (asking) return sureToRelease(booking);
    return h("div", { class: "presses no-paper", "data-key": "presses" },
      confirmPress(),
      canUndo(booking, now()) && may(session, "release", unit) && press("undo", words.booking.undo(timeOf(booking.undo_until)), () => act("presses", "undo", {}, words.yes.undone)),
      booking.state === "confirmed" && may(session, "custody", unit) && h("a", { class: "press", "data-key": "out", href: `/scan?mode=out&booking=${booking.id}` }, words.booking.scanOut),
      out && may(session, "custody", unit) && h("a", { class: "press", "data-key": "back", href: "/scan?mode=back" }, words.booking.scanBack),
      may(session, "release", unit) && press("release", words.booking.releaseAll, () => { asking = true; draw(); }));
  }

  /** Filled only where it would be granted now; behind a pencil only for who may pass that by. */
  function confirmPress() {
    const { booking, standing } = found;
    if (booking.state !== "pencilled" || !may(session, "confirm", booking.unit_id)) return null;
    if (standing?.place > 1 && !may(session, "override")) return null;
    const lines = booking.lines.filter(isLive);
    return press("confirm", words.booking.confirm, () => act("presses", "confirm", {}, words.booking.confirmed, lines), standing?.can_confirm);
  }

  function sureToRelease(booking) {
    return h("div", { class: "answer", role: "group", "data-key": "sure", "aria-label": words.booking.releaseAll }, h("p", {}, words.booking.sure(bookedText(booking))), h("div", { class: "presses" },
      press("release-all", words.booking.releaseAll, () => act("presses", "release", {}, words.booking.released), true),
      press("keep", words.booking.keep, () => { asking = false; draw(); })));
  }

  /** More or fewer radios of a pack, with the parts that go with them: the numbers change, nothing is sent. */
  async function radio(line, by) {
    const { booking } = found;
    const { numbers } = shownOf(booking, draft);
    const wanted = Number(numbers[line.id]) + by;
    const query = { unit: booking.unit_id, start: booking.start, end: booking.end, pack: line.kit_type_id, booking: booking.id };
    const proposed = (quantity) => (quantity < 1 ? { ok: true, body: { lines: [] } } : read(`/radio-proposal?${new URLSearchParams({ ...query, quantity })}`, { signal: leave }));
    busy = true;
    draw();
    const [before, after] = await Promise.all([proposed(wanted - by), proposed(wanted)]);
    busy = false;
    if (leave.aborted) return;
    const failed = [before, after].find((answer) => !answer.ok);
    if (failed) wrong = { problem: failed.problem, at: "change" };
    else {
      wrong = null;
      draft = { ...draft, numbers: typedOf(booking, withRadios(booking, numbers, { pack: line, before: before.body.lines, after: after.body.lines, by })) };
      say(words.booking.radiosNow(wanted));
    }
    draw();
  }

  function forms() {
    const { booking } = found;
    if (!isLive(booking)) return null;
    const refuse = (at) => (text) => {
      wrong = { problem: { title: text, detail: text }, at };
      draw();
    };
    const edit = (part, name, text) => {
      draft = { ...draft, [part]: { ...draft[part], [name]: text } };
      draw();
    };
    const editReleasing = (next) => {
      releasing = next;
      draw();
    };
    return h("div", { class: "part-set no-paper", "data-key": "forms" },
      may(session, "confirm", booking.unit_id) && changeForm(booking, { draft: shownOf(booking, draft), edit, radio, busy, refuse: refuse("change"), answer: refusalAt("change"), send: (body, lines) => act("change", null, body, words.booking.changed, lines) }),
      may(session, "release", booking.unit_id) && releaseForm(booking, { typed: releasing, edit: editReleasing, busy, refuse: refuse("release"), answer: refusalAt("release"), send: (body) => act("release", "release", body, words.booking.released) }));
  }

  return {
    place: () => (view === "yes" ? "ask" : null),
    draw: () => found && draw(),
    refresh: load,
    turn(next) {
      view = viewOf(next);
      draw();
      load();
    },
  };
}

/** Which view of a booking an address asks for: "yes", "truck" or null. */
function viewOf(url) {
  return ["yes", "truck"].find((name) => url.searchParams.has(name)) ?? null;
}
