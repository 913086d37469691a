// The Office: what the house keeps in order. Lists brought in and taken out, units and their shoot
// days, people and accounts, tokens and screens; each sees the parts that are theirs to use.

import { h, patch } from "../build.js";
import { accounts } from "../office/accounts.js";
import { lists } from "../office/lists.js";
import { people } from "../office/people.js";
import { tokens } from "../office/tokens.js";
import { units } from "../office/units.js";
import { wallLinks } from "../office/wall_links.js";
import { office } from "../office/words.js";
import { may } from "../rights.js";

export function open({ root, url, session, leave, go, say, named, enter, beat }) {
  const anyOf = (...verbs) => verbs.some((verb) => may(session, verb));
  const places = ["units", "people", anyOf("import", "export") && "lists", anyOf("tokens", "walls") && "links"].filter(Boolean);
  const made = new Map();
  draw();
  load();

  /** The parts of a place are made when it is first opened and keep what is typed in them. */
  function partsOf(place) {
    if (made.has(place)) return made.get(place);
    const given = { session, leave, redraw: draw, say, go, beat, url, enter: renew };
    const makers = {
      units: [units],
      people: [may(session, "accounts") && accounts, people],
      lists: [lists],
      links: [may(session, "tokens") && tokens, may(session, "walls") && wallLinks],
    };
    made.set(place, makers[place].filter(Boolean).map((make) => make(given)));
    return made.get(place);
  }

  /** A new unit is in every choice of units at once. */
  async function renew() {
    const fresh = await enter();
    if (fresh?.units) session.units = fresh.units;
  }

  function placeNow() {
    const name = url.pathname.split("/")[2];
    return places.includes(name) ? name : places[0];
  }

  function load() {
    for (const part of partsOf(placeNow())) part.load();
  }

  function draw() {
    const place = placeNow();
    named(office.parts[place]);
    patch(root,
      h("div", { class: "page-head", "data-key": "head" }, h("h1", {}, office.title),
        h("nav", { class: "choices office-places no-paper", "aria-label": office.nav }, places.map((name) =>
          h("a", { href: `/office/${name}`, "data-key": name, "aria-current": name === place ? "page" : null }, office.parts[name])))),
      h("div", { class: "stack office", "data-key": place }, partsOf(place).map((part) => part.draw())));
  }

  return {
    place: () => "office",
    draw,
    refresh: load,
    turn(next) {
      const before = placeNow();
      url = next;
      for (const part of partsOf(placeNow())) part.turn?.(url);
      draw();
      if (placeNow() !== before) load();
    },
  };
}
