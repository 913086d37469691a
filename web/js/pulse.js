// The pulse: asks again and again, every 5 s, every 60 s while hidden (or as the service is set), at
// once when shown, online or awake; and the board, the one reading that every page stands on.

import { read } from "./api.js";
import { STRIP_DAYS } from "./span.js";
import { dateOf, laterBy } from "./when.js";

const SPREAD = 0.1;
let pace = { shown_ms: 5000, hidden_ms: 60000 };

/** How often to ask, as the session tells it: CROSSLOAD_POLL_S and CROSSLOAD_POLL_HIDDEN_S. */
export function setPace(told) {
  pace = { ...pace, ...told };
}

/** How long to wait: spread by a tenth, so that a crew's phones do not ask in step. */
export function pause(hidden, chance = Math.random()) {
  return (hidden ? pace.hidden_ms : pace.shown_ms) * (1 - SPREAD + 2 * SPREAD * chance);
}

/**
 * Runs `ask(signal)` until stopped. A call that hangs, as after sleep, is given up when the page
 * is shown or online again, and a new one begins. Returns { now, stop }.
 */
export function poll(ask) {
  let timer = null;
  let running = null;
  let stopped = false;

  async function run() {
    running?.abort();
    clearTimeout(timer);
    const mine = (running = new AbortController());
    try {
      await ask(mine.signal);
    } finally {
      if (running === mine && !stopped) timer = setTimeout(run, pause(document.hidden));
    }
  }

  const listening = new AbortController();
  const listen = (target, name, action) =>
    target.addEventListener(name, action, { signal: listening.signal });
  listen(document, "visibilitychange", () => document.hidden || run());
  listen(window, "online", run);
  listen(window, "pageshow", (event) => event.persisted && run());
  run();

  return {
    now: run,
    stop() {
      stopped = true;
      listening.abort();
      running?.abort();
      clearTimeout(timer);
    },
  };
}

let board = null;
let readAt = 0;
let heardAt = 0;
let beating = null;

export const boardNow = () => board;

/** Starts asking for the board from `firstDay()` on; `changed(isFirst)` runs when it says something new. */
export function startPulse(firstDay, changed) {
  if (beating) return;
  beating = poll(async (signal) => {
    const answer = await read(`/board?from=${firstDay()}&days=${STRIP_DAYS}`, { signal });
    if (!answer.ok || signal.aborted) return;
    heardAt = Date.now();
    if (answer.unchanged && board === answer.body) return;
    if (board !== answer.body && !answer.unchanged) readAt = heardAt;
    const isFirst = board === null;
    board = answer.body;
    changed(isFirst);
  });
}

/** Asks at once. */
export const beat = () => beating?.now();

export function stopPulse() {
  beating?.stop();
  beating = null;
  board = null;
}

/** Milliseconds since the service last said that what is shown still holds. */
export const ageOfBoard = () => Date.now() - heardAt;

/** The pool's wall clock now, as an instant, or null before the first board. */
export function poolNow() {
  return board && laterBy(board.as_of, (Date.now() - readAt) / 1000);
}

/** The pool's clock and its day: before the first board as the session told them. */
export const nowFor = (session) => poolNow() ?? session.now;
export const todayFor = (session) => board?.today ?? dateOf(session.now);

/** The instant at which what is shown was last known to hold. */
export function knownAt() {
  return board && laterBy(board.as_of, (heardAt - readAt) / 1000);
}
