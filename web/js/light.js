// Day or night. The system's preference stands; on a phone dusk brings the night by itself; one
// tap changes it, and the choice is kept on this phone.

import { isDark } from "./sun.js";

const CHOSEN = "crossload-light";
const SHOWN = "crossload-light-shown";
const PHONE = "(max-width: 719px)";
const DUSK = "18:00";
const DAWN = "07:00";

/**
 * "day" or "night". `chosen` was tapped, `dark` is what the system prefers. On a phone it is dark
 * by the sun at `place` ({ latitude, longitude }), or by the pool's clock where no place is known.
 */
export function lightFor({ chosen, dark, phone, now, place, time }) {
  if (chosen) return chosen;
  if (dark || (phone && darkOutside(now, place, time))) return "night";
  return "day";
}

function darkOutside(now, place, time) {
  if (place) return isDark(now, place.latitude, place.longitude);
  return time !== undefined && (time >= DUSK || time < DAWN);
}

/** Shows the light for this moment; `time` is the pool's wall time, "17:52". */
export function showLight({ place, time } = {}) {
  const light = lightFor({
    chosen: recall(CHOSEN),
    dark: matchMedia("(prefers-color-scheme: dark)").matches,
    phone: matchMedia(PHONE).matches,
    now: Date.now() / 1000,
    place,
    time,
  });
  document.documentElement.dataset.light = light;
  remember(SHOWN, light);
  return light;
}

/** The other one, kept until it is tapped again. */
export function changeLight() {
  remember(CHOSEN, document.documentElement.dataset.light === "night" ? "day" : "night");
  return showLight();
}

/** Back to what comes by itself. */
export function forgetLight() {
  remember(CHOSEN, null);
}

export const lightIsChosen = () => recall(CHOSEN) !== null;

function recall(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
}

function remember(name, value) {
  try {
    if (value === null) localStorage.removeItem(name);
    else localStorage.setItem(name, value);
  } catch { /* nothing can be kept here: the light lasts until the page is left */ }
}
