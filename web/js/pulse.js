// The board's pulse: the one reading that every page stands on, and how old it is.

import { read } from "./api.js";
import { poll } from "./poll.js";
import { STRIP_DAYS } from "./span.js";
import { laterBy } from "./when.js";

let board = null;
let readAt = 0;
let heardAt = 0;
let beating = null;

export const boardNow = () => board;

/** Starts asking for the board from `firstDay()` on; `changed(board)` runs when it says something new. */
export function startPulse(firstDay, changed) {
  if (beating) return;
  beating = poll(async (signal) => {
    const answer = await read(`/board?from=${firstDay()}&days=${STRIP_DAYS}`, { signal });
    if (!answer.ok || signal.aborted) return;
    heardAt = Date.now();
    if (answer.unchanged && board === answer.body) return;
    if (board !== answer.body && !answer.unchanged) readAt = heardAt;
    board = answer.body;
    changed(board);
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

/** The instant at which what is shown was last known to hold. */
export function knownAt() {
  return board && laterBy(board.as_of, (heardAt - readAt) / 1000);
}
