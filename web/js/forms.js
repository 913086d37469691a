// Turns what was typed into typed values, or into a sentence that says what to mend.

import { words } from "./all_words.js";

const good = (value) => ({ value, wrong: null });
const bad = (wrong) => ({ value: null, wrong });

/** A whole number from `least` to `most`; spaces around it do not matter. */
export function wholeNumber(text, { least = 0, most = 9999 } = {}) {
  const trimmed = String(text ?? "").trim();
  if (!/^\d+$/.test(trimmed)) return bad(words.forms.wholeNumber);
  const value = Number(trimmed);
  if (value < least || value > most) return bad(words.forms.between(least, most));
  return good(value);
}

/** Text that is not empty, trimmed, at most `most` characters long. */
export function someText(text, { name, most = 200 } = {}) {
  const trimmed = String(text ?? "").trim();
  if (!trimmed) return bad(words.forms.missing(name));
  if ([...trimmed].length > most) return bad(words.forms.tooLong(name, most));
  return good(trimmed);
}

/** "2026-11-26": a day that exists. */
export function day(text) {
  const trimmed = String(text ?? "").trim();
  const exists = /^\d{4}-\d{2}-\d{2}$/.test(trimmed) && isDay(trimmed);
  return exists ? good(trimmed) : bad(words.forms.day);
}

function isDay(text) {
  const date = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(date.getTime()) && date.toISOString().startsWith(text);
}

/** "06:00", "6:00", "0600" or "6" → "06:00": cold hands type short. */
export function clockTime(text) {
  const found = /^(\d{1,2})(?:[:.]?(\d{2}))?$/.exec(String(text ?? "").trim());
  if (!found || found[1] > 23 || (found[2] ?? 0) > 59) return bad(words.forms.time);
  return good(`${found[1].padStart(2, "0")}:${found[2] ?? "00"}`);
}

/** A local moment as the service takes it: { day, time }. */
export function moment(dayText, timeText) {
  const date = day(dayText);
  const time = clockTime(timeText);
  if (date.wrong || time.wrong) return bad(date.wrong ?? time.wrong);
  return good({ day: date.value, time: time.value });
}

/**
 * Reads a form by a plan of { field: reader }. Marks what is wrong at the field itself and returns
 * { values, wrong }: `wrong` is the first sentence, or null.
 */
export function readForm(form, plan) {
  const values = {};
  let wrong = null;
  for (const [name, reader] of Object.entries(plan)) {
    const field = form.elements[name];
    const result = reader(field.value);
    values[name] = result.value;
    if (field.setAttribute) field.setAttribute("aria-invalid", String(Boolean(result.wrong)));
    if (result.wrong && !wrong) {
      wrong = result.wrong;
      field.focus?.();
    }
  }
  return { values, wrong };
}
