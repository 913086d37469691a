// Scan: one field that keeps its place. What is entered is looked up, handed out or taken back,
// in the order in which it was entered, however fast.

import { words } from "../all_words.js";
import { newKey, read, readAll } from "../api.js";
import { h, patch } from "../build.js";
import { someText } from "../forms.js";
import { isCounted, stillToGo } from "../line_model.js";
import { camera, canSee } from "../parts/camera.js";
import { backFields, modeChoice, outFields, suggestions, toGoList } from "../parts/scan_fields.js";
import { logRow } from "../parts/scan_log.js";
import { boardNow, nowFor, todayFor } from "../pulse.js";
import { may } from "../rights.js";
import { countedMatches, isRunning, outBookings } from "../scan_model.js";
import { scanner } from "../scanner.js";

const MOST_SHOWN = 30;
const MOST_SUGGESTED = 5;

export function open({ root, url, session, leave, say, named, beat }) {
  const options = { signal: leave };
  const own = session.account.unit_ids;
  const modes = may(session, "custody") ? ["look", "out", "back"] : ["look"];
  const units = session.units.filter((unit) => may(session, "custody", unit.id)).sort((a, b) => own.includes(b.id) - own.includes(a.id));
  const log = []; // newest first: { key, is, frame, text, notes, links, presses, ask, undo }
  const known = { bookings: [], kits: [], reading: null, destination: null }; // destination: { booking, standing } of what is chosen
  let choice = startingChoice();
  let queue = Promise.resolve();
  let waiting = 0;
  let typed = "";

  const today = () => todayFor(session);
  const now = () => nowFor(session);
  const eye = canSee() ? camera({ found: (code) => enter(code), failed: () => note({ is: "late", frame: words.answer.refused, text: words.scan.cameraNone }), redraw: draw, leave }) : null;
  const scan = scanner({ session, known, note, moved, today, now, leave });

  named(words.scan.title);
  draw();
  field().focus();
  const code = url.searchParams.get("code");
  if (code) field().value = code;
  known.reading = readKits();
  readBookings();

  function startingChoice() {
    const mode = url.searchParams.get("mode");
    return { mode: modes.includes(mode) ? mode : "look", booking: url.searchParams.get("booking") ?? "", unit: "", person: "", condition: "fit", words: "" };
  }

  async function readKits() {
    const answer = await readAll("/kit-types", "kit_types", options);
    if (answer.ok) known.kits = answer.body.filter(isCounted);
  }

  /** The bookings that kit can go out on; a unit's own people begin with what goes out next, or with what runs. */
  async function readBookings() {
    if (choice.mode !== "out") return;
    const ahead = new URLSearchParams({ state: "confirmed", from: `${today()}T00:00:00${session.now.slice(19)}` });
    const answer = await readAll(`/bookings?${ahead}`, "bookings", options);
    if (leave.aborted || !answer.ok) return;
    const soon = outBookings(answer.body, { now: now(), own, may: (unit) => may(session, "custody", unit) });
    known.bookings = withChosen(soon, known.destination?.booking);
    const goesOut = (one) => boardNow()?.going_out.some((row) => row.booking_id === one.id);
    const mine = known.bookings.filter((one) => own.includes(one.unit_id));
    if (!choice.booking && !choice.unit && own.length) choice.booking = (mine.find(goesOut) ?? mine.find((one) => isRunning(one, now())) ?? mine[0])?.id ?? "";
    if (!choice.booking && !choice.unit && own.length === 1) choice.unit = own[0];
    draw();
    await readDestination();
  }

  /** What the chosen booking has still to go out. */
  async function readDestination() {
    const { booking: id } = choice;
    if (choice.mode !== "out" || !id) {
      known.destination = null;
      return draw();
    }
    const [booking, standing] = await Promise.all([read(`/bookings/${id}`, options), read(`/bookings/${id}/standing`, options)]);
    if (leave.aborted || id !== choice.booking) return;
    known.destination = booking.ok && standing.ok ? { booking: booking.body, standing: standing.body } : null;
    known.bookings = withChosen(known.bookings, known.destination?.booking);
    draw();
  }

  /** A booking that was come from stands in the list however far off it is. */
  function withChosen(bookings, chosen) {
    return !chosen || chosen.id !== choice.booking || bookings.some((one) => one.id === chosen.id) ? bookings : [chosen, ...bookings];
  }

  function field() {
    return root.querySelector(".scan-field");
  }

  /** The field keeps the focus, but not while the camera reads: a keyboard would cover what it sees. */
  function refocus() {
    if (!eye?.isOn()) field().focus();
  }

  function submit(event) {
    event.preventDefault();
    const entered = someText(field().value, { name: words.scan.codeMissing, most: 80 });
    field().value = typed = "";
    refocus();
    if (!entered.wrong) enter(entered.value);
  }

  /** Whatever is entered keeps what was chosen when it was; the condition is for that one piece. */
  function enter(text) {
    if (choice.mode === "out" && !choice.booking && !choice.unit) return note({ is: "late", frame: words.answer.refused, text: words.scan.chooseFirst(text) });
    const chosen = { ...choice };
    Object.assign(choice, { condition: "fit", words: "" });
    inOrder(() => scan.enter(text, chosen));
  }

  function inOrder(action) {
    waiting += 1;
    draw();
    queue = queue.then(action).finally(() => {
      waiting -= 1;
      draw();
    });
  }

  function moved() {
    beat();
    readDestination();
  }

  function note(entry) {
    if (leave.aborted) return;
    const row = { key: newKey(), ...entry };
    log.unshift(row);
    log.length = Math.min(log.length, MOST_SHOWN);
    if (row.undo) setTimeout(() => leave.aborted || draw(), row.undo.until - Date.now() + 100);
    say([row.frame, row.text, ...(row.notes ?? []), ...(row.links ?? []).map((link) => link.text)].join(". "));
    draw();
  }

  function answer(entry, action) {
    entry.presses = entry.ask = entry.undo = null;
    refocus();
    inOrder(action);
  }

  function set(change) {
    Object.assign(choice, change);
    if (change.mode) Object.assign(choice, { condition: "fit", words: "" });
    draw();
    if (change.mode) refocus();
    if (change.mode === "out") readBookings();
    else if ("booking" in change) readDestination();
  }

  function draw() {
    if (leave.aborted) return;
    patch(root, h("div", { class: "narrow stack scan" },
      h("h1", { class: "spoken" }, words.scan.title),
      modes.length > 1 && h("fieldset", { "data-key": "mode" }, h("legend", { class: "spoken" }, words.scan.mode), h("div", { class: "choices" }, modes.map((mode) => modeChoice(mode, choice, set)))),
      choice.mode === "out" && outFields({ choice, set, units, bookings: known.bookings, now: now(), today: today() }),
      choice.mode === "back" && backFields({ choice, set }),
      entryForm(),
      choice.mode === "out" && known.destination && toGoList(stillToGo(known.destination.booking, known.destination.standing), { isCounted, open: !log.length, ask: (line) => inOrder(() => scan.kit({ id: line.kit_type_id, name: line.name }, { ...choice })) }),
      log.length ? h("ul", { "data-key": "log", "aria-label": words.scan.done }, log.map(row)) : h("p", { class: "muted", "data-key": "hint" }, words.scan.hint)));
  }

  function entryForm() {
    const looking = (event) => {
      typed = event.target.value;
      draw();
    };
    const take = (kit) => {
      field().value = typed = "";
      inOrder(() => scan.kit(kit, { ...choice }));
    };
    return h("form", { onsubmit: submit, "data-key": "form", autocomplete: "off" },
      h("label", { class: "field" }, h("span", {}, words.scan.field),
        h("input", { class: "scan-field", name: "code", type: "text", autocapitalize: "characters", autocorrect: "off", spellcheck: "false", enterkeyhint: "go", maxlength: 80, oninput: looking })),
      suggestions(countedMatches(known.kits, typed).slice(0, MOST_SUGGESTED), take),
      eye?.view(),
      h("p", { class: "presses", "data-key": "go" }, h("button", { type: "submit", class: "press press-best" }, words.scan.modes[choice.mode]),
        eye && h("button", { type: "button", class: "press", "data-key": "camera", onclick: () => eye.press(() => root.querySelector(".camera")) }, eye.isOn() ? words.scan.cameraStop : words.scan.camera),
        waiting > 0 && h("span", { class: "muted", role: "status" }, words.scan.working(waiting))));
  }

  /** The last that moved can be undone; what was scanned before it not any more. */
  function row(entry) {
    const isLast = entry.undo && entry === log.find((one) => one.undo) && Date.now() < entry.undo.until;
    const undo = isLast ? entry.undo.action : null;
    return logRow(entry, { answer, redraw: draw, undo });
  }

  return {
    draw,
    refresh() {
      draw();
      readBookings();
    },
    turn() {},
  };
}
