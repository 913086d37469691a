// A file that the service gave, saved where the browser saves files.

import { h } from "../build.js";

const LASTS_MS = 1000;

export function saveFile(blob, name) {
  const link = h("a", { href: URL.createObjectURL(blob), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), LASTS_MS);
}
