// One thing's form: what is typed stands over what was read until the service has taken it. Wrong
// fields say so themselves, and when somebody else was first, who that was.

import { words } from "../all_words.js";
import { change, create, newKey, read, readAll } from "../api.js";
import { h } from "../build.js";
import { poolNow } from "../pulse.js";
import { dateOf, momentText } from "../when.js";
import { bodyOf, lastChange, overtaken, pointedAt, textsOf } from "./model.js";
import "./style.js";
import { office } from "./words.js";

/**
 * `of`: { name, title (or the id of a heading, titledBy), go, path, fields, base, kind, extra, also, redraw, say, done, cancel }.
 * `base` is the thing to change, null for a new one; `kind` its name in the journal; `extra` goes
 * with a new one; `done(body)` runs once it is taken. Returns { draw, focus, isTyped }.
 */
export function record(of) {
  let { base } = of;
  let typed = {};
  let wrong = {};
  let told = null;
  let busy = false;
  let sent = { text: "", key: "" };
  const id = (key) => `${of.name}-${key}`;

  async function submit(event) {
    event.preventDefault();
    if (busy) return;
    const { body, wrong: found } = bodyOf(of.fields, base, typed);
    if (found) return refuse(found, office.form.check);
    if (base && !Object.keys(body).length) return refuse({}, office.form.nothingChanged);
    busy = true;
    wrong = {};
    told = null;
    show();
    const answer = await send({ ...(base ? {} : of.extra), ...body });
    busy = false;
    if (answer.ok) return taken(answer);
    if (answer.status === 412) return overtake();
    const { fields, rest } = pointedAt(answer.problem, of.fields);
    const marked = Object.keys(fields).length > 0;
    refuse(fields, marked ? words.sentences([office.form.check, ...rest]) : words.problem.other(answer.problem));
  }

  /** The same thing sent again has the same key: no answer came, but it may have been made. */
  function send(body) {
    if (base) return change("PATCH", `${of.path}/${base.id}`, body, `"${base.version}"`);
    const text = JSON.stringify(body);
    if (sent.text !== text) sent = { text, key: newKey() };
    return create(of.path, body, sent.key);
  }

  function taken(answer) {
    typed = {};
    sent = { text: "", key: "" };
    of.done(answer.body);
    show();
  }

  async function overtake() {
    const [fresh, sentence] = await Promise.all([read(`${of.path}/${base.id}`), staleText(of.kind, base.id)]);
    const marks = fresh.ok ? overtaken(of.fields, base, fresh.body, typed) : {};
    if (fresh.ok) base = fresh.body;
    of.stale?.(base);
    refuse(Object.fromEntries(Object.entries(marks).map(([name, text]) => [name, office.form.nowIs(text)])), sentence);
  }

  function refuse(fields, sentence) {
    wrong = fields;
    told = sentence;
    of.say(sentence);
    show();
    const first = of.fields.find((field) => wrong[field.name]);
    if (first) document.getElementById(id(badKey(first)))?.focus();
  }

  const badKey = (field) => field.badKey?.(textsOf(of.fields, base, typed)) ?? field.keys[0];

  /** Draws, then marks the wrong fields: a drawing leaves that mark to whoever sets it. */
  function show() {
    of.redraw();
    for (const field of of.fields) {
      for (const key of field.keys) document.getElementById(id(key))?.setAttribute("aria-invalid", String(Boolean(wrong[field.name])));
    }
  }

  function type(key, value) {
    typed = { ...typed, [key]: value };
  }

  function draw() {
    const texts = textsOf(of.fields, base, typed);
    return h("form", { class: "fields record", onsubmit: submit, novalidate: true, "data-key": `${of.name}-${base?.id ?? "new"}`, "aria-labelledby": of.titledBy ?? id("title") },
      of.title && h("h3", { id: id("title") }, of.title),
      of.hint && h("p", { class: "muted" }, of.hint),
      h("div", { class: "record-fields" }, of.fields.map((field) => fieldRow(field, texts))),
      h("p", { class: "wrong", role: "alert" }, told ?? ""),
      h("div", { class: "presses" },
        h("button", { type: "submit", class: "press press-best", disabled: busy }, busy ? office.form.sending : of.go),
        of.cancel && h("button", { type: "button", class: "press", onclick: of.cancel }, office.form.cancel)));
  }

  function fieldRow(field, texts) {
    const error = wrong[field.name];
    const hint = error ? h("small", { class: "wrong", id: id(`${field.name}-wrong`) }, error)
      : field.hint && h("small", { class: "muted", id: id(`${field.name}-wrong`) }, field.hint);
    const inputs = { ...field.inputs, "aria-describedby": hint ? id(`${field.name}-wrong`) : null, "aria-required": field.needed ? "true" : null };
    const more = { oninput: (event) => type(event.target.name, event.target.value) };
    const named = (key) => ({ id: id(key), name: key, value: texts[key], ...inputs, ...more });
    if (field.as === "ticks") return ticks(field, texts, hint);
    if (field.as === "moment") return pair(field, named, hint);
    const [key] = field.keys;
    return h("div", { class: field.as === "area" ? "field field-wide" : "field", "data-key": field.name },
      h("label", { for: id(key) }, field.label), control(field, named(key)), hint);
  }

  function control(field, props) {
    if (field.as === "area") return h("textarea", { ...props, rows: 2 });
    if (field.as === "select") {
      return h("select", { ...props, oninput: null, onchange: props.oninput }, field.options.map(([value, text]) => h("option", { value }, text)));
    }
    return h("input", props);
  }

  function pair(field, named, hint) {
    const [dayKey, timeKey] = field.keys;
    return h("fieldset", { class: "field", "data-key": field.name }, h("legend", {}, field.label),
      h("span", { class: "field-pair" },
        h("input", { type: "date", "aria-label": `${field.label}, ${office.form.day}`, ...named(dayKey) }),
        h("input", { type: "time", "aria-label": `${field.label}, ${office.form.time}`, ...named(timeKey) })), hint);
  }

  function ticks(field, texts, hint) {
    const [key] = field.keys;
    const chosen = new Set(texts[key].split(" ").filter(Boolean));
    const tick = (value, yes) => {
      if (yes) chosen.add(value);
      else chosen.delete(value);
      type(key, field.options.map(([one]) => one).filter((one) => chosen.has(one)).join(" "));
      show();
    };
    return h("fieldset", { class: "field field-wide", "data-key": field.name }, h("legend", {}, field.label),
      h("span", { class: "choices" }, field.options.map(([value, text], index) => h("label", { class: "choice", "data-key": value },
        h("input", { type: "checkbox", id: index ? null : id(key), name: `${key}-${value}`, checked: chosen.has(value), onchange: (event) => tick(value, event.target.checked) }), text))), hint);
  }

  return {
    draw,
    /** Puts the focus where one begins to type. */
    focus: () => document.getElementById(id(of.fields[0].keys[0]))?.focus(),
    isTyped: () => Object.keys(typed).length > 0,
  };
}

