// The Office's own style, there before what it is for is drawn.

import { h } from "../build.js";

const link = h("link", { rel: "stylesheet", href: new URL("../../css/office.css", import.meta.url) });
const there = new Promise((go) => {
  link.addEventListener("load", go);
  link.addEventListener("error", go); // it is all there without
});
document.head.append(link);
await there;
