// A kit type: its days, the hours of one day, and who has it.

import { words } from "../all_words.js";
import { read } from "../api.js";
import { h, patch } from "../build.js";
import { cellWords, freeFigure, levelOf, spokenCell } from "../days_model.js";
import { outOfService } from "../office/service.js";
import { frame } from "../parts/frame.js";
import { callButton } from "../parts/handover.js";
import { wideTable } from "../parts/wide_table.js";
import { boardNow, todayFor } from "../pulse.js";
import { may } from "../rights.js";
import { STRIP_DAYS, firstDay, spanOf } from "../span.js";
import { addDays, dayText, lengthText, momentText, spanText, timeOf } from "../when.js";

const FRAMES = { confirmed: "confirmed", pencilled: "pencilled", out: "out", out_of_service: "away" };
const NOTHING = { none: "cell-none", pencil: "cell-pencil" };
const FIGURES = ["free", "if_pencils_fall", "booked", "out", "overdue", "out_of_service"];

export function open({ root, url, params, session, leave, say, named, beat }) {
  const today = () => todayFor(session);
  let found = null; // { kit, days, hours }
  let problem = null;
  let seen = null; // the chosen day that was last brought into sight
  const service = outOfService({ session, kitTypeId: params.id, leave, redraw: draw, say, beat });
  /** The days of the strip: the one chosen there is shown hour by hour. */
  const span = () => {
    const from = boardNow()?.strip[0]?.date ?? firstDay(today(), spanOf(url));
    return { from, to: addDays(from, STRIP_DAYS - 1) };
  };
  const shownDay = () => spanOf(url)?.from ?? today();
  patch(root, h("p", { class: "muted" }, words.loading));
  load();

  async function load() {
    const asked = url.search;
    const { from, to } = span();
    const options = { signal: leave };
    const [kit, days, hours] = await Promise.all([
      read(`/kit-types/${params.id}`, options),
      read(`/availability?from=${from}&to=${to}&kit_type=${params.id}&per=day`, options),
      read(`/availability/hours?kit_type=${params.id}&date=${shownDay()}`, options),
    ]);
    if (leave.aborted || asked !== url.search) return;
    problem = [kit, days, hours].find((answer) => !answer.ok)?.problem ?? null;
    if (!problem) found = { kit: kit.body, days: days.body, hours: hours.body };
    draw();
    if (found) service.load();
  }

  function draw() {
    if (!found) return patch(root, h("h1", {}, problem?.title ?? words.loading), problem && h("p", {}, words.problem.other(problem)));
    const { kit, hours } = found;
    named(kit.name);
    patch(root,
      h("div", { class: "page-head", "data-key": "head" }, h("h1", {}, kit.name), h("p", { class: "presses no-paper" },
        may(session, "book") && h("a", { class: "press", href: `/ask?kit=${kit.id}` }, words.kit.ask), h("a", { class: "press", href: "/days" }, words.kit.all))),
      problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, words.problem.other(problem)),
      daysPart(),
      h("div", { class: "columns pair", "data-key": "columns" },
        h("section", { class: "part", "aria-labelledby": "holders" }, h("h2", { id: "holders" }, words.kit.holdersOn(dayText(hours.date, today()))),
          hours.holders.length ? h("ul", {}, hours.holders.map((holder, index) => holderRow(holder, index, kit, today()))) : h("p", { class: "nothing" }, words.kit.nobody)),
        h("section", { class: "part", "aria-labelledby": "hours" }, h("h2", { id: "hours" }, words.kit.hours(dayText(hours.date, today()))), hourTable(hours.hours, kit))),
      service.draw(kit),
      aboutPart(kit));
    if (seen !== shownDay()) showChosen(root);
    seen = shownDay();
  }

  function daysPart() {
    const { days, kit_types: [kit] } = found.days;
    if (!kit) return null;
    return wideTable({ key: "days", label: words.kit.days, says: words.days.sideways }, h("table", { class: "free-days free-days-one" },
      h("caption", { class: "spoken" }, words.kit.days),
      h("thead", {}, h("tr", {}, h("th", { scope: "col" }, words.kit.columns.day), days.map((day) => h("th", { scope: "col", "data-key": day.date }, h("a", { href: `?from=${day.date}` }, dayText(day.date, today())))))),
      h("tbody", {}, h("tr", {}, h("th", { scope: "row" }, words.kit.columns.free),
        kit.cells.map((cell, index) => h("td", { class: `cell cell-${levelOf(cell)}${cell.date === shownDay() ? " cell-chosen" : ""}`, "data-key": cell.date }, h("a", { href: `?from=${cell.date}`, tabindex: -1, "aria-label": spokenCell(cell, dayText(cell.date, today()), kit) },
          h("b", {}, freeFigure(cell)), " ", h("span", {}, cellWords({ ...cell, start: days[index].start }, kit)))))))));
  }

  return {
    draw,
    refresh: load,
    turn(next) {
      url = next;
      load();
    },
  };
}

