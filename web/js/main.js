// Joins the pages: who is signed in, which page stands, and when each is drawn afresh.

import { onSignal, onSignedOut, read, remove, useToken } from "./api.js";
import { h, patch } from "./build.js";
import { beat, boardNow, setPace, startPulse, stopPulse } from "./pulse.js";
import { OPEN, followLinks, routeOf } from "./router.js";
import { drawAge, drawBar, drawDays, drawLight, drawWaiting, followLight, named, say, stage } from "./shell.js";
import { firstDay, spanOf } from "./span.js";
import { dateOf } from "./when.js";
import { words } from "./words.js";

const OFTEN_MS = 15000;
const LINK = "crossload-link";

let session = null;
let route = null;
let page = null;
let url = new URL(location.href);
let leaving = new AbortController();
let signal = true;
let step = 0;

const go = followLinks(show);

/** Shows a URL: the same page with another query turns, another page opens. */
async function show(next) {
  url = next;
  const found = routeOf(url.pathname);
  if (found.name === "sign-in") dropLink();
  if (!session && !OPEN.has(found.name) && !(await enter())) return;
  if (!OPEN.has(found.name)) startPulse(stripStart, boardChanged); // before the page: what it reads is no older than the board
  if (route?.name === found.name && route.params.id === found.params.id) page?.turn?.(url);
  else await openPage(found);
  drawAround();
  if (!isInside()) return;
  if (boardNow() && boardNow().strip[0]?.date !== stripStart()) beat();
}

/** A read-only link, `/days#TOKEN`: its token is this tab's until somebody signs in or it is ended. */
function takeLink() {
  const [, token] = /^#(clw_[\w-]+)$/.exec(url.hash) ?? [];
  if (routeOf(url.pathname).name === "wall") return; // which has its own
  if (token) sessionStorage.setItem(LINK, token);
  useToken(sessionStorage.getItem(LINK));
}

function dropLink() {
  sessionStorage.removeItem(LINK);
  if (session?.account.role === "wall") forget();
  useToken(null);
}

const isInside = () => Boolean(session) && !OPEN.has(route?.name);

async function openPage(found) {
  const first = route === null;
  leaving.abort();
  leaving = new AbortController();
  const mine = leaving.signal;
  route = found;
  page = null;
  step = 0;
  const root = h("div", { class: "page" });
  stage.replaceChildren(root);
  const module = await loaded(found, root);
  if (mine.aborted || !module) return;
  if (!first) stage.focus({ preventScroll: true }); // before the page: it may know a better place
  page = module.open({ root, url, params: found.params, session, leave: mine, go, say, named, enter, signOut, beat, redrawStrip: drawAround });
  scrollTo(0, 0);
}

/** A page's module; without signal a sentence and a button stand in its place. */
async function loaded({ load }, root) {
  if (!load) return { open: openNowhere };
  try {
    return await load();
  } catch {
    const again = h("button", { type: "button", class: "press", onclick: () => location.reload() }, words.again);
    patch(root, h("h1", {}, words.problem.unheard().title), h("p", {}, again));
    return null;
  }
}

function openNowhere({ root }) {
  named(words.nowhere.title);
  patch(root, h("h1", {}, words.nowhere.title), h("p", {}, words.nowhere.body));
  return {};
}

/** Finds out who is signed in: the session, or null. Elsewhere than on a 401 it says why it could not. */
async function enter() {
  const answer = await read("/session");
  if (answer.ok) {
    session = answer.body;
    setPace(session.poll);
  } else if (answer.status !== 401) drawUnreached(answer.problem);
  return answer.ok ? session : null;
}

function drawUnreached(problem) {
  const again = h("button", { type: "button", class: "press", onclick: () => show(url) }, words.again);
  stage.replaceChildren(h("div", { class: "page" },
    h("h1", {}, problem.title), h("p", {}, words.problem.other(problem)), h("p", {}, again)));
}

async function signOut() {
  await remove("/session");
  forget();
  go("/sign-in");
}

function forget() {
  session = null;
  stopPulse();
}

onSignedOut(() => {
  if (OPEN.has(routeOf(location.pathname).name)) return;
  dropLink();
  forget();
  const then = location.pathname + location.search;
  go(then === "/" ? "/sign-in" : `/sign-in?then=${encodeURIComponent(then)}`, { replace: true });
});

function stripStart() {
  return firstDay(boardNow()?.today ?? dateOf(session.now), spanOf(url), step);
}

/** With the first board a page that reads for itself has just begun to: it is only drawn. */
function boardChanged(isFirst) {
  drawAround();
  if (isFirst) page?.draw?.();
  else page?.refresh?.();
}

function drawAround() {
  drawBar(isInside() ? session : null, page?.place?.() ?? route?.name);
  drawAge(signal);
  if (isInside()) drawDays(session, { span: spanOf(url) ?? page?.span?.() ?? null, stretch: route.name === "ask", url, go, move });
  drawLight(session?.pool.coordinates);
}

function move(by) {
  step = by === 0 ? 0 : step + by;
  beat();
}

followLight(() => drawLight(session?.pool.coordinates));
addEventListener("kept", () => drawWaiting());
addEventListener("storage", () => drawWaiting());
onSignal((heard) => {
  signal = heard.signal;
  drawAge(signal);
});
setInterval(() => {
  drawAge(signal);
  drawLight(session?.pool.coordinates);
}, OFTEN_MS);
takeLink();
show(url);
