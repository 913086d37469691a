// The wall: today, large, for a screen that nobody touches. It shows what fits and counts the rest.

import { read, useToken } from "../api.js";
import { h, patch } from "../build.js";
import { frame } from "../parts/frame.js";
import { reminderTitle } from "../parts/reminder.js";
import { poll, setPace } from "../pulse.js";
import { dateOf, laterBy, longDay, momentText, timeOf } from "../when.js";
import { words } from "../words.js";

const OLD_MS = 60000;
const OUT_FRAMES = { prepare: "confirmed", part_out: "out", out: "out" };

export function open({ root, url, leave, named }) {
  const token = url.hash.slice(1);
  let board = null;
  let problem = null;
  let readAt = 0;
  let heardAt = 0;
  named(words.wall.title);
  if (!token) return patch(root, h("p", {}, words.wall.noToken)), {};
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
    const answer = await read("/board?days=2", { signal });
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
    if (!board) return patch(root, h("p", {}, problem ? (problem.status === 401 ? words.wall.ended : words.problem.other(problem)) : words.loading));
    const old = Date.now() - heardAt > OLD_MS;
    const now = laterBy(board.as_of, (Date.now() - readAt) / 1000);
    const lists = wallLists(board);
    patch(root, h("div", { class: old ? "wall wall-old" : "wall" }, head(board, old ? laterBy(board.as_of, (heardAt - readAt) / 1000) : now, old),
      lists.map(({ key, title, rows, nothing }) => h("section", { class: "part", "data-key": key }, h("h2", {}, title),
        h("ul", {}, rows.length ? rows.map((row) => wallRow(row, board.today)) : h("li", { class: "nothing" }, nothing))))));
    fit(root);
  }

  return {};
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
    h("p", { class: "wall-counts" }, figures.map(([n, text]) => h("span", {}, h("b", {}, String(n)), ` ${text}`))),
    h("p", { class: old ? "wrong" : "muted" }, old ? words.bar.noSignal(timeOf(instant)) : timeOf(instant)));
}

/** What the wall shows: three lists, late first. Pure. */
export function wallLists(board) {
  const soon = (instant) => dateOf(instant) <= board.today;
  const back = board.coming_back.filter((row) => row.late || soon(row.at));
  const out = board.going_out.filter((row) => soon(row.at));
  const due = board.reminders.filter((row) => row.state === "due" || row.state === "seen");
  return [
    { key: "out", title: words.now.goingOut, nothing: words.now.nothingOut, rows: out.map((row) => ({ at: row.at, text: words.now.outRow(row), small: words.dotted([row.purpose, row.boxes.length ? words.now.boxes(row.boxes) : ""]), is: OUT_FRAMES[row.state], word: words.now.states[row.state] })) },
    { key: "back", title: words.now.comingBack, nothing: words.now.nothingBack, rows: [...back].sort((a, b) => b.late - a.late).map((row) => ({ at: row.at, text: `${words.now.backRow(row)} · ${words.pieces(row.pieces)}`, small: words.now.kit(row.kit), is: row.late ? "late" : "out", word: row.late ? words.now.late : words.now.out })) },
    { key: "due", title: words.now.reminders, nothing: words.now.noReminders, rows: due.map((row) => ({ at: row.due_at, text: reminderTitle(row), small: words.reminder.to[row.to], is: row.severity === "late" ? "late" : "confirmed", word: words.reminder.frames[row.severity] })) },
  ];
}

function wallRow(row, today) {
  return h("li", { class: "row" }, h("span", { class: "row-when" }, momentText(row.at, today)),
    h("span", { class: "row-what" }, row.text, row.small && h("small", {}, row.small)),
    h("span", { class: "row-side" }, frame(row.is, row.word)));
}

/** Hides the rows that do not fit the screen and says how many they are: nobody scrolls a wall. */
function fit(root) {
  for (const list of root.querySelectorAll("ul")) {
    list.querySelector(".wall-more")?.remove();
    const rows = [...list.querySelectorAll(".row")];
    for (const row of rows) row.hidden = false;
    const more = h("li", { class: "wall-more muted" });
    const tooLong = () => list.getBoundingClientRect().bottom + scrollY > innerHeight;
    for (let shown = rows.length; tooLong() && shown > 1; ) {
      shown -= 1;
      rows[shown].hidden = true;
      patch(more, words.now.more(rows.length - shown));
      list.append(more);
    }
  }
}
