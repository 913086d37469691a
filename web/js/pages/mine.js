// Mine: the unit's reminders, its bookings, what it has out and when that is due; and who is signed in.

import { read, readAll } from "../api.js";
import { h, patch } from "../build.js";
import { forgetLight, lightIsChosen } from "../light.js";
import { bookedText } from "../parts/booked.js";
import { stateFrames } from "../parts/booking_view.js";
import { frame } from "../parts/frame.js";
import { answerReminder, reminderRow } from "../parts/reminder.js";
import { wallLinks } from "../parts/wall_links.js";
import { boardNow, poolNow } from "../pulse.js";
import { homeUnit, may, remindedOf } from "../rights.js";
import { dateOf, momentText, secondsOf, spanText } from "../when.js";
import { words } from "../words.js";

const OPEN_STATES = new Set(["coming", "due", "seen"]);

export function open({ root, url, session, leave, go, say, named, signOut, beat }) {
  const today = () => boardNow()?.today ?? dateOf(session.now);
  const walls = may(session, "walls") ? wallLinks({ leave, redraw: draw, say, today }) : null;
  const units = session.units.filter((one) => !session.account.unit_ids.length || session.account.unit_ids.includes(one.id));
  let unit = wantedUnit();
  let found = null; // { custody, bookings, reminders }
  let problem = null;
  named(words.mine.title);
  draw();
  load();
  walls?.load();

  function startOfToday() {
    return `${today()}T00:00:00${session.now.slice(19)}`;
  }

  function wantedUnit() {
    return units.find((one) => one.id === url.searchParams.get("unit")) ?? homeUnit(session);
  }

  async function load() {
    if (!unit) return;
    const asked = unit.id;
    const options = { signal: leave };
    const [custody, bookings, reminders] = await Promise.all([
      readAll(`/custody?unit=${asked}`, "custody", options),
      readAll(`/bookings?${new URLSearchParams({ unit: asked, from: startOfToday() })}`, "bookings", options),
      readAll("/reminders", "reminders", options),
    ]);
    if (leave.aborted || asked !== unit.id) return;
    problem = [custody, bookings, reminders].find((answer) => !answer.ok)?.problem ?? null;
    if (!problem) found = { custody: custody.body, bookings: bookings.body, reminders: reminders.body.filter(isMine) };
    draw();
  }

  const isMine = (reminder) => reminder.unit_id === unit.id && remindedOf(session, reminder) && OPEN_STATES.has(reminder.state);

  async function onAnswer(reminder, verb) {
    const answer = await answerReminder(reminder, verb);
    say(answer.ok ? words.reminder.answered[verb] : words.problem.other(answer.problem));
    if (answer.ok) beat();
    load();
  }

  function draw() {
    const day = today();
    patch(root,
      h("div", { class: "page-head", "data-key": "head" }, h("h1", {}, unit ? words.mine.titleOf(unit.name) : words.mine.title), units.length > 1 && unitField()),
      problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, words.problem.other(problem)),
      unit && !found && !problem && h("p", { class: "muted", "data-key": "loading" }, words.loading),
      found && h("div", { class: "columns", "data-key": "columns" },
        part("reminders", words.mine.reminders, found.reminders.map((row) => reminderRow(row, { today: day, answer: may(session, "remind") ? onAnswer : null })), words.mine.noReminders),
        part("bookings", words.mine.bookings, found.bookings.filter(isAhead).map((booking) => bookingRow(booking, day)), words.mine.nothingBooked),
        part("out", words.mine.out, byKit(found.custody).map((row) => outRow(row, day)), words.mine.nothingOut)),
      walls?.draw(),
      accountPart());
  }

  const isAhead = (booking) => ["confirmed", "pencilled"].includes(booking.state) && secondsOf(booking.end) > secondsOf(poolNow() ?? session.now);

  function unitField() {
    const choose = (event) => go(`/mine?unit=${event.target.value}`, { replace: true });
    return h("label", { class: "choice no-paper" }, h("span", { class: "muted" }, words.mine.unit),
      h("select", { value: unit?.id ?? "", onchange: choose }, units.map((one) => h("option", { value: one.id }, one.name))));
  }

  function accountPart() {
    return h("section", { class: "part part-set", "data-key": "account", "aria-labelledby": "account-title" },
      h("h2", { id: "account-title" }, words.mine.account),
      h("p", {}, words.bar.account(session.account)),
      h("div", { class: "presses" },
        h("button", { type: "button", class: "press", onclick: signOut }, words.mine.signOut),
        lightIsChosen() && h("button", { type: "button", class: "press", "data-key": "light", onclick: () => { forgetLight(); location.reload(); } }, words.mine.lightAuto)));
  }

  return {
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

function part(key, title, rows, nothing) {
  return h("section", { class: "part", "data-key": key, "aria-labelledby": `mine-${key}` }, h("h2", { id: `mine-${key}` }, title),
    rows.length ? h("ul", {}, rows) : h("p", { class: "nothing" }, nothing));
}

function outRow(row, today) {
  return h("li", { class: "row row-number", "data-key": row.key },
    h("span", { class: "row-when" }, String(row.quantity)),
    h("span", { class: "row-what" }, h("a", { href: `/kit/${row.kit_type_id}` }, row.kit_type),
      h("small", {}, words.dotted([words.mine.due(momentText(row.due_at, today)), row.person, row.tags.length ? words.reminder.tags(row.tags) : ""]))),
    h("span", { class: "row-side" }, row.overdue ? frame("late", words.now.late) : frame("out", words.now.out)));
}

function bookingRow(booking, today) {
  return h("li", { class: "row row-wide", "data-key": booking.id },
    h("span", { class: "row-what" }, h("a", { href: `/booking/${booking.id}` }, booking.purpose || bookedText(booking)),
      h("small", {}, words.dotted([spanText(booking.start, booking.end, today), booking.purpose ? bookedText(booking) : ""]))),
    h("span", { class: "row-side" }, stateFrames(booking, null)));
}