/** Hours that say the same are one row: { start, end, …figures }. Pure. */
export function stretches(hours) {
  const merged = [];
  for (const hour of hours) {
    const last = merged.at(-1);
    if (last && FIGURES.every((name) => last[name] === hour[name])) last.end = hour.end;
    else merged.push({ ...hour });
  }
  return merged;
}

/** The figures worth a column: free always, the others where some hour has them. Pure. */
export function figuresShown(hours) {
  return FIGURES.filter((name) => name === "free" || hours.some((hour) => (name === "if_pencils_fall" ? hour[name] !== hour.free : hour[name] !== 0)));
}

function hourTable(hours, { capacity }) {
  const { columns } = words.kit;
  const heads = { free: columns.free, if_pencils_fall: columns.pencils, booked: columns.booked, out: columns.out, overdue: columns.late, out_of_service: columns.service };
  const figures = figuresShown(hours);
  return wideTable({ key: "hours", label: words.kit.hourTable }, h("table", {},
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, columns.from), figures.map((name) => h("th", { scope: "col", class: "figure" }, heads[name])))),
    h("tbody", {}, stretches(hours).map((row) => h("tr", { "data-key": row.start },
      h("th", { scope: "row" }, timeOf(row.start)),
      figures.map((name) => (name === "free" ? h("td", { class: `figure ${NOTHING[levelOf({ ...row, capacity })] ?? ""}` }, freeFigure(row)) : h("td", { class: "figure" }, String(row[name])))))))));
}

/** Scrolls the days sideways until the chosen one stands clear of the words at the edge. */
function showChosen(root) {
  const box = root.querySelector(".scroll");
  const chosen = box?.querySelector(".cell-chosen");
  if (chosen) box.scrollLeft += chosen.getBoundingClientRect().left - box.querySelector("th").getBoundingClientRect().right;
}

function holderRow(holder, index, kit, today) {
  const name = holder.unit ?? holder.person ?? (holder.state === "out_of_service" ? words.holder.states.out_of_service : words.holder.somebody);
  const state = holder.overdue ? frame("late", words.holder.states.overdue)
    : frame(FRAMES[holder.state], holder.place && holder.state === "pencilled" ? words.holder.place(holder.place) : words.holder.states[holder.state]);
  const under = [
    holder.unit && holder.person, holder.idle > 0 && kit.tracking !== "frequency" ? words.holder.idle(holder.idle) : "", holder.tags.length ? words.reminder.tags(holder.tags) : "",
    holder.expires_at ? words.holder.lapses(momentText(holder.expires_at, today)) : "",
  ];
  return h("li", { class: "row", "data-key": `${holder.booking_id ?? "other"}-${index}` },
    h("span", { class: "row-when" }, String(holder.quantity)),
    h("span", { class: "row-what" }, holder.booking_id ? h("a", { href: `/booking/${holder.booking_id}` }, name) : name,
      h("small", {}, spanText(holder.start, holder.end, today)), h("small", {}, words.dotted(under))),
    h("span", { class: "row-side" }, state, callButton(holder.phone, words.holder.callNumber, holder.person ? words.holder.call(holder.person) : words.holder.callNumber)));
}

function aboutPart(kit) {
  const { facts, traits, tracking, mass, needs } = words.kit;
  const rows = [
    [facts.category, kit.category], [facts.tracking, tracking[kit.tracking]], [facts.capacity, kit.capacity],
    [facts.make, [kit.make, kit.model].filter(Boolean).join(" ")], [facts.ways, kit.ways || null],
    [facts.prep, kit.prep_s ? lengthText(kit.prep_s) : null], [facts.checkIn, kit.check_in_s ? lengthText(kit.check_in_s) : null],
    [facts.mass, kit.mass_g ? mass(kit.mass_g) : null],
    ...Object.entries(kit.traits ?? {}).map(([name, value]) => [traits[name] ?? name, value]),
    [facts.goesWith, (kit.goes_with ?? []).map(needs).join(", ")],
  ];
  return h("details", { "data-key": "about" }, h("summary", {}, words.kit.about),
    h("dl", { class: "facts-list" }, rows.filter(([, value]) => value !== null && value !== undefined && value !== "").map(([name, value]) => [h("dt", {}, name), h("dd", {}, String(value))])));
}
