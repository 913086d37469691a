// Now: decisions first, then what goes out, what comes back, and what is due.

import { h, patch } from "../build.js";
import { decisions } from "../parts/decision.js";
import { frame } from "../parts/frame.js";
import { answerReminder, reminderRow } from "../parts/reminder.js";
import { boardNow } from "../pulse.js";
import { concerns, may, remindedOf } from "../rights.js";
import { holds, spanOf } from "../span.js";
import { addDays, dateOf, dayText, momentText } from "../when.js";
import { words } from "../words.js";

const OUT_FRAMES = { prepare: "confirmed", part_out: "out", out: "out" };

export function open({ root, url, session, say, named, beat }) {
  let span = spanOf(url);
  const deciding = decisions({ session, say, beat, redraw: draw });
  const answer = may(session, "remind") ? onAnswer : null;
  named(words.now.title);
  draw();

  async function onAnswer(reminder, verb) {
    const result = await answerReminder(reminder, verb);
    say(result.ok ? words.reminder.answered[verb] : words.problem.other(result.problem));
    if (result.ok) beat();
  }

  function draw() {
    const board = boardNow();
    if (!board) return patch(root, h("h1", { class: "spoken" }, words.now.title), h("p", { class: "muted" }, words.loading));
    const { today } = board;
    const decide = board.decide.filter((item) => concerns(session, item));
    const shown = span ?? { from: today, to: addDays(today, 1) };
    const within = (instant, late) => late || holds(shown, dateOf(instant)) || (!span && dateOf(instant) < today);
    patch(root,
      h("h1", { class: "spoken" }, words.now.title),
      h("p", { class: "phone-only page-head" }, h("span", { class: "muted" }, words.now.counts(board.counts)),
        h("a", { class: "quiet", href: `/days${url.search}` }, words.now.daysLink)),
      h("div", { class: "columns" },
        part("decide", words.now.decide(decide.length), decide.map((item) => deciding.draw(item, today)), words.now.nothingToDecide, "part-first"),
        h("div", { class: "stack" },
          part("out", words.now.goingOut, byDay(board.going_out.filter((row) => within(row.at)), "at", today, outRow), words.now.nothingOut),
          part("back", words.now.comingBack, byDay(board.coming_back.filter((row) => within(row.at, row.late)), "at", today, backRow), words.now.nothingBack)),
        h("div", { class: "side" },
          part("reminders", words.now.reminders, board.reminders.filter((row) => remindedOf(session, row) && within(row.due_at, row.state === "due"))
            .map((row) => reminderRow(row, { today, answer })), words.now.noReminders))));
  }

  return {
    span: () => boardNow() && { from: boardNow().today, to: boardNow().today },
    refresh: draw,
    turn(next) {
      url = next;
      span = spanOf(url);
      draw();
    },
  };
}

function part(key, title, rows, nothing, kind = "") {
  return h("section", { class: `part ${kind}`, "data-key": key, "aria-labelledby": `part-${key}` },
    h("h2", { id: `part-${key}` }, title),
    rows.length ? h("ul", {}, rows) : h("p", { class: "nothing" }, nothing));
}

/** Rows in order, with a line for each day but today. */
function byDay(rows, instant, today, draw) {
  let day = today;
  return rows.flatMap((row) => {
    const date = dateOf(row[instant]);
    const head = date === day ? [] : [h("li", { class: "rows-day", "data-key": `day-${date}` }, dayText(date, today))];
    day = date;
    return [...head, draw(row, today)];
  });
}

function outRow(row) {
  return h("li", { class: "row", "data-key": `out-${row.booking_id}-${row.at}` },
    h("span", { class: "row-when" }, row.at.slice(11, 16)),
    h("span", { class: "row-what" },
      h("a", { href: `/booking/${row.booking_id}` }, words.now.outRow(row)),
      h("small", {}, words.dotted([row.purpose, row.boxes.length ? words.now.boxes(row.boxes) : ""]))),
    h("span", { class: "row-side" }, frame(OUT_FRAMES[row.state], words.now.states[row.state])));
}

function backRow(row, today) {
  const what = words.now.kit(row.kit);
  return h("li", { class: "row", "data-key": `back-${row.booking_id ?? row.unit_id}-${row.at}-${what}` },
    h("span", { class: "row-when" }, row.late ? momentText(row.at, today) : row.at.slice(11, 16)),
    h("span", { class: "row-what" },
      row.booking_id ? h("a", { href: `/booking/${row.booking_id}` }, `${words.now.backRow(row)} · ${words.pieces(row.pieces)}`) : `${words.now.backRow(row)} · ${words.pieces(row.pieces)}`,
      h("small", {}, what)),
    h("span", { class: "row-side" }, row.late ? frame("late", words.now.late) : frame("out", words.now.out)));
}
