// What stands round every page: the bar, the places, the strip, what waits, and the light.

import { h, patch } from "./build.js";
import { keptAsks } from "./kept.js";
import { changeLight, showLight } from "./light.js";
import { drawStrip } from "./parts/strip.js";
import { ageOfBoard, boardNow, knownAt, poolNow } from "./pulse.js";
import { homeUnit, unitsToAskFor } from "./rights.js";
import { timeOf } from "./when.js";
import { words } from "./words.js";

const OLD_MS = 60000;
const at = (id) => document.getElementById(id);

export const stage = at("stage");

/** Says one sentence to a screen reader. */
export function say(text) {
  patch(at("spoken"), text);
}

/** The page's name, in the browser's title. */
export function named(name) {
  document.title = words.bar.title(name);
}

/** Draws the bar and the places for `session` (null: nobody) on the page `place`. */
export function drawBar(session, place) {
  at("places").hidden = !session;
  at("strip").hidden = !session;
  document.documentElement.classList.toggle("on-wall", place === "wall");
  for (const link of at("places").querySelectorAll("a")) {
    if (link.dataset.place === place) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
    if (link.dataset.place === "mine" && session) patch(link, session.account.unit_ids.length ? words.bar.mine : words.bar.allBookings);
    link.hidden = Boolean(session) && isNotTheirs(session, link.dataset.place);
    if (link.dataset.place === "days") link.classList.toggle("desk-only", !session || !isNotTheirs(session, "ask")); // at the thumb where Ask is not
  }
  patch(at("whose"), session ? whose(session) : []);
  patch(at("account"), session ? account(session.account) : []);
  drawWaiting(Boolean(session) && place !== "ask");
}

/** A read-only link shows what is now and what is free; Ask is for who has a unit to ask for. */
function isNotTheirs(session, place) {
  if (session.account.role === "wall") return place !== "now" && place !== "days";
  return place === "ask" && !unitsToAskFor(session).length;
}

function whose(session) {
  const unit = session.account.unit_ids.length ? homeUnit(session) : null;
  return [
    h("span", { class: "desk-only" }, words.bar.whose([...new Set(session.units.map((one) => one.production))], session.pool)),
    h("span", { class: "phone-only" }, unit ? words.unit(unit.name) : session.pool.name),
  ];
}

function account(who) {
  if (who.role !== "wall") return words.bar.account(who);
  return [words.bar.reader(who.name), " · ", h("a", { href: "/sign-in" }, words.bar.signIn)];
}

/** What is kept on this phone is counted on every page but Ask, where it is listed. */
export function drawWaiting(counted = !at("waiting").hasAttribute("data-listed")) {
  const waiting = keptAsks().length;
  at("waiting").toggleAttribute("data-listed", !counted);
  at("waiting").hidden = !counted || !waiting;
  patch(at("waiting"), words.bar.waits(waiting), " ", h("a", { href: "/ask" }, words.bar.seeWaiting));
}

export function drawDays(session, view) {
  const board = boardNow();
  if (!board) return;
  drawStrip(at("strip"), { days: board.strip, today: board.today, homeUnit: homeUnit(session)?.id, ...view });
}

/** "as of 13:52" once what is shown is older than a minute, and at once without signal. */
export function drawAge(signal) {
  document.documentElement.dataset.signal = signal ? "some" : "none";
  const known = knownAt();
  if (!known || (signal && ageOfBoard() < OLD_MS)) return patch(at("age"), []);
  patch(at("age"), words.bar[signal ? "asOf" : "unheard"](timeOf(known)));
}

/** Shows the light of this moment, and names the other one on the button. */
export function drawLight(place) {
  const now = poolNow();
  const other = showLight({ time: now ? timeOf(now) : undefined, place }) === "night" ? "day" : "night";
  const button = at("light");
  button.hidden = false;
  button.setAttribute("aria-label", words.bar.lightHint[other]);
  patch(button, words.bar[other]);
}

/** One tap changes the light. */
export function followLight(redraw) {
  at("light").addEventListener("click", () => {
    changeLight();
    redraw();
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
}
