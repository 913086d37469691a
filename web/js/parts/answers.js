// What a judge's answer says in words: the reason, who holds the kit, and what each option does.

import { words } from "../all_words.js";
import { endOf, shortNames, without } from "../names.js";
import { dateOf, laterBy, lengthText, momentText, secondsOf, spanText, timeOf } from "../when.js";
import { holderLines, isService } from "./holders.js";

export { everyHolder, holderLines, holderText } from "./holders.js";

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

/** The reason of one shortage: a list of sentences. `own`: the reader's units, said as "you". */
export function reasonOf(shortage, today, own = []) {
  return [reasonLine(shortage, today), ...holderLines(shortage.holders, today, own)];
}

/** What is short, by how many and when. */
export function reasonLine(shortage, today) {
  const { stretches, swap_at: [swap] } = shortage;
  if (shortage.why === "pencil") return words.answer.behindLine(shortage);
  if (shortage.why === "names") return words.answer.namesLine(shortage, swap && momentText(swap, today));
  if (shortage.why === "undecided") return words.answer.undecidedLine(shortage);
  const when = stretches.length ? spanText(stretches[0].start, stretches.at(-1).end, today) : "";
  return words.answer.shortLine({ ...shortage, by: lacking(shortage) }, when);
}

/** Why it is short from another time, or until another, than was asked, { start, end }: prep before, check-in after. */
export function edgeLines({ why, stretches, holders }, asked) {
  if (why !== "numbers" || !stretches.length) return [];
  const [from, until] = [stretches[0].start, stretches.at(-1).end];
  const lines = [];
  if (secondsOf(from) < secondsOf(asked.start)) lines.push(words.answer.prepFirst(timeOf(from)));
  const next = holders.filter((holder) => !isService(holder)).sort((a, b) => secondsOf(a.start) - secondsOf(b.start)).find((holder) => secondsOf(holder.start) >= secondsOf(from));
  if (secondsOf(from) > secondsOf(asked.start) && next && secondsOf(next.start) > secondsOf(from)) lines.push(words.answer.prepOther(timeOf(from), next.unit ?? words.holder.somebody, timeOf(next.start)));
  if (secondsOf(until) > secondsOf(asked.end)) lines.push(words.answer.checkIn(timeOf(until)));
  return lines;
}

/** What is asked for, in words: radios by their packs, the rest by name. */
export function whatOf(lines, { radios = 0, radioKits = new Set() } = {}) {
  const others = lines.filter((line) => !radioKits.has(line.kit_type_id));
  return words.ask.what(radios, others.map((line) => words.of(line.quantity, line.name)));
}

/**
 * What an option's button and its note say: { press, note }.
 * `asked`: { lines, radios, packs, radioKits, today, does, whose }; `packs` are the kit types a radio is counted
 * by, `does` is "ask" or, of a booking that is there, "change"; `whose` names a unit that is not the reader's.
 */
export function optionText(option, asked) {
  return { press: pressOf(option, asked), note: noteOf(option, asked) };
}

const sayOf = ({ does = "ask" }) => words.answer.options[does];

function pressOf(option, asked) {
  const say = sayOf(asked);
  const what = whatOf(asked.lines, asked);
  if (option.kind === "earlier" || option.kind === "later") return say.moved(what, spanText(option.start, option.end, asked.today));
  if (option.kind === "straight") return say.book(what);
  if (option.kind === "pencil_behind") return words.answer.pencil(what, option.place);
  if (option.kind === "fewer") return fewerText(option, asked);
  if (option.kind === "both") return say.both(someText(option, asked), restText(option, asked));
  const added = addedLines(option, asked);
  if (added.length && !arePacks(added, asked)) return insteadText(option, asked, what, added);
  const other = otherLines(option, asked);
  if (asked.radios && packLines(other, asked).length) return packsText(option, asked, what);
  return other.length ? say.these(other.map(plain)) : say.book(what);
}

/** Lines whose number is another than was asked, but for what is merely brought along. */
function otherLines({ lines, brings }, asked) {
  const brought = new Set(brings.map((line) => line.kit_type_id));
  return lines.filter((line) => !brought.has(line.kit_type_id) && line.quantity !== numberOf(asked.lines, line.kit_type_id));
}

/** "Book only 2 radios", "Book only 1 Long arm, all else as asked", "Book what is free: 2 × Pouch + 1 × Strap". */
function fewerText(option, asked) {
  const say = sayOf(asked);
  if (radiosIn(option, asked) < asked.radios) return say.only(someText(option, asked));
  if (!option.lacks.length) return say.book(whatOf(option.lines, asked));
  const rest = asked.lines.length > option.lacks.length;
  const left = option.lacks.map((lack) => ({ ...lack, quantity: numberOf(option.lines, lack.kit_type_id) }));
  if (left.length === 1 && left[0].quantity) return say.only(plain(left[0]), rest);
  return say.some(left.map((line) => (line.quantity ? words.of(line.quantity, line.name) : say.none(line.name))), rest);
}

/** What an option has of what was asked: "4 radios", "1 Long arm". */
function someText(option, asked) {
  const radios = radiosIn(option, asked);
  return asked.radios ? whatOf(option.lines, { ...asked, radios }) : words.and(option.lines.map(plain));
}

/** How many more there would have been: "2" for one kind, else each by name. */
function restText(option, asked) {
  if (asked.radios) return String(asked.radios - radiosIn(option, asked));
  return option.lacks.length === 1 ? String(option.lacks[0].quantity) : words.and(option.lacks.map(plain));
}

/** What the pencil of "both" is on: "2 radios", "2 Long arm". */
export const restOf = (option, asked) => (asked.radios ? words.radios(asked.radios - radiosIn(option, asked)) : words.and(option.lacks.map(plain)));

