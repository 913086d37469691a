// What the figures of a day say: the number large, its meaning small beneath. Pure.

import { words } from "./all_words.js";
import { timeOf } from "./when.js";

const LITTLE = 8;

/**
 * "none", "pencil", "little" or "some". What pencils alone keep is behind a pencil, never short;
 * little is an eighth of what there is, and always the last piece.
 */
export function levelOf({ free, if_pencils_fall: fallen, capacity }) {
  if (free <= 0) return fallen > 0 ? "pencil" : "none";
  return free < capacity && free <= Math.max(1, capacity / LITTLE) ? "little" : "some";
}

/** The figure itself: below zero only where it is short, pencils or no pencils. */
export function freeFigure({ free, if_pencils_fall: fallen }) {
  return fallen < 0 ? `−${-fallen}` : String(Math.max(0, free));
}

/** The words under a figure. Where none is left they say why, and from when if not all day. */
export function cellWords(cell, { tracking } = {}) {
  const say = words.days;
  const fallen = cell.if_pencils_fall;
  if (fallen < 0) return words.dotted([say.shortBy(-fallen), fromWhen(cell)]);
  if (cell.free <= 0 && fallen > 0) return words.dotted([say.behind, fromWhen(cell), say.ifPencilsFall(fallen)]);
  if (cell.free <= 0) return words.dotted([fromWhen(cell), reason(cell)]);
  if (fallen > cell.free) return say.ifPencilsFall(fallen);
  return cell.idle > 0 && tracking !== "frequency" ? say.idle(cell.idle) : say.of(cell.capacity); // a frequency rides on no truck
}

function reason(cell) {
  const say = words.days;
  if (cell.overdue > 0) return say.late(cell.overdue);
  if (cell.out_of_service > 0) return say.outOfService(cell.out_of_service);
  return cell.capacity > 0 ? say.booked(cell.booked) : say.noneOwned;
}

/** "at 07:00": the first instant of the least; nothing where that is the day's beginning. */
function fromWhen({ at, start }) {
  return at && timeOf(at) !== timeOf(start ?? "0000-00-00T00:00") ? words.days.at(timeOf(at)) : "";
}

/** The whole figure for a reader of the page: "Thu 26, free: 0, at 07:00 · all 24 booked, none left". */
export function spokenCell(cell, day, kit) {
  const mark = { none: words.days.none, little: words.days.little }[levelOf(cell)];
  return [day, words.days.freeSpoken(freeFigure(cell)), cellWords(cell, kit), mark].filter(Boolean).join(", ");
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
