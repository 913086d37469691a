// A number with − and + beside it; it can be typed as well.

import { h } from "../build.js";

/**
 * `value`: what stands in the field, as it was typed. `change(text)` is called with each other text.
 * `says`: { number, fewer, more }, what a screen reader hears.
 */
export function stepper({ value, change, says, name, least = 0, most = 9999, disabled = false }) {
  const number = /^\d+$/.test(String(value).trim()) ? Number(value) : null;
  const step = (by) => {
    const press = (event) => {
      event.currentTarget.parentElement.querySelector("input").value = String(number + by); // some browsers leave the focus there
      change(String(number + by));
    };
    return h("button", { type: "button", class: "press", "aria-label": by < 0 ? says.fewer : says.more,
      disabled: disabled || number === null || number + by < least || number + by > most, onclick: press }, by < 0 ? "−" : "+");
  };
  return h("span", { class: "stepper", role: "group", "aria-label": says.number },
    step(-1),
    h("input", { class: "few", name, inputmode: "numeric", autocomplete: "off", "aria-label": says.number, value: String(value), disabled, oninput: (event) => change(event.target.value) }),
    step(1));
}
