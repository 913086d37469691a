// Out of service, on a kit type's page: its pieces, what is out of service, one piece or so many taken
// out, and what that endangers.

import { words } from "../all_words.js";
import { read, readAll } from "../api.js";
import { h } from "../build.js";
import { frame } from "../parts/frame.js";
import { wideTable } from "../parts/wide_table.js";
import { nowFor, todayFor } from "../pulse.js";
import { may } from "../rights.js";
import { dateOf, dayText, laterBy, secondsOf, spanText, timeOf } from "../when.js";
import { choiceField, momentField, newRisks, numberField, textField } from "./model.js";
import { act, oneForm } from "./record.js";
import { office } from "./words.js";

const say_ = office.service;
const MOST_DAYS = 62;
const MOST_PIECES = 60;

export function outOfService({ session, kitTypeId, leave, redraw, say, beat }) {
  const now = () => nowFor(session);
  const today = () => todayFor(session);
  const mayTake = may(session, "service");
  let found = null; // { items, windows }
  let kit = null;
  let problem = null;
  let told = null; // { sentence, risks, days }
  const form = oneForm({ redraw, say, prefix: "service-" });
  let all = false;
  const over = new Set(); // ended here: the page's clock may be a second before the service's

  async function load() {
    const options = { signal: leave };
    const [items, windows] = await Promise.all([
      readAll(`/items?kit_type=${kitTypeId}&limit=500`, "items", options),
      readAll(`/out-of-service?${new URLSearchParams({ kit_type: kitTypeId, ends_after: now(), limit: 500 })}`, "out_of_service", options),
    ]);
    if (leave.aborted) return;
    problem = [items, windows].find((answer) => !answer.ok)?.problem ?? null;
    if (!problem) found = { items: items.body, windows: windows.body.filter((one) => !over.has(one.id)) };
    redraw();
  }

  const tagOf = (id) => {
    const item = found.items.find((one) => one.id === id);
    return item?.tag || item?.barcode || kit.name;
  };
  const isCounted = () => kit.tracking === "count" || kit.tracking === "consumable";
  const whatOf = (window) => (window.item_id ? tagOf(window.item_id) : words.of(window.quantity, kit.name));

  function opened(key, of) {
    told = null;
    form.open(key, of);
  }

  async function openTake(item) {
    const before = await atRisk();
    const { first, at } = { first: { day: today(), time: timeOf(now()) }, at: now() };
    opened(item?.id ?? "new", {
      name: "service", title: item ? say_.takeOne(tagOf(item.id)) : say_.take, go: say_.go,
      path: "/out-of-service", base: null, extra: isCounted() ? { kit_type_id: kitTypeId } : {},
      fields: takeFields(item, first),
      done: (body) => taken(body, before, at),
    });
  }

  function takeFields(item, first) {
    const { conditions } = say_;
    const pieces = found.items.filter((one) => one.condition !== "retired").map((one) => [one.id, tagOf(one.id)]);
    const what = isCounted() ? [numberField("quantity", say_.quantity, { least: 1, most: kit.capacity, first: 1 })]
      : [choiceField("item_id", say_.piece, item ? [[item.id, tagOf(item.id)]] : pieces, { needed: "the piece" })];
    const condition = choiceField("condition", say_.condition, [["", say_.noCondition], ...Object.entries(conditions)], { first: "damaged", typed: (value) => value || null });
    return [
      ...what,
      { ...momentField("start", say_.from, { first }), read: fromNow(first) },
      momentField("end", say_.until, { open: true, hint: say_.untilHint }),
      ...(isCounted() ? [] : [condition]),
      textField("reason", say_.reason, { most: 500, lines: true }),
    ];
  }

  /** From when: left as it stands it is this very moment, which the service knows to the second. */
  function fromNow(first) {
    const field = momentField("start", say_.from);
    return (texts) => (texts.start_day === first.day && texts.start_time === first.time ? { value: undefined, wrong: null } : field.read(texts));
  }

  const openEnd = (window) => opened(window.id, {
    name: "service-end", title: say_.changeWhen(whatOf(window)), go: say_.save, path: "/out-of-service", kind: "out_of_service", base: window,
    fields: [momentField("end", say_.until, { open: true, hint: say_.untilHint }), textField("reason", say_.reason, { most: 500, lines: true })],
    done: async () => {
      const sentence = say_.changed;
      form.close();
      await settled(sentence);
    },
  });

  async function atRisk() {
    const board = await read(`/board?from=${today()}&days=1`, { signal: leave });
    return board.ok ? board.body.decide : [];
  }

  async function taken(body, before, at) {
    form.close();
    const what = whatOf(body);
    await load();
    const [after, days] = await Promise.all([atRisk(), shortDays(body, at)]);
    const risks = newRisks(before, after, kitTypeId);
    told = { sentence: say_.saved(what), risks, days: risks.length ? [] : days };
    say(words.sentences([told.sentence, risks.length ? say_.endangers(risks.length) : days.length ? say_.shortOn(days) : say_.safe]));
    redraw();
    document.getElementById("service-told")?.focus();
    beat();
  }

  /** The days of the window on which less is there than was promised. */
  async function shortDays(window, at) {
    const from = dateOf(secondsOf(window.start) < secondsOf(at) ? at : window.start);
    const last = dateOf(laterBy(`${from}T12:00:00Z`, (MOST_DAYS - 1) * 86400));
    const to = window.end && dateOf(window.end) < last ? dateOf(window.end) : last;
    const answer = await read(`/availability?from=${from}&to=${to < from ? from : to}&kit_type=${kitTypeId}`, { signal: leave });
    const cells = answer.ok ? answer.body.kit_types[0]?.cells ?? [] : [];
    return cells.filter((cell) => cell.free < 0).map((cell) => dayText(cell.date, today()));
  }

  async function settled(sentence) {
    told = { sentence };
    say(sentence);
    await load();
    beat();
  }

  /** It ends at this moment; one that began this very second lasts for one. */
  async function endNow(window) {
    const end = secondsOf(window.start) >= secondsOf(now()) ? laterBy(window.start, 1) : now();
    const ok = await act({ path: "/out-of-service", kind: "out_of_service", thing: window, body: { end }, say, tell: (sentence) => { problem = { title: sentence }; } });
    if (ok) {
      over.add(window.id);
      return settled(say_.back(whatOf(window)));
    }
    const why = problem;
    await load();
    problem = why;
    redraw();
  }

  function draw(shown) {
    kit = shown;
    if (!found) return problem && h("p", { class: "wrong", "data-key": "service" }, words.problem.other(problem));
    return [
      h("section", { class: "part part-set", "data-key": "service", "aria-labelledby": "service-title" },
        h("h2", { id: "service-title" }, say_.title),
        problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, words.problem.other(problem)),
        told && toldPart(),
        found.windows.length ? h("ul", { "data-key": "windows" }, found.windows.map(windowRow)) : h("p", { class: "nothing", "data-key": "windows" }, say_.none),
        mayTake && form.key !== "new" && h("div", { class: "presses no-paper", "data-key": "take" },
          h("button", { type: "button", class: "press", "data-opens": "service-new", onclick: () => openTake(null) }, say_.take)),
        form.draw()),
      !isCounted() && found.items.length > 0 && piecesPart(),
    ];
  }

  function toldPart() {
    const { sentence, risks, days } = told;
    return h("div", { class: "part-set", id: "service-told", tabindex: -1, "data-key": "told" },
      h("p", {}, h("b", {}, sentence), " ", risks && !risks.length && !days.length && say_.safe),
      risks?.length > 0 && [h("p", { class: "wrong" }, say_.endangers(risks.length)),
        h("ul", {}, risks.map((row) => h("li", { class: "row row-wide", "data-key": row.key }, h("span", { class: "row-what" },
          h("a", { href: `/booking/${row.booking_id}` }, words.decide.atRisk(row, spanText(row.start, row.end, today())))), h("span", { class: "row-side" }, frame("short", words.decide.frames.at_risk(row.short_by)))))),
        h("p", {}, h("a", { href: "/" }, say_.toBoard))],
      days?.length > 0 && h("p", { class: "wrong" }, say_.shortOn(days)));
  }

  function windowRow(window) {
    const started = secondsOf(window.start) <= secondsOf(now());
    const press = (key, text, onclick) => h("button", { type: "button", class: "press", "data-key": key, "data-opens": key === "change" ? `service-${window.id}` : null, "aria-label": `${text}: ${whatOf(window)}`, onclick }, text);
    return h("li", { class: "row row-wide", "data-key": window.id },
      h("span", { class: "row-what" }, whatOf(window), h("small", {}, spanText(window.start, window.end, today())), h("small", {}, window.reason)),
      h("span", { class: "row-side" }, frame("away", window.condition ? say_.conditions[window.condition] : words.holder.states.out_of_service)),
      mayTake && h("span", { class: "row-under presses no-paper" }, started && press("end", say_.endNow, () => endNow(window)), press("change", say_.change, () => openEnd(window))));
  }

  function piecesPart() {
    const shown = all ? found.items : found.items.slice(0, MOST_PIECES);
    const columns = say_.piecesColumns;
    const away = new Set(found.windows.map((window) => window.item_id));
    return h("details", { "data-key": "pieces" }, h("summary", {}, say_.pieces(found.items.length)),
      wideTable({ key: "table", label: say_.pieces(found.items.length) }, h("table", { class: "records" },
        h("thead", {}, h("tr", {}, [columns.tag, columns.condition, columns.home, columns.owner, columns.notes].map((name) => h("th", { scope: "col" }, name)), mayTake && h("td", {}))),
        h("tbody", {}, shown.map((one) => h("tr", { "data-key": one.id },
          h("th", { scope: "row" }, tagOf(one.id)), h("td", {}, one.condition === "fit" ? one.condition : frame("away", one.condition)), h("td", {}, one.home_box && say_.homeBox(one.home_box)),
          h("td", {}, one.owner), h("td", {}, words.dotted([one.radio_number, one.serial_number, one.frequency_hz ? words.yes.frequency(one.frequency_hz) : ""])),
          mayTake && h("td", {}, one.condition !== "retired" && !away.has(one.id)
            && h("button", { type: "button", class: "press", "data-opens": `service-${one.id}`, "aria-label": `${say_.take}: ${tagOf(one.id)}`, onclick: () => openTake(one) }, say_.take))))))),
      shown.length < found.items.length && h("button", { type: "button", class: "press", onclick: () => { all = true; redraw(); } }, say_.more(found.items.length - shown.length)));
  }

  return { load, draw };
}
