// The days chosen on the strip, and which days the strip shows. The URL holds both.

import { addDays } from "./when.js";

export const STRIP_DAYS = 9;
const BEFORE_TODAY = 2;

/** { from, to } of a URL, or null when no day is chosen there. */
export function spanOf(url) {
  const from = url.searchParams.get("from");
  const to = url.searchParams.get("to") ?? from;
  if (!isDate(from) || !isDate(to)) return null;
  return to < from ? { from: to, to: from } : { from, to };
}

const isDate = (text) => /^\d{4}-\d{2}-\d{2}$/.test(text ?? "");

/** A URL like `url` with the span in it, or without one. */
export function withSpan(url, span) {
  const next = new URL(url);
  for (const name of ["from", "to"]) next.searchParams.delete(name);
  if (span) {
    next.searchParams.set("from", span.from);
    if (span.to !== span.from) next.searchParams.set("to", span.to);
  }
  return next;
}

/** The strip's first day: two days before today, moved only as far as the span, or `step`, asks. */
export function firstDay(today, span, step = 0) {
  let first = addDays(today, step * (STRIP_DAYS - BEFORE_TODAY) - BEFORE_TODAY);
  if (step || !span) return first;
  if (span.from < first) first = span.from;
  const last = addDays(first, STRIP_DAYS - 1);
  return span.to > last ? earlier(addDays(span.to, 1 - STRIP_DAYS), span.from) : first;
}

const earlier = (one, other) => (one < other ? one : other);

/** What pressing a day makes of the span. `stretch` (Ask, or Shift held): a later day widens it. */
export function pressed(span, date, { stretch = false } = {}) {
  if (!span) return { from: date, to: date };
  if (!stretch) return span.from === date && span.to === date ? null : { from: date, to: date };
  if (span.from === span.to && date > span.from) return { from: span.from, to: date };
  return { from: date, to: date };
}

/** What an arrow key makes of it: a step, or with Shift a longer or shorter span. */
export function walked(span, step, { today, stretch = false }) {
  if (!span) return { from: today, to: today };
  if (!stretch) {
    const date = addDays(step < 0 ? span.from : span.to, step);
    return { from: date, to: date };
  }
  const to = addDays(span.to, step);
  return to < span.from ? span : { from: span.from, to };
}

export const holds = (span, date) => Boolean(span) && span.from <= date && date <= span.to;
