// The next steps of an empty pool, each a link; those that are done say so, and when all are, none.

import { read } from "../api.js";
import { h } from "../build.js";
import { frame } from "../parts/frame.js";
import { stepsDone } from "./model.js";
import { office } from "./words.js";

const say_ = office.steps;
const STEPS = [["kit", "lists", "kitHint"], ["units", "units", "unitsHint"], ["days", "lists", "daysHint"], ["people", "people", "peopleHint"]];

export function firstSteps({ leave, redraw }) {
  let done = null;

  async function load() {
    const count = async (path, name) => {
      const answer = await read(path, { signal: leave });
      return answer.ok ? answer.body[name].length : 1; // without an answer nothing is asked of anybody
    };
    const [kitTypes, units, shootDays, accounts, invitations] = await Promise.all([
      count("/kit-types?limit=1", "kit_types"), count("/units?limit=1", "units"), count("/shoot-days?limit=1", "shoot_days"),
      count("/accounts?limit=2", "accounts"), count("/invitations", "invitations"),
    ]);
    if (leave.aborted) return;
    done = stepsDone({ kitTypes, units, shootDays, accounts, invitations });
    redraw();
  }

  function draw() {
    if (!done || Object.values(done).every(Boolean)) return null;
    return h("section", { class: "part part-first narrow", "data-key": "steps", "aria-labelledby": "steps-title" },
      h("h2", { id: "steps-title" }, say_.title),
      h("p", { class: "nothing" }, say_.hint),
      h("ol", {}, STEPS.map(([name, place, hint], index) => h("li", { class: "row", "data-key": name },
        h("span", { class: "row-when" }, String(index + 1)),
        h("span", { class: "row-what" }, h("a", { href: `/office/${place}` }, say_[name]), h("small", {}, say_[hint])),
        h("span", { class: "row-side" }, done[name] && frame("free", say_.done))))));
  }

  return { load, draw };
}
