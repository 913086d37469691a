// A state: a word in a frame whose line says it again without colour.

import { h } from "../build.js";

/** `is`: free, pencilled, confirmed, out, late, short or ended. */
export function frame(is, text) {
  return h("span", { class: `frame frame-${is}` }, text);
}
