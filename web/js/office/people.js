// People: who is of which unit, or of the house, with a job and a telephone number.

import { words } from "../all_words.js";
import { readAll } from "../api.js";
import { h, telephone } from "../build.js";
import { wideTable } from "../parts/wide_table.js";
import { may } from "../rights.js";
import { choiceField, textField } from "./model.js";
import { act, oneForm } from "./record.js";
import { office } from "./words.js";

const say_ = office.people;

export function people({ session, leave, redraw, say, beat }) {
  const mayChange = may(session, "people");
  let found = null;
  let problem = null;
  let told = null;
  const form = oneForm({ redraw, say, prefix: "person-" });

  async function load() {
    const answer = await readAll("/people?limit=500", "people", { signal: leave });
    if (leave.aborted) return;
    if (answer.ok) found = answer.body;
    else problem = words.problem.other(answer.problem);
    redraw();
  }

  const unitName = (id) => (id ? session.units.find((one) => one.id === id)?.name ?? say_.unitEnded : say_.house);

  function open(base) {
    form.open(base ? base.id : "new", {
      name: "person", title: base ? say_.change(base.name) : say_.add, go: base ? say_.save : say_.make,
      path: "/people", kind: "person", base: base ?? null,
      fields: [
        textField("name", say_.name, { needed: "the name", most: 100, autocomplete: "off" }),
        textField("job", say_.job, { most: 100, autocomplete: "off" }),
        choiceField("unit_id", say_.unit, [["null", say_.house], ...session.units.map((one) => [one.id, one.name])], { typed: (value) => (value === "null" ? null : value) }),
        textField("phone", say_.phone, { most: 40, type: "tel", autocomplete: "off" }),
      ],
      done: (body) => saved(say_.saved(body.name), body.id),
    });
  }

  async function saved(sentence, back) {
    told = sentence;
    problem = null;
    say(sentence);
    await load();
    beat();
    form.close(back);
  }

  async function end(person, ended) {
    const taken = await act({ path: "/people", kind: "person", thing: person, body: { ended }, say, tell: (sentence) => { problem = sentence; } });
    if (taken) return saved(ended ? say_.ended(person.name) : say_.taken(person.name), "new");
    load();
  }

  function draw() {
    const there = (found ?? []).filter((one) => !one.ended_at);
    const ended = (found ?? []).filter((one) => one.ended_at);
    return h("section", { class: "part part-set", "data-key": "people", "aria-labelledby": "people-title" },
      h("h2", { id: "people-title" }, say_.title),
      mayChange && h("div", { class: "presses", "data-key": "presses" }, h("button", { type: "button", class: "press", "data-opens": "person-new", onclick: () => open(null) }, say_.add)),
      problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, problem),
      told && h("p", { "data-key": "told" }, told),
      form.draw(),
      form.key && form.key !== "new" && h("div", { class: "presses", "data-key": "end" }, h("button", { type: "button", class: "press", onclick: () => end(found.find((one) => one.id === form.key), true) }, say_.end)),
      found ? there.length ? table(there) : h("p", { class: "nothing", "data-key": "none" }, say_.none) : h("p", { class: "muted", "data-key": "none" }, words.loading),
      mayChange && ended.length > 0 && h("details", { "data-key": "ended" }, h("summary", {}, `${say_.endedOnes} · ${ended.length}`),
        h("ul", {}, ended.map((one) => h("li", { class: "row row-wide", "data-key": one.id }, h("span", { class: "row-what" }, one.name),
          h("span", { class: "row-side" }, h("button", { type: "button", class: "press", "aria-label": `${say_.again}: ${one.name}`, onclick: () => end(one, false) }, say_.again)))))));
  }

  function table(rows) {
    return wideTable({ key: "table", label: office.table(say_.title) }, h("table", { class: "records" },
      h("caption", { class: "spoken" }, say_.title),
      h("thead", {}, h("tr", {}, Object.values(say_.columns).map((name) => h("th", { scope: "col" }, name)))),
      h("tbody", {}, rows.map((one) => h("tr", { "data-key": one.id },
        h("th", { scope: "row" }, mayChange ? h("button", { type: "button", class: "quiet", "data-opens": `person-${one.id}`, "aria-label": say_.change(one.name), onclick: () => open(one) }, one.name) : one.name),
        h("td", {}, one.job), h("td", {}, unitName(one.unit_id)),
        h("td", {}, one.phone && h("a", { class: "record-call", href: telephone(one.phone) }, one.phone)))))));
  }

  return { load, draw };
}
