// Why a press on a booking was not done, and what would work in its place: at the press itself.

import { words } from "../all_words.js";
import { h } from "../build.js";
import { optionText, reasonOf } from "./answers.js";
import { PARTS, category, isPack, radiosOf } from "./booked.js";

const MOST_OPTIONS = 5;

/**
 * A refusal, announced. `title` says what was not done; `asked`: the lines as they were wanted, for the
 * options' words, `whose` the unit where it is not the reader's; `take(option)` is called with the one pressed.
 */
export function refusal({ problem, title, asked = [], whose = null, today, own = [], take = null, busy, more = null }) {
  const short = problem.short ?? [];
  const lines = short.length ? short.flatMap((one) => reasonOf(one, today, own)) : [words.problem.other(problem)];
  const options = take ? (problem.options ?? []).filter((option) => !["pencil_behind", "both"].includes(option.kind)).slice(0, MOST_OPTIONS) : [];
  return h("div", { class: "answer refusal", role: "alert", "data-key": "refusal" },
    short.length > 0 && title && h("p", { class: "strong" }, title), lines.map((line) => h("p", {}, line)),
    options.length > 0 && h("div", { class: "presses presses-down", role: "group", "aria-label": words.booking.wouldWork, "data-key": "options" },
      options.map((option, index) => optionPress(option, index, { asked, whose, today, take, busy }))),
    more);
}

function optionPress(option, index, { asked, whose, today, take, busy }) {
  const { press, note: cost } = optionText(option, { ...askedOf(asked, option.lines, today), whose });
  const note = words.dotted([cost, offText(option, asked)]);
  return h("button", { type: "button", class: "press", "data-key": `option-${index}`, disabled: busy, onclick: () => take(option) }, press, note && h("span", { class: "note small" }, note));
}

/** Of fewer, the lines that would leave the booking whole: the press names only what stays. */
function offText(option, asked) {
  const stays = new Set(option.lines.map((line) => line.kit_type_id));
  const off = option.kind === "fewer" ? [...new Set(asked.filter((line) => !stays.has(line.kit_type_id)).map((line) => line.name))] : [];
  return off.length ? words.booking.takesOff(off) : "";
}

/** What `answers.js` needs to know of what was wanted. */
function askedOf(lines, offered, today) {
  const kits = (test) => new Set([...lines, ...offered].filter(test).map((line) => line.kit_type_id));
  return { lines, radios: radiosOf(lines), packs: kits(isPack), radioKits: kits((line) => PARTS.includes(category(line))), today, does: "change" };
}
