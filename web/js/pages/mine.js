// Mine: the unit's reminders, its bookings, what it has out and when that is due. For the house's
// people, who have no unit, the bookings of all units, or of one that they choose.

import { words } from "../all_words.js";
import { readAll } from "../api.js";
import { h, patch } from "../build.js";
import { isLive } from "../line_model.js";
import { forgetLight, lightIsChosen } from "../light.js";
import { bookedText } from "../parts/booked.js";
import { stateFrames } from "../parts/booking_view.js";
import { frame } from "../parts/frame.js";
import { answerReminder, reminderRow } from "../parts/reminder.js";
import { nowFor, todayFor } from "../pulse.js";
import { homeUnit, may, remindedOf } from "../rights.js";
import { addDays, momentText, secondsOf, spanText } from "../when.js";

const OPEN_STATES = new Set(["coming", "due", "seen"]);
const PAST_DAYS = 14;

export function open({ root, url, session, leave, go, say, named, signOut, beat }) {
  const today = () => todayFor(session);
  const now = () => nowFor(session);
  const own = session.account.unit_ids;
  const units = session.units.filter((one) => !own.length || own.includes(one.id));
  let unit = wantedUnit(); // null: all of them
  let found = null; // { custody, bookings, reminders }
  let problem = null;
  draw();
  load();

  function wantedUnit() {
    return units.find((one) => one.id === url.searchParams.get("unit")) ?? (own.length ? homeUnit(session) : null);
  }

  async function load() {
    const asked = unit?.id;
    const of = asked ? { unit: asked } : {};
    const since = `${addDays(today(), -PAST_DAYS)}T00:00:00${session.now.slice(19)}`;
    const options = { signal: leave };
    const [custody, bookings, reminders] = await Promise.all([
      readAll(`/custody?${new URLSearchParams(of)}`, "custody", options),
      readAll(`/bookings?${new URLSearchParams({ ...of, from: since })}`, "bookings", options),
      readAll("/reminders", "reminders", options),
    ]);
    if (leave.aborted || asked !== unit?.id) return;
    problem = [custody, bookings, reminders].find((answer) => !answer.ok)?.problem ?? null;
    if (!problem) found = { custody: custody.body, bookings: bookings.body, reminders: reminders.body.filter(isMine) };
    draw();
  }

  const isMine = (reminder) => (!unit || reminder.unit_id === unit.id) && remindedOf(session, reminder) && OPEN_STATES.has(reminder.state);

  async function onAnswer(reminder, verb) {
    const answer = await answerReminder(reminder, verb);
    say(answer.ok ? words.reminder.answered[verb] : words.problem.other(answer.problem));
    if (answer.ok) beat();
    load();
  }

  function draw() {
    const title = unit ? words.mine.titleOf(unit.name) : words.mine.all;
    named(title);
    patch(root,
      h("div", { class: "page-head", "data-key": "head" }, h("h1", {}, title), h("div", { class: "presses no-paper" }, units.length > 1 && unitField(), accountPresses())),
      problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, words.problem.other(problem)),
      !found && !problem && h("p", { class: "muted", "data-key": "loading" }, words.loading),
      found && h("div", { class: "columns", "data-key": "columns" }, unit ? [bookingsPart(), remindersPart(), outPart()] : [bookingsPart(), outPart(), remindersPart()]));
  }

  function remindersPart() {
    const answer = may(session, "remind") ? onAnswer : null;
    return part("reminders", words.mine.reminders, found.reminders.map((row) => reminderRow(row, { today: today(), answer })), words.mine.noReminders);
  }

  function bookingsPart() {
    const { running, coming, past } = inOrder(found.bookings, now());
    const rows = (some) => some.map((booking) => bookingRow(booking, today(), !unit));
    const head = (key, text) => h("li", { class: "rows-day", "data-key": key }, text);
    const list = [...(running.length ? [head("running", words.mine.running), ...rows(running)] : []), ...(coming.length ? [head("coming", words.mine.coming), ...rows(coming)] : [])];
    const ended = past.length > 0 && h("details", { "data-key": "past" }, h("summary", {}, words.mine.past(past.length)), h("ul", {}, rows(past)));
    return part("bookings", words.mine.bookings, list, words.mine.nothingBooked, ended);
  }

  function outPart() {
    if (unit) return part("out", words.mine.out, byKit(found.custody).map((row) => outRow(row, today())), words.mine.nothingOut);
    return part("out", words.mine.outAll, byUnit(found.custody).map(unitRow), words.mine.nothingOut);
  }

  function unitField() {
    const choose = (event) => go(event.target.value ? `/mine?unit=${event.target.value}` : "/mine", { replace: true });
    return h("label", { class: "choice" }, h("span", { class: "muted" }, words.mine.unit),
      h("select", { value: unit?.id ?? "", onchange: choose }, !own.length && h("option", { value: "" }, words.mine.everyUnit), units.map((one) => h("option", { value: one.id }, one.name))));
  }

  function accountPresses() {
    return [
      h("a", { class: "press", "data-key": "office", href: may(session, "walls") ? "/office/links" : "/office" }, may(session, "walls") ? words.mine.links : words.mine.office),
      h("button", { type: "button", class: "press", "data-key": "out", onclick: signOut }, words.mine.signOut),
      lightIsChosen() && h("button", { type: "button", class: "press", "data-key": "light", onclick: () => { forgetLight(); location.reload(); } }, words.mine.lightAuto),
    ];
  }

  return {
    draw,
    refresh: load,
    turn(next) {
      url = next;
      const wanted = wantedUnit();
      if (wanted !== unit) found = null;
      unit = wanted;
      draw();
      load();
    },
  };
}

