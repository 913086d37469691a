// Accounts and invitations: who may sign in, as what; one-time links, and taking either back.

import { words } from "../all_words.js";
import { create, newKey, read, readAll, remove } from "../api.js";
import { h } from "../build.js";
import { wideTable } from "../parts/wide_table.js";
import { todayFor } from "../pulse.js";
import { momentText } from "../when.js";
import { choiceField, textField, ticksField } from "./model.js";
import { focusOnce, shownOnce } from "./once.js";
import { act, oneForm, record } from "./record.js";
import { office } from "./words.js";

const say_ = office.accounts;
const invite_ = office.invite;
const linkOf = (url) => new URL(url, location.origin).href;

export function accounts({ session, leave, redraw, say, enter }) {
  const today = () => todayFor(session);
  let found = null; // { accounts, invitations }
  let problem = null;
  let told = null;
  let made = null; // { label, text }: shown once
  const form = oneForm({ redraw, say, prefix: "account-" }); // of one account
  let sure = false;
  const roles = Object.entries(say_.roles);
  const unitOptions = () => session.units.map((one) => [one.id, one.name]);
  const unitNames = (ids) => ids.map((id) => session.units.find((one) => one.id === id)?.name).filter(Boolean);
  const inviting = inviteForm();

  async function load() {
    const options = { signal: leave };
    const [all, open] = await Promise.all([readAll("/accounts?limit=500", "accounts", options), read("/invitations", options)]);
    if (leave.aborted) return;
    const bad = [all, open].find((answer) => !answer.ok);
    if (bad) problem = words.problem.other(bad.problem);
    else found = { accounts: all.body, invitations: open.body.invitations };
    redraw();
  }

  function inviteForm() {
    return record({
      name: "invite", titledBy: "invite-title", hint: invite_.hint, go: invite_.make, path: "/invitations", base: null, redraw, say,
      get fields() { // each time it is drawn: a unit may have come
        return [
          textField("name", invite_.name, { needed: "whom it is for", most: 100, autocomplete: "off" }),
          choiceField("role", invite_.role, roles, { first: "mixer" }),
          ...(session.units.length ? [ticksField("unit_ids", invite_.units, unitOptions())] : []),
        ];
      },
      done: (body) => {
        made = { label: invite_.link(body.name), text: linkOf(body.url) };
        say(invite_.made);
        load().then(focusOnce).then(redraw);
      },
    });
  }

  function open(account) {
    sure = false;
    form.open(account.id, {
      name: "account", title: say_.change(account.name), go: say_.save, path: "/accounts", kind: "account", base: account,
      fields: [
        textField("name", say_.name, { needed: "the name", most: 100, autocomplete: "off" }),
        choiceField("role", say_.role, roles),
        ...(session.units.length ? [ticksField("unit_ids", say_.units, unitOptions())] : []),
      ],
      done: (body) => finish(say_.saved(body.name)),
    });
  }

  async function finish(sentence) {
    told = sentence;
    problem = null;
    say(sentence);
    await load();
    await enter();
    form.close();
  }

  function failed(sentence) {
    problem = sentence;
    say(sentence);
    load();
  }

  async function signOut(account) {
    const answer = await remove(`/accounts/${account.id}/sessions`);
    if (answer.ok) finish(say_.signedOut(account.name));
    else failed(words.problem.other(answer.problem));
  }

  async function reset(account) {
    const answer = await create("/invitations", { account_id: account.id, name: account.name, role: account.role }, newKey());
    if (!answer.ok) return failed(words.problem.other(answer.problem));
    made = { label: invite_.resetLink(account.name), text: linkOf(answer.body.url) };
    await finish(invite_.made);
    focusOnce();
  }

  async function end(account, ended) {
    sure = false;
    if (await act({ path: "/accounts", kind: "account", thing: account, body: { ended }, say, tell: (sentence) => { problem = sentence; } })) {
      return finish(ended ? say_.ended(account.name) : say_.taken(account.name));
    }
    load();
  }

  async function takeBack(invitation) {
    const answer = await remove(`/invitations/${invitation.id}`);
    if (!answer.ok) return failed(words.problem.other(answer.problem));
    made = null;
    told = invite_.takenBack;
    say(told);
    load();
  }

  function draw() {
    return [
      h("section", { class: "part part-set", "data-key": "invite", "aria-labelledby": "invite-title" },
        h("h2", { id: "invite-title" }, invite_.title),
        inviting.draw(),
        shownOnce(made, say),
        found && h("div", { "data-key": "open" }, h("h3", {}, invite_.open),
          found.invitations.length ? h("ul", {}, found.invitations.map(invitationRow)) : h("p", { class: "nothing" }, invite_.none))),
      h("section", { class: "part part-set", "data-key": "accounts", "aria-labelledby": "accounts-title" },
        h("h2", { id: "accounts-title" }, say_.title),
        problem && h("p", { class: "wrong", role: "alert", "data-key": "problem" }, problem),
        told && h("p", { "data-key": "told" }, told),
        form.key && panel(found.accounts.find((one) => one.id === form.key)),
        found ? table(found.accounts.filter((one) => !one.ended_at)) : h("p", { class: "muted", "data-key": "table" }, words.loading),
        found && endedPart(found.accounts.filter((one) => one.ended_at))),
    ];
  }

  function panel(account) {
    const press = (key, text, onclick, best) => h("button", { type: "button", class: best ? "press press-best" : "press", "data-key": key, onclick }, text);
    return h("div", { class: "part-set", "data-key": "panel" }, form.draw(),
      sure
        ? h("div", { class: "part-set", "data-key": "sure" }, h("p", {}, say_.sure(account.name)), h("div", { class: "presses" },
          press("yes", say_.end, () => end(account, true), true), press("no", office.units.keepIt, () => { sure = false; redraw(); })))
        : h("div", { class: "presses", "data-key": "acts" },
          press("out", say_.signOut, () => signOut(account)), press("reset", say_.reset, () => reset(account)),
          press("end", say_.end, () => { sure = true; redraw(); })));
  }

  function table(rows) {
    return wideTable({ key: "table", label: office.table(say_.title) }, h("table", { class: "records" },
      h("caption", { class: "spoken" }, say_.title),
      h("thead", {}, h("tr", {}, Object.values(say_.columns).map((name) => h("th", { scope: "col" }, name)))),
      h("tbody", {}, rows.map((one) => h("tr", { "data-key": one.id },
        h("th", { scope: "row" }, h("button", { type: "button", class: "quiet", "data-opens": `account-${one.id}`, "aria-label": say_.change(one.name), onclick: () => open(one) }, one.name),
          one.id === session.account.id && h("small", { class: "muted" }, ` ${say_.you}`)),
        h("td", {}, one.login), h("td", {}, say_.roles[one.role]), h("td", {}, one.unit_ids.length ? words.and(unitNames(one.unit_ids)) : one.role === "coordinator" ? say_.all : ""))))));
  }

  function endedPart(rows) {
    return rows.length > 0 && h("details", { "data-key": "ended" }, h("summary", {}, `${say_.endedOnes} · ${rows.length}`), h("ul", {}, rows.map((one) => h("li", { class: "row row-wide", "data-key": one.id },
      h("span", { class: "row-what" }, one.name, h("small", {}, words.dotted([one.login, say_.roles[one.role]]))),
      h("span", { class: "row-side" }, h("button", { type: "button", class: "press", "aria-label": `${say_.again}: ${one.name}`, onclick: () => end(one, false) }, say_.again))))));
  }

  function invitationRow(one) {
    const name = one.name || invite_.nobody;
    return h("li", { class: "row row-wide", "data-key": one.id },
      h("span", { class: "row-what" }, name, h("small", {}, words.dotted([invite_.line(one, unitNames(one.unit_ids)), invite_.until(momentText(one.expires_at, today()))]))),
      h("span", { class: "row-side" }, h("button", { type: "button", class: "press", "aria-label": `${invite_.back}: ${name}`, onclick: () => takeBack(one) }, invite_.back)));
  }

  return { load, draw };
}
