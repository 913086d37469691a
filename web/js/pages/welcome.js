// Welcome: a one-time link becomes an account. The token stands after the # and is in no log.

import { words } from "../all_words.js";
import { create } from "../api.js";
import { h, patch } from "../build.js";
import { readForm, someText } from "../forms.js";

export function open({ root, url, go, say, named, enter }) {
  const token = url.hash.slice(1);
  let wrong = null;
  let busy = false;
  named(words.welcome.title);
  draw();

  /** What a password must be is the service's to say: here it only must be there. */
  async function submit(event) {
    event.preventDefault();
    const form = readForm(event.target, {
      name: (text) => someText(text, { name: words.welcome.missing.name, most: 120 }),
      login: (text) => someText(text, { name: words.signIn.missing.login, most: 60 }),
      password: (text) => (text ? { value: text, wrong: null } : someText("", { name: words.welcome.passwordMissing })),
    });
    wrong = form.wrong;
    if (wrong) return draw();
    busy = true;
    draw();
    const answer = await create("/invitations/redeem", { token, ...form.values });
    busy = false;
    if (answer.ok && (await enter())) return go("/", { replace: true });
    wrong = words.problem.other(answer.problem);
    say(wrong);
    draw();
    mark(answer.problem.errors ?? []);
  }

  /** The fields that the service names, marked as its own rules see them. */
  function mark(errors) {
    const names = errors.map(({ pointer }) => pointer?.replace("#/", ""));
    for (const field of root.querySelectorAll("input")) field.setAttribute("aria-invalid", String(names.includes(field.name)));
    root.querySelector('[aria-invalid="true"]')?.focus();
  }

  function draw() {
    const field = (label, props, hint) => h("label", { class: "field" }, h("span", {}, label), h("input", { required: true, ...props }), hint && h("small", { class: "muted" }, hint));
    patch(root, h("div", { class: "narrow stack" },
      h("h1", {}, words.welcome.title),
      h("p", {}, token ? words.welcome.hint : words.welcome.noToken),
      !token && h("p", {}, h("a", { class: "press", href: "/sign-in" }, words.signIn.title)),
      token && h("form", { class: "fields sign-in", onsubmit: submit, novalidate: true, "data-key": "form" },
        field(words.welcome.name, { type: "text", name: "name", autocomplete: "name" }),
        field(words.signIn.login, { type: "text", name: "login", autocomplete: "username", autocapitalize: "none", spellcheck: "false" }),
        field(words.signIn.password, { type: "password", name: "password", autocomplete: "new-password" }, words.welcome.passwordHint),
        h("p", { class: "wrong", role: "alert" }, wrong ?? ""),
        h("p", {}, h("button", { type: "submit", class: "press press-best", disabled: busy }, words.welcome.go)))));
  }

  return {};
}
