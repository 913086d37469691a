// How far a booking's lines are: what has still to go out, what is out and what is back. Pure.

import { words } from "./all_words.js";

const LIVE = ["confirmed", "pencilled"];
const NOTHING = { out: 0, back: 0, used: 0, missing: 0, overdue: 0, short_by: 0, place: null };

/** Whether a booking or a line of one still claims kit: one that was released or taken off stays as it was. */
export const isLive = ({ state }) => LIVE.includes(state);
export const isCarried = (line) => line.tracking !== "frequency";
export const isCounted = (kit) => ["count", "consumable"].includes(kit.tracking);

/** Where a line's kit is, from GET /bookings/{id}/standing; zeros where that is not known. */
export function standsOf(line, standing) {
  return { ...NOTHING, ...standing?.lines.find((one) => one.id === line.id) };
}

/** How many of a line may go out now: what is back may go out again. */
export const roomOn = (line, stands) => Math.max(0, line.quantity - stands.out - stands.used);

/** How many of a line have not been out yet. */
export const toGo = (line, stands) => Math.max(0, roomOn(line, stands) - stands.back - stands.missing);

/** The live lines that have still some to go: [{ line, left }]. */
export function stillToGo(booking, standing) {
  return booking.lines.filter((line) => isLive(line) && isCarried(line))
    .map((line) => ({ line, left: toGo(line, standsOf(line, standing)) })).filter(({ left }) => left > 0);
}

/** "0 of 12 out", "all 12 out", "4 of 12 out, 2 back", "all 12 back". */
export function progressText(line, stands) {
  const went = stands.out + stands.used;
  if (!went && stands.back >= line.quantity) return words.booking.allBack(line.quantity);
  const out = went >= line.quantity ? words.booking.allOut(went) : words.booking.someOut(went, line.quantity);
  return stands.back ? words.booking.andBack(out, stands.back) : out;
}

/** How far the whole booking is: null, "part_out", "out", "part_back" or "all_back". */
export function bookingProgress(booking, standing) {
  const lines = booking.lines.filter((line) => isLive(line) && isCarried(line));
  const sum = (name) => lines.reduce((total, line) => total + standsOf(line, standing)[name], 0);
  const [out, back, used] = [sum("out"), sum("back") + sum("missing"), sum("used")];
  if (!out && !back && !used) return null;
  if (lines.some((line) => toGo(line, standsOf(line, standing)) > 0)) return out || used ? "part_out" : "part_back";
  if (out && back) return "part_back";
  return out || !back ? "out" : "all_back";
}
