// Times as text. The wall time stands inside the RFC 3339 string and is shown as it stands there:
// the browser never converts it, since its zone data may differ from the pool's.

import { words } from "./words.js";

const DAY_MS = 86400000;
const FAR_YEAR = "2100";

/** The local date and time written in an instant: "2026-11-26T06:00:00+00:00" → 2026-11-26, 06:00. */
export function wall(instant) {
  return { date: instant.slice(0, 10), time: instant.slice(11, 16) };
}

export const dateOf = (instant) => instant.slice(0, 10);
export const timeOf = (instant) => instant.slice(11, 16);

/** Seconds since 1970, for differences only. */
export function secondsOf(instant) {
  return Date.parse(instant) / 1000;
}

/** The same wall clock, so many seconds later: good for minutes and hours of ageing. */
export function laterBy(instant, seconds) {
  const offset = instant.slice(19);
  const local = Date.parse(`${instant.slice(0, 19)}Z`) + Math.round(seconds) * 1000;
  return new Date(local).toISOString().slice(0, 19) + offset;
}

function number(date) {
  return Date.parse(`${date}T00:00:00Z`) / DAY_MS;
}

export function addDays(date, days) {
  return new Date((number(date) + days) * DAY_MS).toISOString().slice(0, 10);
}

/** Days from one date to another: negative when `to` is earlier. */
export function daysBetween(from, to) {
  return number(to) - number(from);
}

function weekdayNumber(date) {
  return new Date(`${date}T00:00:00Z`).getUTCDay();
}

export const weekday = (date) => words.time.weekdays[weekdayNumber(date)];
export const dayOfMonth = (date) => String(Number(date.slice(8)));
const month = (date) => words.time.months[Number(date.slice(5, 7)) - 1];

/** "Thu 26", with the month once the date lies more than six days off: "Thu 3 Dec". */
export function dayText(date, today) {
  const near = today && Math.abs(daysBetween(today, date)) < 7;
  return `${weekday(date)} ${dayOfMonth(date)}${near ? "" : ` ${month(date)}`}`;
}

/** "Wednesday 25 November": for reading out. */
export function longDay(date) {
  const long = words.time.long;
  return `${long.weekdays[weekdayNumber(date)]} ${dayOfMonth(date)} ${long.months[Number(date.slice(5, 7)) - 1]}`;
}

/**
 * "14:05" today, "Thu 06:00" in the six days to come, "Thu 3 Dec 06:00" beyond. A day that is past
 * carries its date, "Tue 24 19:30": the weekday alone would be read as the one to come.
 */
export function momentText(instant, today) {
  if (isForever(instant)) return words.time.forever;
  return dateOf(instant) === today ? timeOf(instant) : named(instant, today);
}

/** "Wed 20:00", today's too: where the day stands beside another one. */
export const dayMoment = (instant, today) => (isForever(instant) ? words.time.forever : named(instant, today));

/** "wed": the day's name in a table of opening hours. */
export const weekdayKey = (date) => ["sun", "mon", "tue", "wed", "thu", "fri", "sat"][weekdayNumber(date)];

/** "Thu 06:00 to 19:00", "Thu 06:00 to Fri 20:00"; today's name is left out only by `momentText`. */
export function spanText(start, end, today) {
  const from = named(start, today);
  if (isForever(end)) return words.time.on(from);
  if (dateOf(start) === dateOf(end)) return words.time.to(from, timeOf(end));
  return words.time.to(from, named(end, today));
}

function named(instant, today) {
  const date = dateOf(instant);
  const ahead = today ? daysBetween(today, date) : -1;
  return `${ahead >= 0 && ahead < 7 ? weekday(date) : dayText(date, today)} ${timeOf(instant)}`;
}

/** An end that is null, or lies beyond the years that are kept. */
export const isForever = (instant) => instant === null || instant.slice(0, 4) >= FAR_YEAR;

/** "40 min", "3 h", "2 days": rounded down, for how late or how long. */
export function lengthText(seconds) {
  if (seconds < 3600) return words.time.minutes(Math.max(1, Math.floor(seconds / 60)));
  if (seconds < 48 * 3600) return words.time.hours(Math.floor(seconds / 3600));
  return words.time.days(Math.floor(seconds / 86400));
}

/** Days in words with a unit's own day numbers: "D9 and D10", "Sat 28", "Thu 26 to Tue 1 Dec". */
export function daysText(days, today) {
  const name = (day) => (day.number ? words.time.dayNumber(day.number) : dayText(day.date, today));
  if (days.length === 1) return name(days[0]);
  if (days.length === 2) return words.and([name(days[0]), name(days[1])]);
  return words.time.to(name(days[0]), name(days.at(-1)));
}
