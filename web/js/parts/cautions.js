// What to mind where the work can hurt somebody: one line that opens.

import { words } from "../all_words.js";
import { h } from "../build.js";

/** `list`: sentences; null where there is none. */
export function cautionLines(list, { open = false } = {}) {
  if (!list.length) return null;
  return h("details", { class: "caution", "data-key": "cautions", open },
    h("summary", {}, words.cautions(list.length)), list.map((text) => h("p", { class: "small" }, text)));
}
