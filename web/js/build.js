// Builds elements, and fits a page to a new drawing without losing focus, scroll or typing.

const HANDLERS = ["onclick", "oninput", "onchange", "onsubmit", "onkeydown", "ontoggle"];
const HELD = ["value", "checked"];
/** What belongs to whoever uses the page: a drawing sets it once and then leaves it. */
const THEIRS = { DETAILS: ["open"], DIALOG: ["open"], INPUT: ["value", "checked", "aria-invalid"], SELECT: ["aria-invalid"], TEXTAREA: ["aria-invalid"] };

/** An element. Strings become text, never markup. `value` and `checked` are kept in step by `patch`. */
export function h(tag, props = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(props ?? {})) {
    if (HANDLERS.includes(name)) node[name] = value;
    else if (!HELD.includes(name)) setAttribute(node, name, value);
  }
  node.append(...nodes(children));
  for (const name of HELD) if (props?.[name] !== undefined) hold(node, name, props[name]);
  return node;
}

/** Where a telephone number leads. */
export const telephone = (number) => `tel:${number.replace(/[^+\d]/g, "")}`;

/**
 * Makes `parent` hold exactly `children`, keeping the nodes that stand there where they can stay.
 * What comes and goes, or changes its place, carries a `data-key`.
 */
export function patch(parent, ...children) {
  const wanted = nodes(children);
  const keyed = new Map([...parent.children].filter(keyOf).map((node) => [keyOf(node), node]));
  const keys = new Set(wanted.map(keyOf));
  const kept = new Set();
  const spent = (node) => node && (kept.has(node) || (keyOf(node) && !keys.has(keyOf(node))));
  let at = parent.firstChild;
  for (const want of wanted) {
    while (spent(at)) at = at.nextSibling;
    const have = keyOf(want) ? keyed.get(keyOf(want)) : at;
    if (have && alike(have, want)) {
      if (have !== at) move(parent, have, at);
      settle(have, want);
      kept.add(have);
    } else {
      parent.insertBefore(want, at);
      kept.add(want);
    }
  }
  for (const node of [...parent.childNodes]) if (!kept.has(node)) node.remove();
}

function move(parent, node, before) {
  if (parent.moveBefore) parent.moveBefore(node, before);
  else parent.insertBefore(node, before);
}

function nodes(children) {
  return children.flat(Infinity)
    .filter((child) => child !== null && child !== undefined && child !== false && child !== "")
    .map((child) => (child instanceof Node ? child : document.createTextNode(String(child))));
}

function setAttribute(node, name, value) {
  if (value === false || value === null || value === undefined) return;
  node.setAttribute(name, value === true ? "" : String(value));
}

function hold(node, name, value) {
  node[name] = value;
  node.held = { ...node.held, [name]: value };
}

function keyOf(node) {
  return node.dataset?.key;
}

function alike(have, want) {
  return have.nodeName === want.nodeName && keyOf(have) === keyOf(want) && have.type === want.type;
}

function settle(have, want) {
  if (have.nodeType === Node.TEXT_NODE) {
    if (have.data !== want.data) have.data = want.data;
    return;
  }
  settleAttributes(have, want);
  for (const name of HANDLERS) if (have[name] !== want[name]) have[name] = want[name];
  patch(have, ...want.childNodes);
  for (const [name, value] of Object.entries(want.held ?? {})) {
    if (have[name] !== value && have !== document.activeElement) hold(have, name, value);
  }
}

function settleAttributes(have, want) {
  const theirs = THEIRS[have.nodeName] ?? [];
  for (const { name } of [...have.attributes]) {
    if (!want.hasAttribute(name) && !theirs.includes(name)) have.removeAttribute(name);
  }
  for (const { name, value } of want.attributes) {
    if (have.getAttribute(name) !== value && !theirs.includes(name)) have.setAttribute(name, value);
  }
}