/** "Book 6 radios: 2 of 470 to 548 MHz and 4 of 606 to 694 MHz". */
function packsText(option, asked, what) {
  const say = sayOf(asked);
  const [now, before] = [packLines(option.lines, asked), packLines(asked.lines, asked)];
  const names = shortNames([...now, ...before].map((line) => line.name));
  if (now.length === 1) return say.packs(what, names[0], words.and(names.slice(1).filter((name) => name !== names[0])));
  return say.parts(what, now.map((line, index) => say.of(line.quantity, names[index])));
}

/** "Book 3 Short arm instead of 3 Long arm", "Book 1 Long arm and 2 Short arm". */
function insteadText(option, asked, what, added) {
  const say = sayOf(asked);
  const replaced = asked.lines
    .map((line) => ({ ...line, quantity: line.quantity - numberOf(option.lines, line.kit_type_id) }))
    .filter((line) => line.quantity > 0);
  if (!replaced.length) return say.these(added.map(plain));
  if (asked.lines.length > 1) return say.insteadOf(what, added.map(plain), replaced.map(plain));
  const kept = option.lines.filter((line) => line.kit_type_id === replaced[0].kit_type_id);
  return kept.length ? say.these([...kept, ...added].map(plain)) : say.instead(added.map(plain), replaced.map(plain));
}

/** Lines of kit that was not asked for and is not merely brought along. */
function addedLines(option, asked) {
  const known = new Set([...asked.lines, ...option.brings].map((line) => line.kit_type_id));
  return option.lines.filter((line) => !known.has(line.kit_type_id));
}

const packLines = (lines, asked) => lines.filter((line) => asked.packs?.has(line.kit_type_id));
const arePacks = (added, asked) => Boolean(asked.radios) && packLines(added, asked).length === added.length;
const radiosIn = (option, asked) => sum(packLines(option.lines, asked));

/** What an option costs, and what it brings: "another range · with 1 × Receiver, four-way for the 4". */
function noteOf(option, asked) {
  const { answer } = words;
  return words.dotted([
    ...costOf(option, asked),
    outsideText(option, asked.whose),
    option.brings.length ? broughtText(option, asked) : "",
    option.lacks.length && !["fewer", "both"].includes(option.kind) ? answer.lacks(namedLines(option.lacks)) : "",
    ["pencil_behind", "both"].includes(option.kind) ? answer.notHeld : "",
  ]);
}

/** How much of an option lies outside the unit's call and wrap: "30 min outside your call and wrap". */
export function outsideText({ outside_hours: isOutside, outside_s: outside, start, end }, whose) {
  if (!isOutside) return "";
  const isPart = outside < secondsOf(end) - secondsOf(start);
  return words.answer.outside(whose, isPart && words.time.exactly(outside));
}

function costOf(option, asked) {
  const { answer } = words;
  const shift = option.shift_s ?? 0;
  if (option.kind === "fewer") return [fewerNote(option, asked)];
  if (option.kind === "straight") return straightTexts(option, asked.today);
  if (shift && isAnotherDay(option)) return [answer.anotherDay];
  if (shift) return [shift < 0 ? answer.earlier(lengthText(-shift)) : answer.later(lengthText(shift))];
  if (!["mixed", "substitute"].includes(option.kind)) return [];
  const added = addedLines(option, asked);
  if (!added.length) return [];
  if (!arePacks(added, asked)) return [answer.otherKit];
  const ranges = new Set(packLines(asked.lines, asked).map((line) => endOf(line.name)));
  return [added.every((line) => ranges.has(endOf(line.name))) ? answer.anotherPack : answer.anotherRange];
}

/** What comes from another unit, when and where: "2 × Pack straight from Main, Thu 19:00 at Sluice lane". */
export function straightTexts({ lines }, today) {
  const handed = lines.filter((line) => line.straight);
  const byGiver = new Map();
  for (const line of handed) {
    const key = `${line.straight.unit} ${line.straight.at}`;
    byGiver.set(key, [...(byGiver.get(key) ?? []), line]);
  }
  return [...byGiver.values()].map((some) => {
    const { unit, at, place } = some[0].straight;
    return words.answer.straight(namedLines(some), unit, momentText(at, today), place);
  });
}

/** How much less than was asked: radios, pieces of the one kit that is lacking, or pieces in all. */
function fewerNote({ lacks, ...option }, asked) {
  const radios = (asked.radios ?? 0) - radiosIn(option, asked);
  if (radios > 0) return words.answer.fewer(radios);
  return lacks.length === 1 ? words.answer.fewer(sum(lacks)) : words.answer.piecesFewer(sum(lacks));
}

const isAnotherDay = ({ start, shift_s: shift }) => dateOf(laterBy(start, -shift)) !== dateOf(start);

/** What comes along, and with which kit it goes. */
function broughtText(option, asked) {
  const added = addedLines(option, asked);
  const range = added.length === 1 ? endOf(added[0].name) : "";
  const list = option.brings.map((line) => words.of(line.quantity, without(line.name, range)));
  const packs = arePacks(added, asked);
  const names = packs ? shortNames([...added, ...packLines(asked.lines, asked)].map((line) => line.name)) : [];
  return words.answer.brings(list, words.and(added.map((line, index) => (packs ? sayOf(asked).of(`the ${line.quantity}`, names[index]) : `the ${plain(line)}`))));
}

/** Lines by number and name: "2 × Long arm". */
export const namedLines = (lines) => lines.map((line) => words.of(line.quantity, line.name));
const plain = (line) => `${line.quantity} ${line.name}`;
const numberOf = (lines, id) => sum(lines.filter((line) => line.kit_type_id === id));
const sum = (lines) => lines.reduce((total, line) => total + line.quantity, 0);
