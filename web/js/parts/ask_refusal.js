// A refusal on the page: what is short and why, who holds it, and what would work, least cost first.

import { words } from "../all_words.js";
import { h } from "../build.js";
import { dateOf, secondsOf } from "../when.js";
import { edgeLines, everyHolder, frameOf, reasonLine, reasonOf } from "./answers.js";
import { frame } from "./frame.js";

const SHOWN = 2;
const TWINS_S = 3600;
const COSTS = ["straight", "mixed", "substitute", "both", "fewer", "pencil_behind"];

/**
 * Options by what they cost: first what keeps the time, then the same day, then another one; those
 * by time. Two that begin within an hour of each other on one day are one: the one at the asked
 * times of day, or within call and wrap, stays. `start` is what was asked. Pure.
 */
export function ordered(options, start) {
  const kept = options.filter((option) => !options.some((other) => other !== option && areTwins(option, other) && isBetter(other, option, options)));
  const cost = (option) => (COSTS.includes(option.kind) ? COSTS.indexOf(option.kind) : COSTS.length + (dateOf(option.start) === dateOf(start) ? 0 : 1));
  return [...kept].sort((a, b) => cost(a) - cost(b) || (cost(a) < COSTS.length ? 0 : Number(a.outside_hours) - Number(b.outside_hours) || secondsOf(a.start) - secondsOf(b.start)));
}

const isMoved = (option) => ["earlier", "later"].includes(option.kind);
const areTwins = (a, b) => isMoved(a) && isMoved(b) && dateOf(a.start) === dateOf(b.start) && Math.abs(secondsOf(a.start) - secondsOf(b.start)) < TWINS_S;

function isBetter(one, other, options) {
  const asIs = (option) => [option.outside_hours ? 1 : 0, option.shift_s % 86400 === 0 ? 0 : 1, options.indexOf(option)];
  const [a, b] = [asIs(one), asIs(other)];
  const at = a.findIndex((value, index) => value !== b[index]);
  return a[at] < b[at];
}

/**
 * Where only a pencil is in the way: what is free now, and a pencil on the rest. It is two asks,
 * `body` and `then`. Null where one of them is not on offer. Pure.
 */
export function bothOf(options) {
  const fewer = options.find((option) => option.kind === "fewer");
  const pencil = options.find((option) => option.kind === "pencil_behind");
  if (!fewer || !pencil || !fewer.lacks.length) return null;
  const lines = fewer.lacks.map(({ kit_type_id, quantity }) => ({ kit_type_id, quantity }));
  return { ...fewer, kind: "both", then: { ...pencil.body, lines } };
}

/** The refusal in words, for who listens. */
export const refusalText = (answer, { today, own }) => answer.short.flatMap((shortage) => reasonOf(shortage, today, own)).join(" ");

/** The frame and the first thing that is short: what stands at the thumb, above the best option. */
export function shortLine({ short }, today) {
  const { is, text } = frameOf(short);
  return h("p", { "data-key": "frame" }, frame(is, text), " ", words.sentences([reasonLine(short[0], today), short.length > 1 && words.answer.alsoShort(short.length - 1)]));
}

/** All else of a refusal: why it is short then, who holds the kit, and what else is short. */
export function refusalPart(answer, { today, own }) {
  return answer.short.map((shortage, index) => {
    const holders = everyHolder(shortage.holders, today, own);
    const [first, rest] = [holders.slice(0, SHOWN), holders.slice(SHOWN)];
    const what = index ? reasonLine(shortage, today) : answer.short.length > 1 && words.answer.of(shortage);
    const edges = answer.start ? edgeLines(shortage, answer) : [];
    return h("div", { class: "reason", "data-key": `reason-${index}` },
      what && h("p", {}, what),
      first.length + edges.length > 0 && h("p", { class: "muted" }, words.sentences([...first, ...edges])),
      rest.length > 0 && h("details", { class: "muted", "data-key": "rest" }, h("summary", {}, words.answer.moreHold(rest.length)),
        rest.map((line) => h("p", {}, line))));
  });
}
