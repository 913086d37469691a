// Lists: a table looked at first, then brought in whole or not at all; and taken out again.

import { words } from "../all_words.js";
import { download, upload } from "../api.js";
import { h } from "../build.js";
import { saveFile } from "../parts/save_file.js";
import { wideTable } from "../parts/wide_table.js";
import { may } from "../rights.js";
import { fieldLines, listModel, tableType } from "./model.js";
import { office } from "./words.js";

const say_ = office.lists;
const FORMS = [["CSV", "csv", "text/csv"], ["XLSX", "xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"]];

export function lists({ session, redraw, say, beat, enter }) {
  let kind = "kit-list";
  let file = null;
  let latin = false;
  let busy = null; // "look" | "go"
  let seen = null; // { answer } of the dry run, of this file and this kind
  let done = null;
  let problem = null;

  function afresh(change) {
    change();
    seen = null;
    done = null;
    problem = null;
    redraw();
  }

  async function send(dry) {
    if (!file) {
      problem = say_.missing;
      say(problem);
      redraw();
      document.getElementById("list-file")?.focus();
      return;
    }
    busy = dry ? "look" : "go";
    problem = null;
    redraw();
    const answer = await bytesThen((bytes) => upload(`/imports/${kind}?dry_run=${dry}`, bytes, tableType(file.name, latin)));
    busy = null;
    if (dry && answer.ok) seen = answer.body;
    else if (answer.ok) brought(answer.body);
    else refused(answer.problem);
    redraw();
    if (seen || done) document.getElementById("list-answer")?.focus();
  }

  async function bytesThen(use) {
    try {
      return await use(await file.arrayBuffer());
    } catch {
      file = null;
      return { ok: false, problem: { title: say_.gone, detail: say_.gone } };
    }
  }

  function brought(body) {
    seen = null;
    done = body;
    say(say_.done(body.counts));
    beat();
    enter();
  }

  /** Rows that went bad since the look are shown as the look shows them. */
  function refused(found) {
    const rows = found.problems;
    problem = words.sentences([say_.notDone, words.problem.other(found)]);
    if (rows?.length) seen = { changes: [], counts: { new: 0, changed: 0, same: 0 }, left_out: [], problems: rows };
    say(problem);
  }

  async function take(name, ending, type) {
    const got = await download(`/exports/${name}`, type);
    if (!got.ok) {
      problem = words.problem.other(got.problem);
      return redraw();
    }
    saveFile(got.blob, `${name}.${ending}`);
  }

  function draw() {
    return [may(session, "import") && bringPart(), may(session, "export") && takePart()];
  }

  function bringPart() {
    const bad = seen?.problems.length > 0;
    const press = (key, text, onclick, best) => h("button", { type: "button", class: best ? "press press-best" : "press", "data-key": key, disabled: Boolean(busy), onclick }, text);
    return h("section", { class: "part part-set", "data-key": "bring", "aria-labelledby": "bring-title" },
      h("h2", { id: "bring-title" }, say_.bring),
      h("p", { class: "muted narrow" }, say_.hint),
      h("fieldset", {}, h("legend", { class: "muted small" }, say_.what), h("div", { class: "choices" }, Object.entries(say_.kinds).map(([name, text]) => h("label", { class: "choice", "data-key": name },
        h("input", { type: "radio", name: "list-kind", value: name, checked: kind === name, onchange: () => afresh(() => { kind = name; }) }), text)))),
      h("div", { class: "fields-across" },
        h("label", { class: "field", "data-key": "file" }, h("span", {}, say_.file),
          h("input", { type: "file", id: "list-file", accept: ".csv,.tsv,.xlsx,text/csv", onchange: (event) => afresh(() => { file = event.target.files[0] ?? null; }) })),
        h("label", { class: "choice", "data-key": "latin" }, h("input", { type: "checkbox", checked: latin, onchange: (event) => afresh(() => { latin = event.target.checked; }) }), say_.latin)),
      h("div", { class: "presses", "data-key": "presses" },
        press("look", busy === "look" ? say_.looking : say_.look, () => send(true), !seen || bad),
        seen && !bad && press("go", busy === "go" ? say_.going : say_.go, () => send(false), true)),
      problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, problem),
      seen && look(seen, bad),
      done && h("div", { "data-key": "done" }, h("p", { id: "list-answer", tabindex: -1 }, h("b", {}, say_.done(done.counts))), leftOut(done)));
  }

  function look(answer, bad) {
    const model = listModel(answer);
    return h("div", { class: "stack", "data-key": "look" },
      h("div", { class: "part-set" },
        h("p", { id: "list-answer", tabindex: -1, class: bad ? "wrong" : null }, h("b", {}, bad ? say_.bad(model.badRows) : say_.wouldBe(answer.counts))),
        leftOut(answer),
        bad && problemTable(model)),
      model.groups.map((group) => h("details", { open: !bad && model.groups[0] === group, "data-key": group.kind },
        h("summary", {}, `${say_.changes[group.kind]} · ${(group.rows.length + group.more).toLocaleString("en-GB")}`), changeTable(group))));
  }

  const leftOut = (answer) => answer.left_out.length > 0 && h("p", { class: "muted", "data-key": "left" }, say_.leftOut(answer.left_out));

  function takePart() {
    return h("section", { class: "part part-set", "data-key": "take", "aria-labelledby": "take-title" },
      h("h2", { id: "take-title" }, say_.take),
      h("p", { class: "muted" }, say_.takeHint),
      h("div", { class: "presses" }, Object.keys(say_.kinds).flatMap((name) => FORMS.map(([form, ending, type]) =>
        h("button", { type: "button", class: "press", "data-key": `${name}-${ending}`, onclick: () => take(name, ending, type) }, say_.takeKind(name, form))))));
  }

  return { draw, load: () => redraw() };
}

function problemTable(model) {
  const { columns } = say_;
  return wideTable({ key: "problems", label: say_.problems }, h("table", { class: "changes" }, h("caption", { class: "spoken" }, say_.problems),
    h("thead", {}, h("tr", {}, [columns.row, columns.column, columns.reason].map((name, index) => h("th", { scope: "col", class: index ? null : "figure" }, name)))),
    h("tbody", {},
      model.problems.map((one) => h("tr", {}, h("th", { scope: "row", class: "figure" }, String(one.row)), h("td", {}, one.column || say_.wholeRow), h("td", {}, one.reason))),
      model.moreProblems > 0 && h("tr", {}, h("td", { colspan: 3 }, say_.more(model.moreProblems))))));
}

function changeTable(group) {
  const { columns } = say_;
  return wideTable({ key: "changes", label: say_.changes[group.kind] }, h("table", { class: "changes" }, h("caption", { class: "spoken" }, say_.changes[group.kind]),
    h("thead", {}, h("tr", {}, [columns.row, columns.name, columns.fields].map((name, index) => h("th", { scope: "col", class: index ? null : "figure" }, name)))),
    h("tbody", {},
      group.rows.map((one) => h("tr", {}, h("th", { scope: "row", class: "figure" }, String(one.row)), h("td", {}, one.name, h("small", { class: "muted" }, ` ${one.what}`)),
        h("td", {}, fieldLines(one).map((line) => h("small", { class: "line" }, line))))),
      group.more > 0 && h("tr", {}, h("td", { colspan: 3 }, say_.more(group.more))))));
}
