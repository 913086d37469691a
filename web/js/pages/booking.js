// A booking: its lines, where they are, what can be done with it; straight after the ask, the yes.

import { change, read, readAll } from "../api.js";
import { h, patch } from "../build.js";
import { frameOf, reasonOf } from "../parts/answers.js";
import { bookedText } from "../parts/booked.js";
import { changeForm, releaseForm } from "../parts/booking_change.js";
import { bookingFacts, journalPart, lineTable, stateFrames } from "../parts/booking_view.js";
import { frame } from "../parts/frame.js";
import { pickupRows, truckList } from "../parts/handover.js";
import { canUndo, frequencyLine, yesPart } from "../parts/yes.js";
import { boardNow, poolNow } from "../pulse.js";
import { may } from "../rights.js";
import { dateOf, secondsOf, timeOf } from "../when.js";
import { words } from "../words.js";

const LIVE = ["confirmed", "pencilled"];

/** Whether some of it has still to be handed over. Pure. */
export function isToCome(booking, standing) {
  return booking.lines.some((line) => {
    const stands = standing?.lines.find((one) => one.id === line.id);
    return line.tracking !== "frequency" && line.quantity - line.released > (stands?.out ?? 0) + (stands?.back ?? 0);
  });
}

export function open({ root, url, params, session, leave, go, say, named, beat }) {
  const path = `/bookings/${params.id}`;
  let isYes = url.searchParams.has("yes");
  let found = null; // { booking, etag, handover, standing, journal }
  let problem = null;
  let busy = false;
  let asking = false;
  const today = () => boardNow()?.today ?? dateOf(session.now);
  const now = () => poolNow() ?? session.now;

  patch(root, h("p", { class: "muted" }, words.loading));
  load();

  async function load() {
    const options = { signal: leave };
    const booking = await read(path, options);
    if (leave.aborted) return;
    if (!booking.ok) {
      problem = booking.problem;
      return draw();
    }
    const journalled = may(session, "journal", booking.body.unit_id) && !isYes;
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

  async function act(verb, body, sentence) {
    busy = true;
    problem = null;
    draw();
    const answer = verb ? await change("POST", `${path}/${verb}`, body, found.etag) : await change("PATCH", path, body, found.etag);
    busy = false;
    asking = false;
    if (!answer.ok) {
      problem = answer.status === 412 ? { ...answer.problem, detail: words.problem.stale } : answer.problem;
      say(words.problem.other(problem));
      draw();
      if (answer.status === 412) load();
      return;
    }
    say(sentence);
    if (verb === "undo") isYes = false;
    if (verb === "undo") go(`/booking/${params.id}`, { replace: true });
    beat();
    load();
  }

  function draw() {
    if (!found) {
      named(words.nowhere.title);
      return patch(root, h("h1", {}, problem?.title ?? words.loading), h("p", {}, problem ? words.problem.other(problem) : ""));
    }
    const { booking } = found;
    named(words.booking.title(booking));
    if (isYes && LIVE.includes(booking.state)) return patch(root, h("div", { class: "page narrow yes" }, yes()));
    patch(root,
      h("div", { class: "page-head", "data-key": "head" }, h("h1", {}, words.booking.title(booking)), h("p", {}, stateFrames(booking, found.standing))),
      h("div", { class: "columns pair", "data-key": "columns" },
        h("div", { class: "stack" }, bookingFacts(booking, today()), refusal(), presses(), lineTable(booking, found.standing), forms()),
        h("div", { class: "side" }, handoverPart(), found.journal && journalPart(found.journal, today()))));
  }

  function yes() {
    const { booking, handover } = found;
    return [
      yesPart({ booking, handover, cautions: history.state?.cautions ?? [], strip: boardNow()?.strip ?? [], today: today(), now: now(), busy,
        mayUndo: may(session, "release", booking.unit_id), undo: () => act("undo", {}, words.yes.undone) }),
      refusal(),
    ];
  }

  function handoverPart() {
    const { booking, handover, standing } = found;
    if (!handover || !LIVE.includes(booking.state) || !isToCome(booking, standing)) return null;
    return h("section", { class: "part part-set", "data-key": "handover", "aria-labelledby": "handover-title" },
      h("h2", { id: "handover-title" }, words.booking.handover),
      pickupRows(handover.pickups, today()), frequencyLine(booking, handover),
      h("p", {}, h("button", { type: "button", class: "press", onclick: () => print() }, words.yes.truck)),
      truckList(handover.pickups, today()));
  }

  /** Why the last press was not done: the judge's reasons, or a sentence. */
  function refusal() {
    if (!problem) return null;
    const short = problem.short ?? [];
    const top = short.length ? frameOf(short) : null;
    const lines = short.length ? short.flatMap((shortage) => reasonOf(shortage, today())) : [words.problem.other(problem)];
    return h("div", { class: "answer", role: "alert", "data-key": "refusal" },
      top && h("p", {}, frame(top.is, top.text)), lines.map((line) => h("p", {}, line)),
      problem.type === "/problems/behind-pencil" && may(session, "override") && press("over", words.booking.confirmOver, () => act("confirm", { override_pencils: true }, words.booking.confirmed)));
  }

  function press(key, text, onclick, best) {
    return h("button", { type: "button", class: best ? "press press-best" : "press", "data-key": key, disabled: busy, onclick }, text);
  }

  /** What can be done with it at once. */
  function presses() {
    const { booking, standing } = found;
    if (!LIVE.includes(booking.state)) return null;
    const unit = booking.unit_id;
    const out = standing?.lines.some((line) => line.out > 0);
    if (asking) return sureToRelease(booking);
    return h("div", { class: "presses no-paper", "data-key": "presses" },
      booking.state === "pencilled" && may(session, "confirm", unit) && press("confirm", words.booking.confirm, () => act("confirm", {}, words.booking.confirmed), true),
      canUndo(booking, now()) && may(session, "release", unit) && press("undo", words.booking.undo(timeOf(booking.undo_until)), () => act("undo", {}, words.yes.undone)),
      booking.state === "confirmed" && may(session, "custody", unit) && h("a", { class: "press", "data-key": "out", href: `/scan?mode=out&booking=${booking.id}` }, words.booking.scanOut),
      out && may(session, "custody", unit) && h("a", { class: "press", "data-key": "back", href: "/scan?mode=back" }, words.booking.scanBack),
      may(session, "release", unit) && press("release", words.booking.releaseAll, () => { asking = true; draw(); }));
  }

  function sureToRelease(booking) {
    return h("div", { role: "group", "data-key": "sure", "aria-label": words.booking.releaseAll }, h("p", {}, words.booking.sure(bookedText(booking))), h("div", { class: "presses" },
      press("release-all", words.booking.releaseAll, () => act("release", {}, words.booking.released), true),
      press("keep", words.booking.keep, () => { asking = false; draw(); })));
  }

  function forms() {
    const { booking } = found;
    if (!LIVE.includes(booking.state)) return null;
    const refuse = (text) => {
      problem = { title: text, detail: text };
      draw();
    };
    const form = { busy, refuse };
    return h("div", { class: "no-paper", "data-key": "forms" },
      may(session, "confirm", booking.unit_id) && changeForm(booking, { ...form, send: (body) => act(null, body, words.booking.changed) }),
      may(session, "release", booking.unit_id) && releaseForm(booking, { ...form, send: (body) => act("release", body, words.booking.released) }));
  }

  return {
    place: () => (isYes ? "ask" : null),
    refresh: load,
    turn(next) {
      isYes = next.searchParams.has("yes");
      draw();
      load();
    },
  };
}
