// What a booking could be changed to: the body of the change, and what its button says. Pure.

import { words } from "../all_words.js";
import { isLive } from "../line_model.js";
import { lengthText, spanText } from "../when.js";
import { outsideText, straightTexts } from "./answers.js";

const MOST = 4;
const MOST_NAMED = 3;
const STAND_INS = ["straight", "substitute", "mixed"];

/** The lines of a booking that still hold kit, or its place in the queue. */
const liveLines = (booking) => booking.lines.filter(isLive);

/** The options of a refusal as changes of the booking that was refused: [{ text, body }…], best first. */
export function changesOf(booking, options, { today, unit }) {
  return options.filter((option) => option.kind !== "pencil_behind").slice(0, MOST).map((option) => {
    const { start, end, lines } = option.body;
    return { text: words.dotted([changeText(booking, option, today), ...costOf(option, unit)]), body: { start, end, lines } };
  });
}

function changeText(booking, option, today) {
  if (option.shift_s) return words.decide.changeTo([spanText(option.start, option.end, today)]);
  if (option.kind === "straight") return words.decide.straight(straightTexts(option, today));
  return differenceText(liveLines(booking), option.lines);
}

/** "Change to 1 × Long arm + 2 × Short arm; the rest stays": only what becomes another is named. */
export function differenceText(before, after) {
  const [had, has] = [numbersOf(before), numbersOf(after)];
  const other = [...has.values()].filter(({ id, quantity }) => had.get(id)?.quantity !== quantity);
  const gone = [...had.values()].filter(({ id }) => !has.has(id));
  const stays = [...has.values()].length > other.length;
  const named = other.slice(0, MOST_NAMED).map(({ quantity, name }) => words.of(quantity, name));
  if (other.length > MOST_NAMED) named.push(words.more(other.length - MOST_NAMED));
  if (!other.length) return words.decide.takeOff(gone.map(({ quantity, name }) => words.of(quantity, name)));
  return words.decide.changeTo(named, stays);
}

function numbersOf(lines) {
  const numbers = new Map();
  for (const { kit_type_id: id, name, quantity } of lines) {
    numbers.set(id, { id, name, quantity: quantity + (numbers.get(id)?.quantity ?? 0) });
  }
  return numbers;
}

function costOf(option, unit) {
  const { answer } = words;
  const shift = option.shift_s;
  return [
    shift < 0 && answer.earlier(lengthText(-shift)),
    shift > 0 && answer.later(lengthText(shift)),
    outsideText(option, unit),
  ];
}

/**
 * The changes that mend a confirmed booking which lacks `item.short_by` of a kit type: other pieces of
 * it where a judge finds some, what can stand in, and at the end going without.
 */
export function changesInstead(booking, item, { answer, options }, today) {
  const lines = liveLines(booking);
  const short = lines.find((line) => line.kit_type_id === item.kit_type_id && line.quantity >= item.short_by);
  if (!short) return [];
  const fewer = lines.filter((line) => line !== short || line.quantity > item.short_by)
    .map((line) => (line === short ? { ...line, quantity: line.quantity - item.short_by } : line));
  const rest = fewer.map(kept);
  const textOf = (option) => (option.kind === "straight" ? words.decide.straight(straightTexts(option, today)) : differenceText(lines, [...fewer, ...option.lines]));
  const others = answer === "yes"
    ? [{ text: words.decide.otherPieces(item.short_by), body: { lines: [...rest, { kit_type_id: item.kit_type_id, quantity: item.short_by }] } }]
    : options.filter((option) => STAND_INS.includes(option.kind)).slice(0, MOST)
      .map((option) => ({ text: textOf(option), body: { lines: [...rest, ...option.body.lines] } }));
  const without = rest.length ? [{ text: words.decide.goWithout(item.short_by, item.kit_type), body: { lines: rest }, without: true }] : [];
  return [...others, ...without];
}

const kept = (line) => (line.item_id ? { id: line.id, item_id: line.item_id } : { id: line.id, kit_type_id: line.kit_type_id, quantity: line.quantity });
