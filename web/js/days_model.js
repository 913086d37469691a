// What the figures of a day say: the number large, its meaning small beneath. Pure.

import { timeOf } from "./when.js";
import { words } from "./words.js";

const LITTLE = 8;

/** "none", "little" or "some": little is an eighth of what there is, and always the last piece. */
export function levelOf({ free, capacity }) {
  if (free <= 0) return "none";
  return free < capacity && free <= Math.max(1, capacity / LITTLE) ? "little" : "some";
}

/** The words under a figure. Where none is left they say why, and from when if not all day. */
export function cellWords(cell) {
  const say = words.days;
  if (cell.free < 0) return words.dotted([say.shortBy(-cell.free), fromWhen(cell)]);
  if (cell.free > 0) return cell.idle > 0 ? say.idle(cell.idle) : say.of(cell.capacity);
  return words.dotted([fromWhen(cell), reason(cell)]);
}

function reason(cell) {
  const say = words.days;
  if (cell.if_pencils_fall > 0) return say.ifPencilsFall(cell.if_pencils_fall);
  if (cell.overdue > 0) return say.late(cell.overdue);
  if (cell.out_of_service > 0) return say.outOfService(cell.out_of_service);
  return cell.capacity > 0 ? say.booked(cell.booked) : say.noneOwned;
}

/** "at 07:00": the first instant of the least; nothing where that is the day's beginning. */
function fromWhen({ at, start }) {
  return at && timeOf(at) !== timeOf(start ?? "0000-00-00T00:00") ? words.days.at(timeOf(at)) : "";
}

/** The whole figure for a reader of the page: "Thu 26: 0 free, none left, at 07:00 · 4 if pencils fall". */
export function spokenCell(cell, day) {
  const level = levelOf(cell);
  const mark = level === "none" ? words.days.none : level === "little" ? words.days.little : "";
  return [`${day}: ${words.days.freeSpoken(cell.free)}`, mark, cellWords(cell)].filter(Boolean).join(", ");
}

/** Kit types by category, in the order given: [[category, [kit…]]…]. */
export function byCategory(kits) {
  const groups = new Map();
  for (const kit of kits) groups.set(kit.category, [...(groups.get(kit.category) ?? []), kit]);
  return [...groups];
}

/** The kit that a filter leaves: by words in the name, and, if asked, only what is scarce some day. */
export function filtered(kits, { text = "", scarce = false }) {
  const wanted = text.toLowerCase().split(/\s+/).filter(Boolean);
  return kits.filter((kit) => {
    const named = wanted.every((word) => `${kit.name} ${kit.category}`.toLowerCase().includes(word));
    return named && (!scarce || kit.cells.some((cell) => levelOf(cell) !== "some"));
  });
}
