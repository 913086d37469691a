// A table that may be wider than the screen: a box that scrolls sideways by itself, says so in words above
// it while it is wide, and fades at the edge where it goes on.

import { h } from "../build.js";
import { words } from "../all_words.js";

class WideTable extends HTMLElement {
  #states = this.attachInternals().states; // no attributes: a new drawing takes away those that it does not set
  #watching = null;

  connectedCallback() {
    this.#watching = new ResizeObserver(() => this.#tell());
    this.#watching.observe(this);
    if (this.firstElementChild) this.#watching.observe(this.firstElementChild);
    this.addEventListener("scroll", this.#tell);
  }

  disconnectedCallback() {
    this.#watching.disconnect();
    this.removeEventListener("scroll", this.#tell);
  }

  #tell = () => {
    this.#set("wide", this.scrollWidth > this.clientWidth + 1);
    this.#set("more", this.scrollLeft + this.clientWidth < this.scrollWidth - 1);
  };

  #set(state, yes) {
    if (yes) this.#states.add(state);
    else this.#states.delete(state);
  }
}

customElements.define("wide-table", WideTable);

/** The box of `table`, called `label`, with the words over it. `kind`: one more class of the box. */
export function wideTable({ key, label, kind = "", says = words.moreToTheRight }, table) {
  return h("div", { class: "wide", "data-key": key },
    h("p", { class: "sideways muted no-paper" }, says),
    h("wide-table", { class: kind ? `scroll ${kind}` : "scroll", tabindex: 0, role: "region", "aria-label": label }, table));
}
