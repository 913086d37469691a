// Read-only links, for wall screens and for who only reads: the coordinator makes one for each, sees
// those in use, and ends them.

import { create, newKey, read, remove } from "../api.js";
import { h } from "../build.js";
import { someText } from "../forms.js";
import { momentText } from "../when.js";
import { words } from "../words.js";

export function wallLinks({ leave, redraw, say, today }) {
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
    const name = someText(form.elements.name.value, { name: words.walls.nameMissing, most: 80 });
    wrong = name.wrong;
    if (wrong) return redraw();
    const answer = await create("/wall-links", { name: name.value }, newKey());
    if (answer.ok) {
      const url = new URL(answer.body.url, location.origin);
      made = { name: answer.body.name, url: url.href, days: new URL(`/days${url.hash}`, location.origin).href };
      form.reset();
      say(words.walls.made(made.name));
      await load();
    } else {
      wrong = words.problem.other(answer.problem);
    }
    redraw();
  }

  async function end(link) {
    const answer = await remove(`/wall-links/${link.id}`);
    if (answer.ok) say(words.walls.ended(link.name));
    else wrong = words.problem.other(answer.problem);
    await load();
  }

  async function copy(url) {
    await navigator.clipboard?.writeText(url);
    say(words.walls.copied);
  }

  function draw() {
    return h("section", { class: "part part-set", "data-key": "walls", "aria-labelledby": "walls-title" },
      h("h2", { id: "walls-title" }, words.walls.title),
      h("p", { class: "muted" }, words.walls.hint),
      h("form", { class: "fields-across", onsubmit: make, "data-key": "make" },
        h("label", { class: "field" }, h("span", {}, words.walls.name), h("input", { type: "text", name: "name", required: true, maxlength: 80, autocomplete: "off" })),
        h("button", { type: "submit", class: "press" }, words.walls.make)),
      wrong && h("p", { class: "wrong", role: "alert", "data-key": "wrong" }, wrong),
      made && [linkField("made", words.walls.made(made.name), made.url), linkField("days", words.walls.laptop, made.days)],
      links && (links.length ? h("ul", { "data-key": "links" }, links.map(linkRow)) : h("p", { class: "nothing", "data-key": "none" }, words.walls.none)));
  }

  function linkField(key, text, url) {
    return h("div", { class: "fields-across", "data-key": key },
      h("label", { class: "field" }, h("span", {}, text), h("input", { type: "text", class: "link-text", readonly: true, value: url })),
      navigator.clipboard && h("button", { type: "button", class: "press", "aria-label": words.walls.copies[key], onclick: () => copy(url) }, words.walls.copy));
  }

  function linkRow(link) {
    return h("li", { class: "row row-wide", "data-key": link.id },
      h("span", { class: "row-what" }, link.name, link.created_at && h("small", {}, words.walls.since(momentText(link.created_at, today())))),
      h("span", { class: "row-side" }, h("button", { type: "button", class: "press", "aria-label": `${words.walls.end}: ${link.name}`, onclick: () => end(link) }, words.walls.end)));
  }

  return { load, draw };
}
