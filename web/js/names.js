// Kit names made short: in a list whose names all begin alike, what they begin with is not said again. Pure.

const SEAM = ", ";

/** "Pack, 470 to 548 MHz" → "470 to 548 MHz", where every name of the list begins with the same word. */
export function shortNames(names) {
  const heads = new Set(names.map((name) => name.split(SEAM)[0]));
  return heads.size === 1 && names.every((name) => name.includes(SEAM)) ? names.map(tailOf) : names;
}

/** What stands behind a name's first comma, or the whole name. */
export const tailOf = (name) => (name.includes(SEAM) ? name.slice(name.indexOf(SEAM) + SEAM.length) : name);

/** The last part of a name, which for a pack is its range; empty where it has one part. */
export const endOf = (name) => (name.includes(SEAM) ? name.slice(name.lastIndexOf(SEAM) + SEAM.length) : "");

/** A name without `end` behind its last comma: "Frequency, 606 to 694 MHz" → "Frequency". */
export const without = (name, end) => (end && name.endsWith(SEAM + end) ? name.slice(0, -(SEAM + end).length) : name);
