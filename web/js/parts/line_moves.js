// Out and back of counted kit on a booking's own page: a number with − and +, since it carries no tag.

import { words } from "../all_words.js";
import { NO_SIGNAL, create, newKey } from "../api.js";
import { h } from "../build.js";
import { wholeNumber } from "../forms.js";
import { keep } from "../kept.js";
import { roomOn, toGo } from "../line_model.js";
import { custodyEvent } from "../scan_model.js";
import { stepper } from "./stepper.js";

const UNDO_MS = 60000;

/** The moves of one booking's page. `redraw()` draws it, `moved()` reads it afresh, `say(text)` is heard. */
export function lineMoves({ now, redraw, moved, say, leave }) {
  const typed = new Map(); // line → what stands in its field
  let busy = null;
  let last = null; // { line, text, wrong, undo }

  async function move(booking, line, kind, stands) {
    const number = wholeNumber(typed.get(line.id) ?? suggested(line, stands), { least: 1 });
    const room = kind === "out" ? roomOn(line, stands) : stands.out;
    if (number.wrong || number.value > room) return tell(line, number.wrong ?? words.booking.tooMany(roomOn(line, stands), stands.out), true);
    const key = newKey();
    busy = line.id;
    redraw();
    const event = { ...custodyEvent({ key, at: now(), pieces: [{ kit_type_id: line.kit_type_id, quantity: number.value }], choice: { mode: kind, booking: booking.id, condition: "fit" } }), booking_id: booking.id };
    const answer = await create("/custody-events", event, key);
    if (leave.aborted) return;
    busy = null;
    const what = words.of(number.value, line.name);
    if (!answer.ok && answer.problem.type === NO_SIGNAL) return keepMove(line, event, what);
    if (!answer.ok) return tell(line, words.problem.other(answer.problem), true);
    typed.delete(line.id);
    tell(line, words.dotted([(kind === "out" ? words.booking.wentOut : words.booking.cameBack)(what), ...answer.body.cautions]), false, answer.body.id);
    moved();
  }

  function keepMove(line, event, what) {
    const kept = keep({ key: event.key, path: "/custody-events", body: event, text: words.scan.keptText(words.scan.modes[event.kind], what), kept_at: event.happened_at });
    tell(line, kept ? words.scan.notSent(what) : words.ask.notKept, true);
  }

  function tell(line, text, wrong, event = null) {
    last = { line: line.id, text, wrong, event, until: Date.now() + UNDO_MS };
    if (event) setTimeout(() => leave.aborted || redraw(), UNDO_MS + 100);
    say(text);
    redraw();
  }

  async function undo(line) {
    const { event } = last;
    last = { ...last, event: null };
    const answer = await create(`/custody-events/${event}/undo`);
    if (leave.aborted) return;
    tell(line, answer.ok ? words.booking.moveUndone : words.problem.other(answer.problem), !answer.ok);
    if (answer.ok) moved();
  }

  /** What has still to go, else what is out to come back. */
  const suggested = (line, stands) => String(toGo(line, stands) || stands.out || 1);

  /** A line's number and its two presses; null where nothing can go out or come back. */
  function row(booking, line, stands) {
    const [room, out] = [roomOn(line, stands), stands.out];
    const said = last?.line === line.id ? last : null;
    if (!room && !out && !said) return null;
    const value = typed.get(line.id) ?? suggested(line, stands);
    const number = wholeNumber(value, { least: 1 }).value ?? 0;
    const change = (text) => {
      typed.set(line.id, text);
      redraw();
    };
    const press = (kind, text, most) => h("button", { type: "button", class: "press", "data-key": kind, disabled: busy !== null || !number || number > most,
      onclick: () => move(booking, line, kind, stands) }, text);
    return h("div", { class: "moves", role: "group", "aria-label": words.booking.move(line.name) },
      stepper({ value, change, least: 1, most: Math.max(room, out), disabled: busy === line.id, says: { number: words.scan.howMany(line.name), fewer: words.scan.fewer(line.name), more: words.scan.more(line.name) } }),
      room > 0 && press("out", words.booking.outThese(number), room),
      out > 0 && press("back", words.booking.backThese(number), out),
      said && h("p", { class: said.wrong ? "wrong small" : "muted small", "data-key": "said" }, said.text, " ",
        said.event && Date.now() < said.until && h("button", { type: "button", class: "quiet", onclick: () => undo(line) }, words.scan.undo)));
  }

  return { row };
}
