import { h, patch } from "../../web/js/build.js";
import { ok, same, test } from "./runner.js";

function host() {
  const node = document.createElement("div");
  document.body.replaceChildren(node);
  return node;
}

test("text is text, whatever it holds", () => {
  const root = host();
  patch(root, h("p", {}, "<img src=x onerror=alert(1)>"));
  same(root.querySelector("img"), null);
  same(root.textContent, "<img src=x onerror=alert(1)>");
});

test("a drawing keeps the nodes, the focus and the typing", () => {
  const root = host();
  const draw = (n) => patch(root, h("p", {}, `count ${n}`), h("input", { name: "free" }), h("input", { name: "held", value: String(n) }));
  draw(1);
  const [free, held] = root.querySelectorAll("input");
  free.value = "typed";
  held.focus();
  held.value = "12";
  draw(2);
  same(root.querySelectorAll("input")[0] === free, true);
  same([free.value, held.value, document.activeElement === held], ["typed", "12", true]);
  held.blur();
  draw(3);
  same(held.value, "3");
});

test("what comes and goes leaves its neighbours alone", () => {
  const root = host();
  const draw = (alert) => patch(root, h("h3", {}, "title"), alert && h("p", { "data-key": "alert" }, alert), h("div", { "data-key": "presses" }, h("button", { type: "button" }, "go")));
  draw(null);
  root.querySelector("button").focus();
  const button = document.activeElement;
  draw("not free");
  draw(null);
  same(document.activeElement === button, true);
  same(root.children.length, 2);
});

test("rows are told apart by key when their order changes", () => {
  const root = host();
  const draw = (keys) => patch(root, keys.map((key) => h("li", { "data-key": key }, key)));
  draw(["a", "b", "c"]);
  const [a, b, c] = root.children;
  draw(["c", "a", "d"]);
  same([...root.children].map((node) => node.textContent), ["c", "a", "d"]);
  ok(root.children[0] === c && root.children[1] === a && !b.isConnected);
});

test("an opened detail stays open, and the newest handler answers", () => {
  const root = host();
  let heard = 0;
  const draw = (n) => patch(root, h("details", {}, h("summary", {}, "more")), h("button", { type: "button", onclick: () => { heard = n; } }, "go"));
  draw(1);
  root.querySelector("details").open = true;
  draw(2);
  root.querySelector("button").click();
  same([root.querySelector("details").open, heard], [true, 2]);
});

test("attributes that are gone are taken off, and false ones never set", () => {
  const root = host();
  patch(root, h("button", { disabled: true, "aria-pressed": "true" }, "go"));
  patch(root, h("button", { disabled: false, "aria-pressed": "false" }, "go"));
  same([root.firstChild.disabled, root.firstChild.getAttribute("aria-pressed")], [false, "false"]);
});

test("a select shows the value it is given", () => {
  const root = host();
  const draw = (value) => patch(root, h("select", { value }, ["a", "b"].map((one) => h("option", { value: one }, one))));
  draw("b");
  same(root.firstChild.value, "b");
  draw("a");
  same(root.firstChild.value, "a");
});
