// What goes out and comes back, as the board and the wall say it. Pure but for the frame.

import { momentText, secondsOf } from "../when.js";
import { words } from "../words.js";

const OUT_FRAMES = { prepare: "confirmed", part_out: "out", out: "out" };

/** The frame of what goes out: { is, word }. */
export const outState = (row) => ({ is: OUT_FRAMES[row.state], word: words.now.states[row.state] });

/** The frame of what comes back; some of it has still to go out before. */
export function backState(row) {
  if (row.late) return { is: "late", word: words.now.late };
  return row.out ? { is: "out", word: words.now.out } : { is: "confirmed", word: words.now.toGo };
}

/** When the booking begins, if kit is fetched before; what it is for; where it lies. */
export function outNote(row, today) {
  return words.dotted([
    secondsOf(row.start) > secondsOf(row.at) && words.now.begins(momentText(row.start, today)),
    row.purpose, row.boxes.length ? words.now.boxes(row.boxes) : "",
  ]);
}

/** "promised 13:00"; of what is late and nothing was said, when it is counted on. */
export function backNote(row, today) {
  if (row.promised_at) return words.now.promised(momentText(row.promised_at, today));
  return row.late ? words.now.expected(momentText(row.at, today)) : "";
}
