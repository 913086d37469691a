// The only module that speaks to the service. Nothing here throws: an answer is a value.
//
// An answer is { ok, status, body, etag, problem, unchanged }. `problem` is problem details
// (RFC 9457); with no signal its type is NO_SIGNAL, made here.

import { words } from "./words.js";

const ROOT = "/api/v1";
const PATIENCE_MS = 10000;
const FILE_PATIENCE_MS = 120000; // a list of tens of thousands of rows is read, laid beside the pool and written
export const NO_SIGNAL = "/problems/no-signal";

const remembered = new Map();
const listeners = new Set();
let bearer = null;
let heardAt = Date.now();
let signal = true;

/** Calls `listener({ signal, heardAt })` after each answer, and after each silence, until `leave`. */
export function onSignal(listener, leave) {
  listeners.add(listener);
  leave?.addEventListener("abort", () => listeners.delete(listener));
}

/** Whether the service answered when it was last spoken to. */
export const hasSignal = () => signal;

let whenSignedOut = () => {};
/** `action` runs when the service no longer knows who asks. */
export function onSignedOut(action) {
  whenSignedOut = action;
}

/** From now on a wall link's token is sent in place of the cookie. */
export function useToken(token) {
  bearer = token;
}

/** A key for one press: pressing again is another ask, sending again is the same one. */
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16)); // randomUUID needs TLS, a LAN may have none
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

/** Reads, and sends what it remembers of the last reading, so that unchanged things cost one line. */
export async function read(path, { signal: leave } = {}) {
  const last = remembered.get(path);
  const headers = last?.etag ? { "If-None-Match": last.etag } : {};
  const answer = await send("GET", path, { headers, leave });
  if (answer.status === 304) return { ...last, unchanged: true };
  if (answer.ok) remembered.set(path, answer);
  return answer;
}

/** Creates. `key` is made where the press was, and kept with whatever must be sent again. */
export function create(path, body, key, { signal: leave } = {}) {
  return send("POST", path, { body, headers: key ? { "Idempotency-Key": key } : {}, leave });
}

/** Changes one thing as it was read: `etag` says which reading. */
export function change(method, path, body, etag) {
  return send(method, path, { body, headers: etag ? { "If-Match": etag } : {} });
}

export function remove(path) {
  return send("DELETE", path, {});
}

/** Sends a file's bytes as they are. */
export function upload(path, bytes, type) {
  return send("POST", path, { bytes, headers: { "Content-Type": type }, patience: FILE_PATIENCE_MS });
}

/** Fetches a file: { ok, blob, problem }. */
export async function download(path, type) {
  const answer = await send("GET", path, { headers: { Accept: type }, as: "blob" });
  return { ok: answer.ok, blob: answer.body, problem: answer.problem };
}

/** Reads every page of a list: { ok, body: [rows], problem }. */
export async function readAll(path, name, options) {
  const rows = [];
  for (let next = path; next; ) {
    const answer = await read(next, options);
    if (!answer.ok) return answer;
    rows.push(...answer.body[name]);
    next = answer.next;
  }
  return { ok: true, status: 200, body: rows };
}

async function send(method, path, { body, bytes, headers = {}, leave, as = "json", patience = PATIENCE_MS }) {
  const silence = AbortSignal.timeout(patience);
  const request = {
    method,
    headers: { Accept: "application/json, application/problem+json", ...headers },
    signal: leave ? AbortSignal.any([leave, silence]) : silence,
    credentials: "same-origin",
  };
  if (bearer) request.headers.Authorization = `Bearer ${bearer}`;
  if (body !== undefined) {
    request.headers["Content-Type"] = "application/json";
    request.body = JSON.stringify(body);
  }
  if (bytes) request.body = bytes;
  try {
    const response = await fetch(ROOT + path, request);
    const answer = await answerOf(response, as);
    heard(true);
    if (answer.status === 401) whenSignedOut(path, method);
    return answer;
  } catch {
    if (leave?.aborted) return { ok: false, status: 0, left: true, problem: noSignal() };
    heard(false);
    return { ok: false, status: 0, problem: noSignal() };
  }
}

async function answerOf(response, as) {
  const { ok, status } = response;
  const etag = response.headers.get("ETag");
  if (!ok && status !== 304) return { ok, status, etag, problem: await problemOf(response) };
  if (status === 204 || status === 304) return { ok: true, status, etag, body: null };
  const body = as === "blob" ? await response.blob() : await response.json();
  return { ok, status, etag, body, next: nextPage(response.headers.get("Link")) };
}

async function problemOf(response) {
  const fallback = { type: "about:blank", title: words.problem.title(response.status), detail: "", status: response.status };
  try {
    return { ...fallback, ...(await response.json()) };
  } catch {
    return fallback;
  }
}

/** The path of the next page in an RFC 8288 Link header, as `read` takes it. */
export function nextPage(link) {
  const found = /<([^>]+)>\s*;[^,]*rel="?next"?/.exec(link ?? "");
  if (!found) return null;
  const url = new URL(found[1], location.origin);
  return url.pathname.replace(ROOT, "") + url.search;
}

const noSignal = () => ({ type: NO_SIGNAL, status: 0, ...words.problem.unheard() });

function heard(yes) {
  signal = yes;
  if (yes) heardAt = Date.now();
  for (const listener of listeners) listener({ signal, heardAt });
}
