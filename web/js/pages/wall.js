// The wall: today, large, for a screen that nobody touches, and tomorrow under it. It shows what fits
// and counts the rest.

import { words } from "../all_words.js";
import { read, useToken } from "../api.js";
import { h, patch } from "../build.js";
import { frame } from "../parts/frame.js";
import { reminderTitle } from "../parts/reminder.js";
import { backNote, backState, outNote, outState } from "../parts/moves.js";
import { poll, setPace } from "../pulse.js";
import { addDays, dateOf, laterBy, longDay, momentText, timeOf } from "../when.js";

const OLD_MS = 60000;
const DAYS = 5; // from two days before today; tomorrow evening hands out what begins the day after

export function open({ root, url, leave, named }) {
  const token = url.hash.slice(1);
  let board = null;
  let problem = null;
  let readAt = 0;
  let heardAt = 0;
  named(words.wall.title);
  if (!token) return told(root, words.wall.noToken), {};
  useToken(token);
  takePace(leave);
  const beating = poll(ask);
  const tick = setInterval(draw, 10000);
  addEventListener("resize", draw, { signal: leave });
  leave.addEventListener("abort", () => {
    beating.stop();
    clearInterval(tick);
    useToken(null);
  });

  async function ask(signal) {
    const answer = await read(`/board?days=${DAYS}`, { signal });
    if (signal.aborted) return;
    problem = answer.ok ? null : answer.problem;
    if (answer.status === 401) board = null; // an ended link shows nothing any more
    if (answer.ok) {
      heardAt = Date.now();
      if (!answer.unchanged) readAt = heardAt;
      board = answer.body;
    }
    draw();
  }

  function draw() {
    if (!board) return told(root, problem ? (problem.status === 401 ? words.wall.ended : words.problem.other(problem)) : words.loading);
    const old = Date.now() - heardAt > OLD_MS;
    const now = laterBy(board.as_of, (Date.now() - readAt) / 1000);
    const lists = wallLists(board);
    patch(root, h("div", { class: old ? "wall wall-old" : "wall" }, head(board, old ? laterBy(board.as_of, (heardAt - readAt) / 1000) : now, old),
      lists.map(({ key, title, rows, nothing }) => h("section", { class: "part", "data-key": key }, h("h2", {}, title),
        h("ul", {}, rows.length ? withDays(rows, board.today) : h("li", { class: "nothing" }, nothing))))));
    fit(root);
  }

  return {};
}

function told(root, text) {
  patch(root, h("h1", {}, words.wall.title), h("p", {}, text));
}

/** A screen asks as often as the service is set to. */
async function takePace(leave) {
  const session = await read("/session", { signal: leave });
  if (session.ok) setPace(session.body.poll);
}

function head(board, instant, old) {
  const { counts } = board;
  const figures = [[counts.out, words.wall.out], [counts.overdue, words.wall.late], [counts.due_today, words.wall.due], [board.decide.length, words.wall.decide]];
  return h("div", { class: "wall-head" },
    h("h1", {}, longDay(board.today)),
    h("div", { class: old ? "wall-clock wrong" : "wall-clock" }, old ? words.bar.unheard(timeOf(instant)) : timeOf(instant)),
    h("p", { class: "wall-counts" }, figures.map(([n, text]) => h("span", {}, h("b", {}, String(n)), ` ${text}`))));
}

/** What the wall shows: three lists of today and tomorrow, late first. Each row says its `date`. Pure. */
export function wallLists(board) {
  const { today } = board;
  const tomorrow = addDays(today, 1);
  const soon = (instant) => dateOf(instant) <= tomorrow;
  const back = board.coming_back.filter((row) => row.late || soon(row.at));
  const due = board.reminders.filter((row) => (row.state === "coming" ? soon(row.due_at) : row.state !== "done"));
  const list = (key, title, nothing, rows) => ({ key, title, nothing, rows: rows.sort((a, b) => a.date.localeCompare(b.date) || b.late - a.late) });
  const dated = (row, at) => ({ late: Boolean(row.late), date: row.late || dateOf(at) < today ? today : dateOf(at) });
  return [
    list("out", words.now.goingOut, words.now.nothingOut, board.going_out.filter((row) => soon(row.at)).map((row) => ({ ...dated(row, row.at), at: row.at, text: words.now.outRow(row), small: outNote(row, today), ...outState(row) }))),
    list("back", words.now.comingBack, words.now.nothingBack, back.map((row) => ({ ...dated(row, row.at), at: row.late ? row.due_at : row.at, text: `${words.now.backRow(row)} · ${words.pieces(row.pieces)}`, small: words.dotted([backNote(row, today), words.now.kit(row.kit)]), ...backState(row) }))),
    list("due", words.now.reminders, words.now.noReminders, due.map((row) => ({ ...dated(row, row.due_at), at: row.due_at, text: reminderTitle(row), small: words.reminder.to[row.to], is: row.severity === "late" ? "late" : "confirmed", word: row.state === "coming" ? "" : words.reminder.frames[row.severity] }))),
  ];
}

/** The rows, with tomorrow's name before the first of tomorrow's. */
function withDays(rows, today) {
  let date = today;
  return rows.flatMap((row) => {
    const head = row.date === date ? [] : [h("li", { class: "rows-day" }, longDay(row.date))];
    date = row.date;
    return [...head, wallRow(row, today)];
  });
}

function wallRow(row, today) {
  const when = dateOf(row.at) === row.date ? timeOf(row.at) : momentText(row.at, today);
  return h("li", { class: "row" }, h("span", { class: "row-when" }, when),
    h("span", { class: "row-what" }, row.text, row.small && h("small", {}, row.small)),
    row.word && h("span", { class: "row-side" }, frame(row.is, row.word)));
}

/** Hides the rows that do not fit the screen and says how many they are: nobody scrolls a wall. */
function fit(root) {
  for (const list of root.querySelectorAll("ul")) {
    list.querySelector(".wall-more")?.remove();
    const rows = [...list.children];
    for (const row of rows) row.hidden = false;
    const more = h("li", { class: "wall-more muted" });
    const tooLong = () => list.getBoundingClientRect().bottom + scrollY > innerHeight;
    let hidden = 0;
    for (let last = rows.length - 1; last > 0 && (tooLong() || rows[last].matches(".rows-day")); last -= 1) { // no day's name without its rows
      rows[last].hidden = true;
      hidden += rows[last].matches(".row");
      patch(more, words.now.more(hidden));
      list.append(more);
    }
  }
}
