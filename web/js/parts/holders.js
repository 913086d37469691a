// Who has the kit, in sentences: for the board's decisions and for a judge's answer.

import { momentText } from "../when.js";
import { words } from "../words.js";

const MOST_HOLDERS = 3;

/** Whether it is not a holder at all: kit that cannot be used. */
export const isService = (holder) => holder.state.startsWith("out") && holder.state !== "out";

/** Who has the kit, a sentence each, cut short and counted. */
export function holderLines(holders, today, own = []) {
  const lines = everyHolder(holders, today, own);
  return lines.length > MOST_HOLDERS ? [...lines.slice(0, MOST_HOLDERS), words.holder.more(lines.length - MOST_HOLDERS)] : lines;
}

/**
 * Who has the kit, a sentence each: what one unit has in the same way until the same time is said
 * once, pencils first since they may fall, then what is late, then who has most. Pure.
 */
export function everyHolder(holders, today, own = []) {
  const merged = new Map();
  for (const holder of holders) {
    const key = [holder.unit_id, holder.state, holder.overdue, holder.end, holder.expires_at, holder.place].join("|");
    const before = merged.get(key);
    merged.set(key, before ? { ...before, quantity: before.quantity + holder.quantity, idle: before.idle + holder.idle } : holder);
  }
  const firmness = (holder) => (holder.state === "pencilled" ? 0 : holder.overdue ? 1 : isService(holder) ? 3 : 2);
  const rows = [...merged.values()].sort((a, b) => firmness(a) - firmness(b) || b.quantity - a.quantity);
  return rows.map((holder) => holderText(holder, today, own));
}

/** "Splinter has a first pencil on 6, lapses Thu 12:00."; of one's own unit "You hold 4 until Fri 20:00." */
export function holderText(holder, today, own = []) {
  const end = momentText(holder.end, today);
  if (isService(holder)) return words.holder.outOfService(holder, words.time.until(end));
  const say = own.includes(holder.unit_id) ? words.holder.own : words.holder;
  if (holder.state === "pencilled") return say.pencilled(holder, holder.expires_at && momentText(holder.expires_at, today));
  if (holder.overdue) return say.overdue(holder, end);
  return (holder.state === "out" ? say.out : say.confirmed)(holder, words.time.until(end));
}
