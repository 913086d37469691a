// Days: what is free, days across and kit down; a filled figure means none left.

import { words } from "../all_words.js";
import { download, read } from "../api.js";
import { h, patch } from "../build.js";
import { byCategory, cellWords, filtered, freeFigure, levelOf, spokenCell } from "../days_model.js";
import { saveFile } from "../parts/save_file.js";
import { wideTable } from "../parts/wide_table.js";
import { knownAt, todayFor } from "../pulse.js";
import { STRIP_DAYS, spanOf } from "../span.js";
import { addDays, dateOf, dayText, longDay, timeOf } from "../when.js";

export function open({ root, url, session, leave, go, named }) {
  const today = () => todayFor(session);
  let found = null;
  let problem = null;
  let text = "";
  named(words.days.title);
  draw();
  load();
  addEventListener("beforeprint", draw, { signal: leave }); // paper says how old its figures are

  function query() {
    const span = spanOf(url) ?? { from: today(), to: addDays(today(), STRIP_DAYS - 1) };
    const asked = new URLSearchParams({ ...span, per: "day" });
    const unit = url.searchParams.get("unit");
    if (unit) {
      asked.set("per", "shoot_day");
      asked.set("unit", unit);
    }
    const category = url.searchParams.get("category");
    if (category) asked.set("category", category);
    return `/availability?${asked}`;
  }

  async function load() {
    const path = query();
    const answer = await read(path, { signal: leave });
    if (leave.aborted || path !== query()) return;
    problem = answer.ok ? null : answer.problem;
    if (answer.ok) found = answer.body;
    draw();
  }

  /** Filters stand in the URL, so that a link to what is seen can be sent. */
  function filter(name, value) {
    const next = new URL(url);
    if (value) next.searchParams.set(name, value);
    else next.searchParams.delete(name);
    go(next, { replace: true });
  }

  async function csv() {
    const file = await download(query(), "text/csv");
    if (!file.ok) {
      problem = file.problem;
      return draw();
    }
    saveFile(file.blob, "availability.csv");
  }

  function draw() {
    const scarce = url.searchParams.has("scarce");
    const kits = found ? filtered(found.kit_types, { text, scarce }) : [];
    patch(root,
      h("div", { class: "page-head", "data-key": "head" }, h("h1", {}, words.days.title),
        h("button", { type: "button", class: "quiet", onclick: csv }, words.days.csv)),
      found && h("p", { class: "paper-only", "data-key": "printed" }, printed(knownAt() ?? found.as_of)),
      filters(scarce),
      problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, words.problem.other(problem)),
      found ? (kits.length ? table(kits) : h("p", { class: "nothing", "data-key": "none" }, words.days.nothing))
        : h("p", { class: "muted", "data-key": "none" }, words.loading));
  }

  function filters(scarce) {
    const categories = [...new Set([...(found?.kit_types ?? []).map((kit) => kit.category), url.searchParams.get("category") ?? ""])].filter(Boolean);
    const select = (label, name, options) => h("label", { class: "field", "data-key": name }, h("span", {}, label),
      h("select", { value: url.searchParams.get(name) ?? "", onchange: (event) => filter(name, event.target.value) },
        options.map(([value, option]) => h("option", { value }, option))));
    return h("div", { class: "fields-across filters no-paper", "data-key": "filters" },
      h("label", { class: "field", "data-key": "text" }, h("span", {}, words.days.find), h("input", { type: "search", value: text, oninput: (event) => { text = event.target.value; draw(); } })),
      select(words.days.category, "category", [["", words.days.every], ...categories.map((name) => [name, name])]),
      select(words.days.per, "unit", [["", words.days.perDay], ...session.units.map((unit) => [unit.id, words.days.perShootDay(unit.name)])]),
      h("label", { class: "choice", "data-key": "scarce" }, h("input", { type: "checkbox", checked: scarce, onchange: (event) => filter("scarce", event.target.checked ? "1" : "") }), words.days.scarce));
  }

  function table(kits) {
    const days = found.days.map((day) => ({ ...day, name: dayName(day) }));
    return wideTable({ key: "table", label: words.days.title, kind: "scroll-days", says: words.days.sideways },
      h("table", { class: "free-days" },
        h("caption", { class: "spoken" }, words.days.hint),
        h("thead", {}, h("tr", {}, h("th", { scope: "col" }, words.days.kit), days.map((day) => h("th", { scope: "col" }, day.name)))),
        byCategory(kits).map(([category, rows]) => h("tbody", { "data-key": category },
          h("tr", { class: "group" }, h("th", { scope: "rowgroup", colspan: days.length + 1 }, words.capital(category))),
          rows.map((kit) => kitRow(kit, days))))));
  }

  function dayName(day) {
    const number = url.searchParams.get("unit") && day.unit_days[0]?.number;
    return [dayText(day.date, today()), number && words.time.dayNumber(number)].filter(Boolean).join(" · ");
  }

  return {
    draw,
    refresh: load,
    turn(next) {
      const before = query();
      url = next;
      draw();
      if (query() !== before) load();
    },
  };
}

function kitRow(kit, days) {
  return h("tr", { "data-key": kit.id },
    h("th", { scope: "row" }, h("a", { href: `/kit/${kit.id}` }, kit.name)),
    kit.cells.map((cell, index) => h("td", { class: `cell cell-${levelOf(cell)}`, "data-key": cell.date },
      h("a", { href: `/kit/${kit.id}?from=${cell.date}`, tabindex: -1, "aria-label": spokenCell(cell, days[index].name, kit) },
        h("b", {}, freeFigure(cell)), " ", h("span", {}, cellWords({ ...cell, start: days[index].start }, kit))))));
}

const printed = (instant) => words.days.printed(longDay(dateOf(instant)), timeOf(instant));
