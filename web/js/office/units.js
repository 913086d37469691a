// Units and their shoot days: a table to read, forms to change it.

import { words } from "../all_words.js";
import { readAll } from "../api.js";
import { h } from "../build.js";
import { wideTable } from "../parts/wide_table.js";
import { todayFor } from "../pulse.js";
import { homeUnit, may } from "../rights.js";
import { holds, spanOf } from "../span.js";
import { addDays, dateOf, dayText, daysBetween, momentText, timeOf } from "../when.js";
import { choiceField, dayAfter, momentField, numberField, textField } from "./model.js";
import { act, oneForm } from "./record.js";
import { office } from "./words.js";

const say_ = office.units;
const days_ = office.days;
const INSIDES = { true: true, false: false, null: null };

export function units({ session, leave, redraw, say, beat, enter, go, url }) {
  const today = () => todayFor(session);
  const mayPeople = may(session, "people");
  let found = null; // { units, productions, days }
  let problem = null;
  const form = oneForm({ redraw, say });
  let sure = null; // the unit or production that is to end
  let last = null; // the unit that was looked at before another part of the office was
  const chosen = () => {
    last = url.searchParams.get("unit") ?? last;
    const going = found.units.filter((one) => !one.ended_at);
    return going.find((one) => one.id === last) ?? going.find((one) => one.id === homeUnit(session)?.id) ?? going[0];
  };

  async function load() {
    const options = { signal: leave };
    const answers = await Promise.all([
      readAll("/units", "units", options), readAll("/productions", "productions", options), readAll("/shoot-days?limit=500", "shoot_days", options),
    ]);
    if (leave.aborted) return;
    problem = answers.find((answer) => !answer.ok)?.problem ?? null;
    const [unitRows, productions, days] = answers.map((answer) => answer.body);
    if (!problem) found = { units: unitRows, productions, days: days.sort((a, b) => (a.call < b.call ? -1 : 1)) };
    redraw();
  }

  function opened(key, of) {
    sure = null;
    form.open(key, of);
  }

  /** What a form, or a press, has changed is read afresh, here and round the page. */
  async function saved(sentence, back) {
    say(sentence);
    problem = null;
    told = sentence;
    await load();
    await enter();
    beat();
    form.close(back);
  }
  let told = null;

  const openProduction = (base) => opened(base ? `production-${base.id}` : "production", {
    name: "production", title: base ? say_.changeProduction(base.name) : say_.addProduction, go: base ? say_.change : say_.addProduction,
    path: "/productions", kind: "production", base: base ?? null,
    fields: [textField("name", say_.name, { needed: "the production's name", most: 100, autocomplete: "off" })],
    done: (body) => saved(say_.saved(body.name), base ? `production-${base.id}` : "unit"),
  });

  function openUnit(base) {
    const going = found.productions.filter((one) => !one.ended_at || one.id === base?.production_id);
    opened(base ? `unit-${base.id}` : "unit", {
      name: "unit", title: base ? say_.changeUnit : say_.addUnit, go: base ? say_.change : say_.addUnit,
      path: "/units", kind: "unit", base: base ?? null,
      fields: [
        textField("name", say_.name, { needed: "the unit's name", most: 100, autocomplete: "off" }),
        choiceField("kind", say_.kind, Object.entries(say_.kinds), { first: found.units.length ? "second" : "main" }),
        choiceField("production_id", say_.production, going.map((one) => [one.id, one.name]), { first: going.at(-1)?.id }),
        textField("base", say_.base, { autocomplete: "off" }),
        textField("phone", say_.phone, { most: 40, type: "tel", autocomplete: "off" }),
        numberField("way_s", say_.way, { most: 10080, times: 60 }),
      ],
      done: (body) => savedUnit(body, base),
    });
  }

  async function savedUnit(body, base) {
    await saved(say_.saved(body.name), `unit-${body.id}`);
    if (!base) go(`/office/units?unit=${body.id}`, { replace: true });
  }

  function openDay(unit, base) {
    const mine = found.days.filter((one) => one.unit_id === unit.id);
    const first = dayAfter(mine, today(), addDays, daysBetween);
    opened(base ? `day-${base.id}` : `day-of-${unit.id}`, {
      name: "day", title: base ? days_.change(dayName(base)) : days_.add, go: base ? days_.save : days_.make, hint: base && days_.lasts,
      path: "/shoot-days", kind: "shoot_day", base: base ?? null, extra: { unit_id: unit.id },
      fields: dayFields(first),
      done: (body) => saved(days_.saved(dayName(body)), `day-${body.id}`),
    });
  }

  const dayName = (day) => days_.name(day.number, dayText(day.day, today()));

  async function end(path, kind, thing, ended) {
    sure = null;
    const taken = await act({ path, kind, thing, body: { ended }, say, tell: (sentence) => { problem = { title: sentence }; } });
    if (taken) await saved(ended ? say_.ended(thing.name) : say_.taken(thing.name));
    else {
      const why = problem;
      await load();
      problem = why;
      redraw();
    }
  }

  function draw() {
    if (!found) return h("p", { class: problem ? "wrong" : "muted" }, problem ? words.problem.other(problem) : words.loading);
    const unit = chosen();
    return [
      problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, words.problem.other(problem)),
      told && h("p", { "data-key": "told" }, told),
      unit ? unitPart(unit) : h("section", { class: "part part-set", "data-key": "none" }, h("h2", {}, say_.none), mayPeople && h("p", { class: "muted" }, say_.noneHint),
        !found.productions.length && mayPeople && presses(opener("production", say_.addProduction, () => openProduction(null), true)),
        found.productions.length > 0 && mayPeople && presses(opener("unit", say_.addUnit, () => openUnit(null), true))),
      (form.key === "unit" || form.key?.startsWith("production")) && form.draw(),
      mayPeople && unit && productionsPart(),
    ];
  }

  const opener = (key, text, onclick, best) => h("button", { type: "button", class: best ? "press press-best" : "press", "data-key": key, "data-opens": key, onclick }, text);
  const presses = (...buttons) => h("div", { class: "presses", "data-key": "presses" }, buttons);

  function unitPart(unit) {
    const going = found.units.filter((one) => !one.ended_at);
    const mayDays = may(session, "shootDays", unit.id);
    const choose = (event) => go(`/office/units?unit=${event.target.value}`, { replace: true });
    return h("section", { class: "part part-set", "data-key": "unit", "aria-labelledby": "days-title" },
      h("div", { class: "page-head" }, h("h2", { id: "days-title" }, days_.title(unit.name)),
        going.length > 1 && h("label", { class: "choice no-paper" }, h("span", { class: "muted" }, say_.unit),
          h("select", { value: unit.id, onchange: choose }, going.map((one) => h("option", { value: one.id }, one.name))))),
      h("p", { class: "muted" }, words.dotted([found.productions.find((one) => one.id === unit.production_id)?.name, say_.kinds[unit.kind], unit.base, unit.phone, unit.way_s ? say_.wayText(Math.round(unit.way_s / 60)) : ""])),
      presses(
        mayDays && opener(`day-of-${unit.id}`, days_.add, () => openDay(unit, null)),
        mayPeople && opener(`unit-${unit.id}`, say_.changeUnit, () => openUnit(unit)),
        mayPeople && opener("unit", say_.addUnit, () => openUnit(null)),
        mayPeople && sure !== unit.id && opener("end", say_.endUnit, () => { sure = unit.id; redraw(); })),
      sure === unit.id && surely(unit, () => end("/units", "unit", unit, true)),
      (form.key?.startsWith("day") || form.key === `unit-${unit.id}`) && form.draw(),
      dayTable(unit, mayDays));
  }

  function surely(thing, yes) {
    return h("div", { class: "part-set", role: "group", "aria-label": say_.sure(thing.name), "data-key": "sure" }, h("p", {}, say_.sure(thing.name)),
      presses(h("button", { type: "button", class: "press press-best", onclick: yes }, say_.endIt),
        h("button", { type: "button", class: "press", onclick: () => { sure = null; redraw(); } }, say_.keepIt)));
  }

  function dayTable(unit, mayDays) {
    const span = spanOf(url);
    const mine = found.days.filter((one) => one.unit_id === unit.id);
    const shown = span ? mine.filter((one) => holds(span, one.day)) : mine;
    if (!shown.length) return h("p", { class: "nothing", "data-key": "no-days" }, mine.length ? days_.noneInSpan : days_.none);
    const { columns } = days_;
    const figures = ["radios", "booms", "listeners"];
    return wideTable({ key: "days", label: office.table(days_.title(unit.name)) }, h("table", { class: "records" },
      h("caption", { class: "spoken" }, days_.title(unit.name)),
      h("thead", {}, h("tr", {}, Object.entries(columns).map(([key, name]) => h("th", { scope: "col", class: figures.includes(key) ? "figure" : null }, name)))),
      h("tbody", {}, shown.map((day) => h("tr", { "data-key": day.id, class: day.day === today() ? "record-today" : null },
        h("th", { scope: "row" }, mayDays
          ? h("button", { type: "button", class: "quiet", "data-opens": `day-${day.id}`, "aria-label": days_.change(dayName(day)), onclick: () => openDay(unit, day) }, dayName(day))
          : dayName(day)),
        h("td", {}, timeOf(day.call)), h("td", {}, dateOf(day.wrap) === day.day ? timeOf(day.wrap) : momentText(day.wrap, day.day)),
        h("td", {}, day.location), h("td", {}, day.inside === null ? "" : days_.insides[day.inside]),
        figures.map((name) => h("td", { class: "figure" }, String(day[name]))),
        h("td", {}, days_.sounds[day.mute]), h("td", { class: "record-notes" }, day.notes))))));
  }

  function productionsPart() {
    const ended = found.units.filter((one) => one.ended_at);
    return h("section", { class: "part part-set", "data-key": "productions", "aria-labelledby": "productions-title" },
      h("h2", { id: "productions-title" }, say_.productions),
      h("ul", {}, found.productions.map((one) => h("li", { class: "row row-wide", "data-key": one.id },
        h("span", { class: "row-what" }, one.name, one.ended_at && h("small", {}, say_.since(momentText(one.ended_at, today())))),
        h("span", { class: "row-side" }, one.ended_at
          ? h("button", { type: "button", class: "press", "aria-label": `${say_.again}: ${one.name}`, onclick: () => end("/productions", "production", one, false) }, say_.again)
          : [opener(`production-${one.id}`, say_.changeProduction(one.name), () => openProduction(one)),
            h("button", { type: "button", class: "press", "data-key": "end", "aria-label": `${say_.endProduction}: ${one.name}`, onclick: () => { sure = one.id; redraw(); } }, say_.endProduction)]),
        sure === one.id && h("div", { class: "row-under" }, surely(one, () => end("/productions", "production", one, true)))))),
      presses(opener("production", say_.addProduction, () => openProduction(null))),
      ended.length > 0 && h("details", { "data-key": "ended" }, h("summary", {}, `${say_.endedOnes} · ${ended.length}`), h("ul", {}, ended.map((one) => h("li", { class: "row row-wide", "data-key": one.id },
        h("span", { class: "row-what" }, one.name, h("small", {}, say_.since(momentText(one.ended_at, today())))),
        h("span", { class: "row-side" }, h("button", { type: "button", class: "press", "aria-label": `${say_.again}: ${one.name}`, onclick: () => end("/units", "unit", one, false) }, say_.again)))))));
  }

  return {
    load, draw,
    turn(next) {
      url = next;
      redraw();
    },
  };
}

function dayFields(first) {
  const { insides, sounds } = days_;
  return [
    numberField("number", days_.number, { most: 9999, first: first.number }),
    momentField("call", days_.call, { first: first.call }),
    momentField("wrap", days_.wrap, { first: first.wrap }),
    withFirst(textField("location", days_.location, { autocomplete: "off" }), first.location),
    choiceField("inside", days_.inside, Object.entries(insides), { first: "null", typed: (value) => INSIDES[value] }),
    numberField("radios", days_.radios), numberField("booms", days_.booms), numberField("listeners", days_.listeners),
    choiceField("mute", days_.sound, Object.entries(sounds), { first: "false", typed: (value) => value === "true" }),
    textField("notes", days_.notes, { most: 4000, lines: true }),
  ];
}

/** A text field that begins with what was there the day before. */
function withFirst(field, text) {
  return { ...field, start: (base) => (base ? field.start(base) : { [field.name]: text }) };
}
