// The day strip: days with the unit's own number, a bar a unit, and in words what is wrong.

import { h, patch } from "../build.js";
import { holds, pressed, walked, withSpan } from "../span.js";
import { dayOfMonth, longDay, weekday } from "../when.js";
import { words } from "../words.js";

const STEPS = { ArrowLeft: -1, ArrowRight: 1 };

/** What one day says: { name, date, number, words, spoken, bars }. Pure. */
export function dayModel(day, { homeUnit, today }) {
  const home = day.units.find((unit) => unit.unit_id === homeUnit);
  const number = home?.number ?? null;
  const name = [weekday(day.date), number && words.time.dayNumber(number)].filter(Boolean).join(" · ");
  const trouble = [
    day.short ? words.strip.clashes(day.short) : "",
    day.at_risk ? words.strip.atRisk(day.at_risk) : "",
    day.late ? words.strip.late(day.late) : "",
  ].filter(Boolean);
  const working = day.units.filter((unit) => unit.working).map((unit) => unit.unit);
  const date = dayOfMonth(day.date);
  const spoken = [ // what is seen comes first, as it is seen: whoever speaks to the page says that
    `${name} ${date}`,
    ...trouble,
    longDay(day.date) + (day.date === today ? `, ${words.strip.today}` : ""),
    words.strip.working(working),
  ].join(", ");
  return { name, date, trouble, spoken, bars: day.units.map((unit) => unit.working) };
}

/**
 * Draws the strip into `host`. `view`: { days, today, span, homeUnit, stretch, url, go, move };
 * `stretch` means that a later day widens the span, as in Ask.
 */
export function drawStrip(host, view) {
  const first = !host.firstChild;
  const choose = (span) => view.go(withSpan(view.url, span), { replace: true });
  const focusDate = focusable(view);
  patch(host,
    stepButton("earlier", "‹", words.strip.earlier, () => view.move(-1)),
    h("div", { class: "strip-days", role: "group", "aria-label": words.strip.days, "data-key": "days", onkeydown: (event) => walk(event, host, view, choose) },
      view.days.map((day) => dayButton(day, view, focusDate, choose))),
    stepButton("later", "›", words.strip.later, () => view.move(1)));
  if (first) showDay(host, view.today);
}

function focusable({ days, span, today }) {
  const wanted = span?.from ?? today;
  return days.some((day) => day.date === wanted) ? wanted : days[0]?.date;
}

function stepButton(key, text, label, onclick) {
  return h("button", { type: "button", class: "quiet strip-step", "data-key": key, "aria-label": label, onclick }, text);
}

function dayButton(day, view, focusDate, choose) {
  const model = dayModel(day, view);
  const chosen = holds(view.span, day.date);
  const kind = `day${chosen ? " day-chosen" : ""}${day.date === view.today ? " day-today" : ""}`;
  return h("button", {
    type: "button", class: kind, "data-key": day.date, "data-date": day.date,
    "aria-pressed": String(chosen), "aria-label": model.spoken,
    "aria-current": day.date === view.today ? "date" : null,
    tabindex: day.date === focusDate ? 0 : -1,
    onclick: (event) => choose(pressed(view.span, day.date, { stretch: view.stretch || event.shiftKey })),
  },
  h("span", { class: "day-name" }, model.name), " ",
  h("span", { class: "day-date" }, model.date),
  h("span", { class: "day-units" },
    model.bars.map((works) => h("span", { class: works ? "day-unit day-unit-works" : "day-unit" }))),
  model.trouble.map((text) => [" ", h("span", { class: "day-word" }, text)]));
}

function walk(event, host, view, choose) {
  const step = STEPS[event.key];
  if (!step) return;
  event.preventDefault();
  const span = walked(view.span, step, { today: view.today, stretch: event.shiftKey });
  choose(span);
  const date = step < 0 ? span.from : span.to;
  showDay(host, date);
  host.querySelector(`[data-date="${date}"]`)?.focus();
}

/** Scrolls the strip so that a day is seen, with the day before it where there is room. */
function showDay(host, date) {
  const list = host.querySelector(".strip-days");
  const day = host.querySelector(`[data-date="${date}"]`);
  if (!day) return;
  const seen = day.offsetLeft >= list.scrollLeft && day.offsetLeft + day.offsetWidth <= list.scrollLeft + list.clientWidth;
  if (!seen || list.scrollLeft === 0) list.scrollLeft = day.offsetLeft - day.offsetWidth;
}
