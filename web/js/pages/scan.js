// Scan: one field that keeps its place. What is entered is looked up, handed out or taken back,
// in the order in which it was entered, however fast.

import { NO_SIGNAL, create, newKey, read } from "../api.js";
import { h, patch } from "../build.js";
import { someText, wholeNumber } from "../forms.js";
import { keep } from "../kept.js";
import { frame } from "../parts/frame.js";
import { boardNow, poolNow } from "../pulse.js";
import { homeUnit, may } from "../rights.js";
import { custodyEvent, movedText, piecesOfBox, scanKind } from "../scan_model.js";
import { dateOf, momentText } from "../when.js";
import { words } from "../words.js";

const CONDITIONS = ["fit", "suspect", "damaged", "lost"];
const MOST_SHOWN = 30;

export function open({ root, url, session, leave, say, named, beat }) {
  const today = () => boardNow()?.today ?? dateOf(session.now);
  const modes = may(session, "custody") ? ["look", "out", "back"] : ["look"];
  const choice = startingChoice();
  const log = []; // newest first: { key, is, frame, text, notes, ask }
  const told = new Set(); // cautions, each said once: a reader scans a piece a second
  let queue = Promise.resolve();
  let waiting = 0;

  named(words.scan.title);
  draw();
  field().focus();
  const code = url.searchParams.get("code");
  if (code) field().value = code;

  function startingChoice() {
    const mode = url.searchParams.get("mode");
    return { mode: modes.includes(mode) ? mode : "look", booking: url.searchParams.get("booking") ?? "", unit: homeUnit(session)?.id ?? "", person: "", condition: "fit", words: "" };
  }

  function field() {
    return root.querySelector(".scan-field");
  }

  function submit(event) {
    event.preventDefault();
    const entered = someText(field().value, { name: words.scan.codeMissing, most: 80 });
    field().value = "";
    field().focus();
    if (entered.wrong) return;
    const chosen = { ...choice };
    waiting += 1;
    draw();
    queue = queue.then(() => one(entered.value, chosen)).finally(() => {
      waiting -= 1;
      draw();
    });
  }

  async function one(code_, chosen) {
    const answer = await read(`/scan/${encodeURIComponent(code_)}`, { signal: leave });
    if (leave.aborted) return;
    if (!answer.ok && answer.problem.type === NO_SIGNAL && chosen.mode !== "look") return keepMove(code_, [{ tag: code_ }], chosen, newKey());
    if (!answer.ok) return note({ is: "short", frame: words.scan.unknown, text: words.problem.other(answer.problem) });
    const found = answer.body;
    if (chosen.mode === "look") return note(lookNote(found));
    if (scanKind(found) === "item") return moveThese(found.tag, [{ tag: found.tag }], chosen);
    note({ is: "free", frame: words.scan.question, text: found.name, ask: { found, chosen } });
  }

  function lookNote(found) {
    const notes = [found.where?.text, found.due_at && words.scan.due(momentText(found.due_at, today())), found.condition && found.condition !== "fit" && words.scan.conditionIs(found.condition)];
    const link = found.booking_id ? { href: `/booking/${found.booking_id}`, text: words.decide.open } : found.kit_type_id ? { href: `/kit/${found.kit_type_id}`, text: words.kit.about } : null;
    return { is: found.where?.kind === "out_of_service" ? "late" : found.where?.kind === "box" ? "free" : "out", frame: words.scan.kinds[found.where?.kind] ?? words.scan.found,
      text: [found.tag, found.name].filter(Boolean).join(" "), notes: notes.filter(Boolean), link };
  }

  async function moveThese(what, pieces, chosen, anyway = false) {
    const event = custodyEvent({ key: newKey(), at: poolNow() ?? session.now, pieces, choice: chosen, anyway });
    const answer = await create("/custody-events", event, event.key);
    if (answer.ok) {
      beat();
      return note(movedNote(answer.body, chosen));
    }
    if (answer.problem.type === NO_SIGNAL) return keepEvent(what, event);
    const instead = answer.problem.take_instead ?? [];
    note({ is: "short", frame: words.answer.refused, text: words.problem.other(answer.problem), notes: instead.length ? [words.scan.instead(instead)] : [],
      again: chosen.mode === "out" && answer.status === 409 ? () => moveThese(what, pieces, chosen, true) : null });
  }

  function movedNote(body, chosen) {
    const what = movedText(body.moved, words.of);
    const cautions = body.cautions.filter((text) => !told.has(text));
    for (const text of cautions) told.add(text);
    const notes = [...cautions, body.endangers?.length ? words.scan.endangers(body.endangers.length) : ""].filter(Boolean);
    if (chosen.mode === "out") return { is: "out", frame: words.now.out, text: words.scan.wentOut(what, destination(chosen)), notes };
    return { is: chosen.condition === "fit" ? "free" : "late", frame: words.scan.modesDone.back, text: words.scan.cameBack(what, words.scan.conditions[chosen.condition]), notes };
  }

  function destination(chosen) {
    const row = boardNow()?.going_out.find((one_) => one_.booking_id === chosen.booking);
    const unit = session.units.find((one_) => one_.id === chosen.unit);
    return chosen.person || row?.unit || (chosen.booking ? words.scan.thatBooking : unit?.name) || "";
  }

  function keepMove(what, pieces, chosen, key) {
    return keepEvent(what, custodyEvent({ key, at: poolNow() ?? session.now, pieces, choice: chosen }));
  }

  function keepEvent(what, event) {
    const kept = keep({ key: event.key, path: "/custody-events", body: event, text: words.scan.keptText(words.scan.modes[event.kind], what), kept_at: event.happened_at });
    note({ is: "pencilled", frame: words.ask.keptFrame, text: kept ? words.scan.notSent(what) : words.ask.notKept });
  }

  function note(entry) {
    log.unshift({ key: newKey(), notes: [], ...entry });
    log.length = Math.min(log.length, MOST_SHOWN);
    say([entry.frame, entry.text, ...(entry.notes ?? [])].join(". "));
    draw();
  }

  function draw() {
    patch(root, h("div", { class: "narrow stack scan" },
      h("h1", { class: "spoken" }, words.scan.title),
      modes.length > 1 && h("fieldset", { "data-key": "mode" }, h("legend", { class: "spoken" }, words.scan.mode), h("div", { class: "choices" }, modes.map(modeChoice))),
      choice.mode === "out" && outFields(),
      choice.mode === "back" && backFields(),
      h("form", { onsubmit: submit, "data-key": "form", autocomplete: "off" },
        h("label", { class: "field" }, h("span", {}, words.scan.field),
          h("input", { class: "scan-field", name: "code", type: "text", autocapitalize: "characters", autocorrect: "off", spellcheck: "false", enterkeyhint: "go", maxlength: 80 })),
        h("p", { class: "presses" }, h("button", { type: "submit", class: "press press-best" }, words.scan.modesGo[choice.mode]), waiting > 0 && h("span", { class: "muted" }, words.scan.working(waiting)))),
      log.length ? h("ul", { "data-key": "log", "aria-label": words.scan.done }, log.map(logRow)) : h("p", { class: "muted", "data-key": "hint" }, words.scan.hint)));
  }

  function set(change) {
    Object.assign(choice, change);
    draw();
    if (change.mode) field().focus();
  }

  function modeChoice(mode) {
    return h("label", { class: "choice", "data-key": mode }, h("input", { type: "radio", name: "mode", value: mode, checked: choice.mode === mode, onchange: () => set({ mode }) }), words.scan.modes[mode]);
  }

  function outFields() {
    const rows = (boardNow()?.going_out ?? []).filter((row) => may(session, "custody", row.unit_id));
    const known = rows.some((row) => row.booking_id === choice.booking);
    const options = [
      ...rows.map((row) => [`b:${row.booking_id}`, words.scan.booking({ ...row, time: momentText(row.at, today()) })]),
      ...(choice.booking && !known ? [[`b:${choice.booking}`, words.scan.thatBooking]] : []),
      ...session.units.filter((unit) => may(session, "custody", unit.id)).map((unit) => [`u:${unit.id}`, words.scan.noBooking(unit.name)]),
    ];
    const value = choice.booking ? `b:${choice.booking}` : `u:${choice.unit}`;
    const choose = (event) => {
      const [kind, id] = [event.target.value[0], event.target.value.slice(2)];
      set(kind === "b" ? { booking: id } : { booking: "", unit: id });
    };
    return h("div", { class: "fields", "data-key": "out" },
      h("label", { class: "field" }, h("span", {}, words.scan.to), h("select", { value, onchange: choose }, options.map(([id, text]) => h("option", { value: id }, text)))),
      h("label", { class: "field" }, h("span", {}, words.scan.person), h("input", { type: "text", maxlength: 120, value: choice.person, onchange: (event) => set({ person: event.target.value.trim() }) })));
  }

  function backFields() {
    return h("div", { class: "fields", "data-key": "back" },
      h("fieldset", {}, h("legend", { class: "muted small" }, words.scan.condition), h("div", { class: "choices" }, CONDITIONS.map((condition) =>
        h("label", { class: "choice", "data-key": condition }, h("input", { type: "radio", name: "condition", value: condition, checked: choice.condition === condition, onchange: () => set({ condition }) }), words.scan.conditions[condition])))),
      choice.condition !== "fit" && h("label", { class: "field", "data-key": "words" }, h("span", {}, words.scan.words), h("input", { type: "text", maxlength: 200, value: choice.words, onchange: (event) => set({ words: event.target.value.trim() }) })));
  }

  function logRow(entry) {
    return h("li", { class: "row row-wide", "data-key": entry.key },
      h("span", { class: "row-what" }, entry.text, entry.notes.map((text) => h("small", {}, text)), entry.link && h("small", {}, h("a", { href: entry.link.href }, entry.link.text))),
      h("span", { class: "row-side" }, frame(entry.is, entry.frame)),
      entry.again && h("span", { class: "row-under presses" }, h("button", { type: "button", class: "press", onclick: () => finish(entry, entry.again) }, words.scan.anyway)),
      entry.ask && questionForm(entry));
  }

  function finish(entry, action) {
    entry.again = entry.ask = null;
    field().focus();
    queue = queue.then(action);
    draw();
  }

  function questionForm(entry) {
    const { found, chosen } = entry.ask;
    if (scanKind(found) === "box") {
      const all = async () => {
        const box = await read(`/boxes/${found.box.id ?? found.box}`);
        if (box.ok) await moveThese(found.name, piecesOfBox(box.body), chosen);
        else note({ is: "short", frame: words.answer.refused, text: words.problem.other(box.problem) });
      };
      return h("span", { class: "row-under presses" }, h("button", { type: "button", class: "press", onclick: () => finish(entry, all) }, `${words.scan.modes[chosen.mode]}: ${words.scan.wholeBox(found.name)}`));
    }
    const move = (event) => {
      event.preventDefault();
      const number = wholeNumber(event.target.elements.number.value, { least: 1 });
      event.target.elements.number.setAttribute("aria-invalid", String(Boolean(number.wrong)));
      if (!number.wrong) finish(entry, () => moveThese(found.name, [{ kit_type_id: found.kit_type_id, quantity: number.value }], chosen));
    };
    return h("form", { class: "row-under fields-across", onsubmit: move },
      h("label", { class: "field" }, h("span", {}, words.scan.howMany(found.name)), h("input", { class: "few", name: "number", inputmode: "numeric", required: true })),
      h("button", { type: "submit", class: "press" }, words.scan.modes[chosen.mode]));
  }

  return {
    refresh: draw,
    turn() {},
  };
}
