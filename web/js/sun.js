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
