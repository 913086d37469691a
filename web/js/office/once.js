// A secret that is shown once: in a field that marks itself, with a button that copies it.

import { h } from "../build.js";
import { office } from "./words.js";

/** To what is shown once: into sight, and marked for copying by hand. */
export function focusOnce() {
  const field = document.querySelector("[data-once]");
  field?.focus();
  field?.select();
}

/** `made`: { label, text, copy }; `copy` is the press's name where there are two. Draws nothing for null. */
export function shownOnce(made, say) {
  if (!made) return null;
  async function copy(event) {
    const field = event.target.closest("div").querySelector("input");
    field.select();
    try {
      await navigator.clipboard.writeText(made.text); // not there without TLS, except on this machine
      say(office.once.copied);
    } catch {
      field.focus();
      say(office.once.select);
    }
  }
  return h("div", { class: "fields-across", "data-key": `once-${made.text}` },
    h("label", { class: "field" }, h("span", {}, made.label), h("input", { type: "text", class: "link-text", "data-once": true, readonly: true, value: made.text })),
    h("button", { type: "button", class: "press press-best", "aria-label": made.copy, onclick: copy }, office.once.copy));
}
