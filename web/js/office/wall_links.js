// Read-only links, for wall screens and for who only reads: the coordinator makes one for each, sees
// those in use, and ends them.

import { words } from "../all_words.js";
import { create, newKey, read, remove } from "../api.js";
import { h } from "../build.js";
import { someText } from "../forms.js";
import { todayFor } from "../pulse.js";
import { momentText } from "../when.js";
import { shownOnce } from "./once.js";
import { office } from "./words.js";

const say_ = office.walls;

export function wallLinks({ session, leave, redraw, say }) {
  const today = () => todayFor(session);
  let links = null;
  let made = null; // { name, url }: shown once
  let wrong = null;

  async function load() {
    const answer = await read("/wall-links", { signal: leave });
    if (leave.aborted) return;
    if (answer.ok) links = answer.body.wall_links;
    else wrong = words.problem.other(answer.problem);
    redraw();
  }

  async function make(event) {
    event.preventDefault();
    const form = event.target;
    const name = someText(form.elements.name.value, { name: say_.nameMissing, most: 80 });
    wrong = name.wrong;
    if (wrong) return redraw();
    const answer = await create("/wall-links", { name: name.value }, newKey());
    if (answer.ok) {
      const url = new URL(answer.body.url, location.origin);
      made = { name: answer.body.name, url: url.href, days: new URL(`/days${url.hash}`, location.origin).href };
      form.reset();
      say(say_.made(made.name));
      await load();
    } else {
      wrong = words.problem.other(answer.problem);
    }
    redraw();
  }

  async function end(link) {
    const answer = await remove(`/wall-links/${link.id}`);
    if (answer.ok) say(say_.ended(link.name));
    else wrong = words.problem.other(answer.problem);
    await load();
  }

  function draw() {
    return h("section", { class: "part part-set", "data-key": "walls", "aria-labelledby": "walls-title" },
      h("h2", { id: "walls-title" }, say_.title),
      h("p", { class: "muted" }, say_.hint),
      h("form", { class: "fields-across", onsubmit: make, "data-key": "make" },
        h("label", { class: "field" }, h("span", {}, say_.name), h("input", { type: "text", name: "name", required: true, maxlength: 80, autocomplete: "off" })),
        h("button", { type: "submit", class: "press" }, say_.make)),
      wrong && h("p", { class: "wrong", role: "alert", "data-key": "wrong" }, wrong),
      made && [
        shownOnce({ label: say_.made(made.name), text: made.url, copy: say_.copies.made }, say),
        shownOnce({ label: say_.laptop, text: made.days, copy: say_.copies.days }, say)],
      links && (links.length ? h("ul", { "data-key": "links" }, links.map(linkRow)) : h("p", { class: "nothing", "data-key": "none" }, say_.none)));
  }

  function linkRow(link) {
    return h("li", { class: "row row-wide", "data-key": link.id },
      h("span", { class: "row-what" }, link.name, link.created_at && h("small", {}, say_.since(momentText(link.created_at, today())))),
      h("span", { class: "row-side" }, h("button", { type: "button", class: "press", "aria-label": `${say_.end}: ${link.name}`, onclick: () => end(link) }, say_.end)));
  }

  return { load, draw };
}
