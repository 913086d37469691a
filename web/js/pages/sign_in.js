// Sign in: a name and a password; on the machine itself, the demo's people as buttons.

import { words } from "../all_words.js";
import { create, read } from "../api.js";
import { h, patch } from "../build.js";
import { readForm, someText } from "../forms.js";

/** Where to go afterwards: only a path of our own. Pure. */
export function wayBack(url) {
  const then = url.searchParams.get("then") ?? "/";
  return /^\/(?![/\\])/.test(then) ? then : "/";
}

export function open({ root, url, leave, go, say, named, enter }) {
  let people = [];
  let wrong = null;
  let busy = false;
  named(words.signIn.title);
  draw();
  demo();

  async function demo() {
    const answer = await read("/demo-sign-ins", { signal: leave });
    if (!answer.ok || leave.aborted) return;
    people = answer.body.sign_ins;
    draw();
  }

  async function signIn(body) {
    busy = true;
    wrong = null;
    draw();
    const answer = await create("/session", body);
    busy = false;
    if (answer.ok && (await enter())) return go(wayBack(url), { replace: true });
    wrong = words.problem.other(answer.problem);
    say(wrong);
    draw();
  }

  function submit(event) {
    event.preventDefault();
    const { missing } = words.signIn;
    const form = readForm(event.target, {
      login: (text) => someText(text, { name: missing.login }),
      password: (text) => (text ? { value: text, wrong: null } : someText("", { name: missing.password })),
    });
    wrong = form.wrong;
    if (wrong) draw();
    else signIn(form.values);
  }

  function draw() {
    patch(root, h("div", { class: "narrow stack" },
      h("h1", {}, words.signIn.title),
      h("form", { class: "fields sign-in", onsubmit: submit, novalidate: true, "data-key": "form" },
        h("label", { class: "field" }, h("span", {}, words.signIn.login), h("input", { type: "text", name: "login", autocomplete: "username", autocapitalize: "none", spellcheck: "false", required: true })),
        h("label", { class: "field" }, h("span", {}, words.signIn.password), h("input", { type: "password", name: "password", autocomplete: "current-password", required: true })),
        h("p", { class: "wrong", role: "alert" }, wrong ?? ""),
        h("p", {}, h("button", { type: "submit", class: "press press-best", disabled: busy }, words.signIn.go))),
      people.length > 0 && h("section", { class: "part part-set", "data-key": "demo", "aria-labelledby": "demo-title" },
        h("h2", { id: "demo-title" }, words.signIn.demo),
        h("div", { class: "presses presses-down sign-in" }, people.map((person) => h("button", { type: "button", class: "press", "data-key": person.login, disabled: busy, onclick: () => signIn({ demo: person.login }) }, words.signIn.as(person)))))));
  }

  return {};
}