/** Bookings as they are looked for: those under way and those to come, by their start; the past, last first. Pure. */
export function inOrder(bookings, now) {
  const at = secondsOf(now);
  const isAhead = (one) => isLive(one) && secondsOf(one.end) > at;
  const ahead = bookings.filter(isAhead).sort((a, b) => secondsOf(a.start) - secondsOf(b.start) || secondsOf(a.end) - secondsOf(b.end));
  return {
    running: ahead.filter((one) => secondsOf(one.start) <= at),
    coming: ahead.filter((one) => secondsOf(one.start) > at),
    past: bookings.filter((one) => !isAhead(one)).sort((a, b) => secondsOf(b.end) - secondsOf(a.end)),
  };
}

/** What is out, one row for each kit type, due time and person: { …, quantity, tags }. Pure. */
export function byKit(custody) {
  const rows = new Map();
  for (const one of custody) {
    const key = [one.kit_type_id, one.due_at, one.person ?? "", one.overdue].join("|");
    const row = rows.get(key) ?? { ...one, key, quantity: 0, tags: [] };
    row.quantity += one.quantity;
    if (one.tag) row.tags.push(one.tag);
    rows.set(key, row);
  }
  return [...rows.values()].sort((a, b) => b.overdue - a.overdue || secondsOf(a.due_at) - secondsOf(b.due_at));
}

/** What is out, one row for each unit: { unit_id, unit, quantity, late }. Pure. */
export function byUnit(custody) {
  const rows = new Map();
  for (const { unit_id: id, unit, quantity, overdue } of custody) {
    const row = rows.get(id) ?? { unit_id: id, unit, quantity: 0, late: 0 };
    rows.set(id, { ...row, quantity: row.quantity + quantity, late: row.late + (overdue ? quantity : 0) });
  }
  return [...rows.values()].sort((a, b) => b.late - a.late || b.quantity - a.quantity);
}

function part(key, title, rows, nothing, after = null) {
  return h("section", { class: "part", "data-key": key, "aria-labelledby": `mine-${key}` }, h("h2", { id: `mine-${key}` }, title),
    rows.length ? h("ul", {}, rows) : h("p", { class: "nothing" }, nothing), after);
}

function unitRow(row) {
  return h("li", { class: "row row-number", "data-key": row.unit_id },
    h("span", { class: "row-when" }, String(row.quantity)),
    h("span", { class: "row-what" }, h("a", { href: `/mine?unit=${row.unit_id}` }, row.unit)),
    h("span", { class: "row-side" }, row.late ? frame("late", words.strip.late(row.late)) : frame("out", words.now.out)));
}

function outRow(row, today) {
  return h("li", { class: "row row-number", "data-key": row.key },
    h("span", { class: "row-when" }, String(row.quantity)),
    h("span", { class: "row-what" }, h("a", { href: `/kit/${row.kit_type_id}` }, row.kit_type),
      h("small", {}, words.dotted([words.mine.due(momentText(row.due_at, today)), row.person, row.tags.length ? words.reminder.tags(row.tags) : ""]))),
    h("span", { class: "row-side" }, row.overdue ? frame("late", words.now.late) : frame("out", words.now.out)));
}

function bookingRow(booking, today, withUnit) {
  const what = bookedText(booking);
  const title = words.dotted([withUnit && booking.unit, booking.purpose || what]);
  return h("li", { class: "row row-wide", "data-key": booking.id },
    h("span", { class: "row-what" }, h("a", { href: `/booking/${booking.id}` }, title),
      h("small", {}, words.dotted([spanText(booking.start, booking.end, today), booking.purpose ? what : ""]))),
    h("span", { class: "row-side" }, stateFrames(booking, null)));
}
