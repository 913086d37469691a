// Now: decisions first, then what goes out, what comes back, and what is due. A day chosen on the
// strip shows its own; without one today and tomorrow stand there, and all that is late.

import { h, patch } from "../build.js";
import { decisions, decisionsFor } from "../parts/decision.js";
import { frame } from "../parts/frame.js";
import { backNote, backState, outNote, outState } from "../parts/moves.js";
import { answerReminder, reminderRow } from "../parts/reminder.js";
import { boardNow, poolNow } from "../pulse.js";
import { may, remindedOf } from "../rights.js";
import { holds, spanOf, withSpan } from "../span.js";
import { addDays, dateOf, dayText, momentText, timeOf } from "../when.js";
import { words } from "../words.js";

export function open({ root, url, session, leave, say, named, beat }) {
  let span = spanOf(url);
  const deciding = decisions({ session, say, beat, redraw: draw });
  const answer = may(session, "remind") ? onAnswer : null;
  let steps = null; // of a pool that is still empty
  named(words.now.title);
  draw();

  /** On a bare board a coordinator may have everything still to do: what, the steps find out. */
  async function findSteps(board) {
    if (!steps && may(session, "import") && isBare(board)) steps = (await import("../office/first_steps.js").catch(() => null))?.firstSteps({ leave, redraw: draw });
    steps?.load();
  }
  if (boardNow()) findSteps(boardNow());

  async function onAnswer(reminder, verb) {
    const result = await answerReminder(reminder, verb);
    say(result.ok ? words.reminder.answered[verb] : words.problem.other(result.problem));
    if (result.ok) beat();
  }

  function draw() {
    const board = boardNow();
    if (!board) return patch(root, h("h1", { class: "spoken" }, words.now.title), h("p", { class: "muted" }, words.loading));
    const { today } = board;
    const decide = decisionsFor(session, board.decide, span);
    const shown = span ?? { from: today, to: addDays(today, 1) };
    const catching = holds(shown, today); // what should have happened by now is today's
    const within = (instant, late) => holds(shown, dateOf(instant)) || (catching && (late || dateOf(instant) < today));
    const nothing = (text) => (shown.to < today ? words.now.past : text);
    const cards = decide.shown.map((item) => deciding.draw(item, { today, now: poolNow() }));
    if (decide.others) cards.push(h("li", { class: "rows-day", "data-key": "others" }, h("a", { href: withSpan(url, null).href }, words.now.onOtherDays(decide.others, decide.shown.length))));
    patch(root,
      h("h1", { class: "spoken" }, words.now.title),
      h("p", { class: "phone-only page-head" }, h("span", { class: "muted" }, words.now.counts(board.counts)),
        h("a", { class: "quiet", href: `/days${url.search}` }, words.now.daysLink)),
      steps?.draw(),
      h("div", { class: "columns", "data-key": "columns" },
        part("decide", words.now.decide(decide.shown.length), cards, words.now.nothingToDecide, "part-first"),
        h("div", { class: "stack" },
          part("out", words.now.goingOut, byDay(board.going_out.filter((row) => within(row.at)), today, outRow), nothing(words.now.nothingOut)),
          part("back", words.now.comingBack, byDay(board.coming_back.filter((row) => within(row.at, row.late)), today, backRow), nothing(words.now.nothingBack))),
        h("div", { class: "side" },
          part("reminders", words.now.reminders, board.reminders.filter((row) => remindedOf(session, row) && within(row.due_at, row.state === "due"))
            .map((row) => reminderRow(row, { today, answer })), words.now.noReminders))));
  }

  function refresh() {
    draw();
    findSteps(boardNow());
  }

  return {
    span: () => boardNow() && { from: boardNow().today, to: boardNow().today },
    draw: refresh,
    refresh,
    turn(next) {
      url = next;
      span = spanOf(url);
      draw();
    },
  };
}

const isBare = (board) => ["decide", "going_out", "coming_back", "reminders"].every((name) => !board[name].length);

function part(key, title, rows, nothing, kind = "") {
  return h("section", { class: `part ${kind}`, "data-key": key, "aria-labelledby": `part-${key}` },
    h("h2", { id: `part-${key}`, tabindex: -1 }, title),
    rows.length ? h("ul", {}, rows) : h("p", { class: "nothing" }, nothing));
}

/** Rows in order, what is late first, with a line for each day but today. */
function byDay(rows, today, draw) {
  let day = today;
  return [...rows].sort((a, b) => (b.late ?? 0) - (a.late ?? 0)).flatMap((row) => {
    const date = row.late ? today : dateOf(row.at);
    const head = date === day ? [] : [h("li", { class: "rows-day", "data-key": `day-${date}` }, dayText(date, today))];
    day = date;
    return [...head, draw(row, today)];
  });
}

function outRow(row, today) {
  const { is, word } = outState(row);
  return h("li", { class: "row", "data-key": `out-${row.booking_id}-${row.at}` },
    h("span", { class: "row-when" }, timeOf(row.at)),
    h("span", { class: "row-what" },
      h("a", { href: `/booking/${row.booking_id}` }, words.now.outRow(row)),
      h("small", {}, outNote(row, today))),
    h("span", { class: "row-side" }, frame(is, word)));
}

function backRow(row, today) {
  const what = words.now.kit(row.kit);
  const text = `${words.now.backRow(row)} · ${words.pieces(row.pieces)}`;
  const { is, word } = backState(row);
  return h("li", { class: "row", "data-key": `back-${row.booking_id ?? row.unit_id}-${row.out}-${row.at}-${what}` },
    h("span", { class: "row-when" }, row.late ? momentText(row.due_at, today) : timeOf(row.at)),
    h("span", { class: "row-what" }, row.booking_id ? h("a", { href: `/booking/${row.booking_id}` }, text) : text,
      h("small", {}, words.dotted([backNote(row, today), what]))),
    h("span", { class: "row-side" }, frame(is, word)));
}
