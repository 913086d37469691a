// What a judge's answer says in words: the reason, who holds the kit, and what each option does.

import { lengthText, momentText, spanText } from "../when.js";
import { words } from "../words.js";

const MOST_HOLDERS = 3;
const FRAMES = {
  numbers: (by) => ({ is: "short", text: words.answer.short(by) }),
  pencil: (by) => ({ is: "pencilled", text: words.answer.behind(by) }),
  names: () => ({ is: "short", text: words.answer.names }),
  undecided: () => ({ is: "late", text: words.answer.undecided }),
};

/** The frame over a refusal: its worst reason; "behind a pencil" is never "short". */
export function frameOf(shortages) {
  const worst = shortages.find((shortage) => shortage.why !== "pencil") ?? shortages[0];
  if (!worst) return { is: "late", text: words.answer.refused };
  return FRAMES[worst.why](lacking(worst));
}

/** How many are lacking at the worst instant of a shortage. */
export function lacking(shortage) {
  const worst = Math.max(0, ...shortage.stretches.map((stretch) => stretch.by));
  return worst || shortage.quantity - Math.max(0, shortage.free);
}

/** The reason of one shortage: a list of sentences. */
export function reasonOf(shortage, today) {
  return [reasonLine(shortage, today), ...holderLines(shortage.holders, today)];
}

function reasonLine(shortage, today) {
  const { stretches, swap_at: [swap] } = shortage;
  if (shortage.why === "pencil") return words.answer.behindLine(shortage);
  if (shortage.why === "names") return words.answer.namesLine(shortage, swap && momentText(swap, today));
  if (shortage.why === "undecided") return words.answer.undecidedLine(shortage);
  const when = stretches.length ? spanText(stretches[0].start, stretches.at(-1).end, today) : "";
  return words.answer.shortLine({ ...shortage, by: lacking(shortage) }, when);
}

/** Whether it is not a holder at all: kit that cannot be used. */
export const isService = (holder) => holder.state.startsWith("out") && holder.state !== "out";

/**
 * Who has the kit, a sentence each: what one unit has in the same way until the same time is said
 * once, pencils first since they may fall, then what is late, then who has most. Pure.
 */
export function holderLines(holders, today) {
  const merged = new Map();
  for (const holder of holders) {
    const key = [holder.unit_id, holder.state, holder.overdue, holder.end, holder.expires_at, holder.place].join("|");
    const before = merged.get(key);
    merged.set(key, before ? { ...before, quantity: before.quantity + holder.quantity, idle: before.idle + holder.idle } : holder);
  }
  const firmness = (holder) => (holder.state === "pencilled" ? 0 : holder.overdue ? 1 : isService(holder) ? 3 : 2);
  const rows = [...merged.values()].sort((a, b) => firmness(a) - firmness(b) || b.quantity - a.quantity);
  const lines = rows.slice(0, MOST_HOLDERS).map((holder) => holderText(holder, today));
  return rows.length > MOST_HOLDERS ? [...lines, words.holder.more(rows.length - MOST_HOLDERS)] : lines;
}

/** "Splinter has a first pencil on 6, lapses Thu 12:00." */
export function holderText(holder, today) {
  const end = momentText(holder.end, today);
  if (holder.state === "pencilled") {
    return words.holder.pencilled(holder, holder.expires_at && momentText(holder.expires_at, today));
  }
  if (holder.overdue) return words.holder.overdue(holder, end);
  if (isService(holder)) return words.holder.outOfService(holder, words.time.until(end));
  const say = holder.state === "out" ? words.holder.out : words.holder.confirmed;
  return say(holder, words.time.until(end));
}

/** What is asked for, in words: radios by their packs, the rest by name. */
export function whatOf(lines, { radios = 0, radioKits = new Set() } = {}) {
  const others = lines.filter((line) => !radioKits.has(line.kit_type_id));
  return words.ask.what(radios, others.map((line) => words.of(line.quantity, line.name)));
}

/**
 * What an option's button and its note say: { press, note }.
 * `asked`: { lines, radios, packs, radioKits, today }; `packs` are the kit types a radio is counted by.
 */
export function optionText(option, asked) {
  return { press: pressOf(option, asked), note: noteOf(option, asked) };
}

function pressOf(option, asked) {
  const say = words.answer.options;
  const what = whatOf(asked.lines, asked);
  if (option.kind === "earlier" || option.kind === "later") {
    return say.moved(what, spanText(option.start, option.end, asked.today));
  }
  if (option.kind === "pencil_behind") return say.pencil(what, option.place);
  if (option.kind === "fewer") return fewerText(option, asked);
  const added = namedLines(addedLines(option, asked));
  if (!added.length) return say.book(what);
  const kept = keptNumber(option, asked);
  return kept ? say.mixed(what, kept, added) : say.instead(what, added);
}

function fewerText(option, asked) {
  const radios = sum(option.lines.filter((line) => asked.packs?.has(line.kit_type_id)));
  if (asked.radios && radios < asked.radios) {
    return words.answer.options.book(whatOf(option.lines, { ...asked, radios }));
  }
  return option.lacks.length
    ? words.answer.options.allBut(namedLines(option.lacks))
    : words.answer.options.book(whatOf(option.lines, asked));
}

/** Lines of kit that was not asked for and is not merely brought along. */
function addedLines(option, asked) {
  const known = new Set([...asked.lines, ...option.brings].map((line) => line.kit_type_id));
  return option.lines.filter((line) => !known.has(line.kit_type_id));
}

/** How many of the kit that the option replaces in part are still what was asked for. */
function keptNumber(option, asked) {
  for (const line of asked.lines) {
    const now = sum(option.lines.filter((one) => one.kit_type_id === line.kit_type_id));
    if (now > 0 && now < line.quantity) return now;
  }
  return 0;
}

function noteOf(option, asked) {
  const { answer } = words;
  const shift = option.shift_s ?? 0;
  return words.dotted([
    shift < 0 ? answer.earlier(lengthText(-shift)) : "",
    shift > 0 ? answer.later(lengthText(shift)) : "",
    option.outside_hours ? answer.outside : "",
    option.brings.length ? answer.brings(namedLines(option.brings)) : "",
    option.lacks.length && option.kind !== "fewer" ? answer.lacks(namedLines(option.lacks)) : "",
    option.kind === "pencil_behind" ? answer.notHeld : "",
  ]);
}

const namedLines = (lines) => lines.map((line) => words.of(line.quantity, line.name));
const sum = (lines) => lines.reduce((total, line) => total + line.quantity, 0);
