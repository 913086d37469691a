// What a booking is, in words: its radios and other kit, its days. Pure.

import { words } from "../all_words.js";
import { addDays, dateOf, daysText, spanText } from "../when.js";

export const PARTS = ["pack", "receiver", "lavalier", "batterie", "battery", "pouche", "pouch", "frequencie", "frequency"];
const MOST_NAMED = 3;

export const category = (line) => line.category.toLowerCase().replace(/s$/, "");
export const isPack = (line) => category(line) === "pack";
const left = (line) => (line.state === "released" ? 0 : line.quantity); // what was released of a line is no longer in its number

/** How many radios a booking holds: its packs. */
export function radiosOf(lines) {
  return lines.filter(isPack).reduce((sum, line) => sum + left(line), 0);
}

/** "6 radios and 1 × Long arm": a radio's parts are not named beside it. */
export function bookedText(booking) {
  const radios = radiosOf(booking.lines);
  const others = booking.lines.filter((line) => left(line) > 0 && !(radios && PARTS.includes(category(line))));
  const numbers = new Map();
  for (const line of others) numbers.set(line.name, (numbers.get(line.name) ?? 0) + left(line));
  const named = [...numbers].slice(0, MOST_NAMED).map(([name, number]) => words.of(number, name));
  if (numbers.size > MOST_NAMED) named.push(words.more(numbers.size - MOST_NAMED));
  return words.ask.what(radios, named);
}

/**
 * The booking's days by the unit's numbers where `strip` knows them ("D9 and D10"), else its span.
 * A wrap after midnight belongs to the day of its call.
 */
export function bookedDays(booking, strip, today) {
  const last = strip.at(-1)?.date;
  const to = dateOf(booking.end);
  if (!last || addDays(to, -1) > last) return spanText(booking.start, booking.end, today);
  const days = strip
    .filter((day) => dateOf(booking.start) <= day.date && day.date <= to)
    .map((day) => ({ date: day.date, unit: day.units.find((unit) => unit.unit_id === booking.unit_id) }))
    .filter((day) => day.unit?.number && !(day.unit.call && day.unit.call >= booking.end))
    .map((day) => ({ date: day.date, number: day.unit.number }));
  return days.length ? daysText(days, today) : spanText(booking.start, booking.end, today);
}
