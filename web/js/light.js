// Day or night. The system's preference stands; on a phone dusk brings the night by itself; one
// tap changes it, and the choice is kept on this phone.

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

// When it is dark at a place. Formulas: the low-precision solar coordinates of the Astronomical
// Almanac (good to 0.01 degree from 1950 to 2050), from memory; tests check published times.

const RADIANS = Math.PI / 180;
const CIVIL_DEGREES = -6;

/** The sun's height above the horizon in degrees, `epoch_s` in seconds since 1970. */
export function sunHeight(epoch_s, latitude, longitude) {
  const days = epoch_s / 86400 - 10957.5;
  const mean = (280.46 + 0.9856474 * days) * RADIANS;
  const anomaly = (357.528 + 0.9856003 * days) * RADIANS;
  const ecliptic = mean + (1.915 * Math.sin(anomaly) + 0.02 * Math.sin(2 * anomaly)) * RADIANS;
  const tilt = (23.439 - 0.0000004 * days) * RADIANS;
  const declination = Math.asin(Math.sin(tilt) * Math.sin(ecliptic));
  const ascension = Math.atan2(Math.cos(tilt) * Math.sin(ecliptic), Math.cos(ecliptic));
  const sidereal = (280.46062 + 360.98564737 * days + longitude) * RADIANS;
  const hour = sidereal - ascension;
  const sine = Math.sin(latitude * RADIANS) * Math.sin(declination)
    + Math.cos(latitude * RADIANS) * Math.cos(declination) * Math.cos(hour);
  return Math.asin(sine) / RADIANS;
}

/** Dark from the end of civil dusk to the beginning of civil dawn: the sun 6 degrees below. */
export function isDark(epoch_s, latitude, longitude) {
  return sunHeight(epoch_s, latitude, longitude) < CIVIL_DEGREES;
}