/**
 * The one form that a part has open: { key, open(key, of), close(to), draw }. One that was left for another
 * while something was typed is there again when it is opened. `prefix`: what stands before a key in the
 * `data-opens` of its press, which has the focus again when the form closes.
 */
export function oneForm({ redraw, say, prefix = "" }) {
  const kept = new Map();
  let key = null;

  function close(to = key) {
    kept.delete(key);
    key = null;
    redraw();
    document.querySelector(`[data-opens="${prefix}${to}"]`)?.focus();
  }

  return {
    get key() {
      return key;
    },
    open(wanted, of) {
      key = wanted;
      if (!kept.get(key)?.isTyped()) kept.set(key, record({ redraw, say, cancel: () => close(), ...of }));
      redraw();
      kept.get(key).focus();
    },
    close,
    draw: () => (key === null ? null : kept.get(key).draw()),
  };
}

/** Who changed a thing meanwhile, when and what, as its journal has it; `kind` is its name there. */
async function staleText(kind, id) {
  const entries = await readAll(`/journal?subject=${kind}:${id}`, "entries");
  const { by, at, fields } = lastChange(entries.ok ? entries.body : []);
  const now = poolNow();
  return office.form.stale(by, at && momentText(at, now ? dateOf(now) : undefined), fields);
}

/** One press that changes a thing, as `end it`: says what came of it. Returns whether it was taken. */
export async function act({ path, thing, kind, body, say, tell }) {
  const answer = await change("PATCH", `${path}/${thing.id}`, body, `"${thing.version}"`);
  if (answer.ok) return true;
  const sentence = answer.status === 412 ? await staleText(kind, thing.id) : words.problem.other(answer.problem);
  tell(sentence);
  say(sentence);
  return false;
}
