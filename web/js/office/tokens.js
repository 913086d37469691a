// Tokens for programs: shown once, listed by what they are for, ended at will.

import { words } from "../all_words.js";
import { read, readAll, remove } from "../api.js";
import { h } from "../build.js";
import { todayFor } from "../pulse.js";
import { may } from "../rights.js";
import { momentText } from "../when.js";
import { textField } from "./model.js";
import { focusOnce, shownOnce } from "./once.js";
import { record } from "./record.js";
import { office } from "./words.js";

const say_ = office.tokens;

export function tokens({ session, leave, redraw, say }) {
  let found = null;
  let names = new Map();
  let problem = null;
  let made = null;
  const making = form();

  async function load() {
    const everybody = may(session, "accounts");
    const [answer, all] = await Promise.all([read("/tokens", { signal: leave }), everybody ? readAll("/accounts?limit=500", "accounts", { signal: leave }) : { ok: false }]);
    if (leave.aborted) return;
    if (answer.ok) found = answer.body.tokens;
    else problem = words.problem.other(answer.problem);
    if (all.ok) names = new Map(all.body.map((one) => [one.id, one.name]));
    redraw();
  }

  function form() {
    return record({
      name: "token", titledBy: "tokens-title", hint: say_.hint, go: say_.make, path: "/tokens", base: null, redraw, say,
      fields: [textField("name", say_.name, { needed: "what it is for", most: 100, autocomplete: "off" })],
      done: (body) => {
        made = { label: say_.made(body.name), text: body.token };
        say(made.label);
        load().then(focusOnce).then(redraw);
      },
    });
  }

  async function end(token) {
    const answer = await remove(`/tokens/${token.id}`);
    problem = answer.ok ? null : words.problem.other(answer.problem);
    say(answer.ok ? say_.ended(token.name) : problem);
    if (answer.ok) made = null;
    load();
  }

  function draw() {
    return h("section", { class: "part part-set", "data-key": "tokens", "aria-labelledby": "tokens-title" },
      h("h2", { id: "tokens-title" }, say_.title),
      making.draw(),
      shownOnce(made, say),
      problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, problem),
      found && (found.length ? h("ul", { "data-key": "list" }, found.map(row)) : h("p", { class: "nothing", "data-key": "none" }, say_.none)));
  }

  function row(token) {
    const since = momentText(token.created_at, todayFor(session));
    return h("li", { class: "row row-wide", "data-key": token.id },
      h("span", { class: "row-what" }, token.name, h("small", {}, say_.line(since, names.get(token.account_id)))),
      h("span", { class: "row-side" }, h("button", { type: "button", class: "press", "aria-label": `${say_.end}: ${token.name}`, onclick: () => end(token) }, say_.end)));
  }

  return { load, draw };
}
