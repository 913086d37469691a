// What the eye and the thumb meet on a page, measured in the page. Each answers what is wrong, in words.
(() => {
  const PRESSED = "a[href], button, input, select, textarea, summary";
  const seen = (node) => node.checkVisibility({ visibilityProperty: true, opacityProperty: true })
    && !node.closest(".spoken, .skip");
  const named = (node) => {
    const text = (node.getAttribute("aria-label") ?? node.textContent ?? "").trim().replace(/\s+/g, " ");
    return `${node.localName}${node.className ? `.${node.className}` : ""} "${text.slice(0, 40)}"`;
  };
  const pressed = () => [...document.querySelectorAll(PRESSED)].filter((node) => seen(node) && !node.disabled);

  /** What a press on it may hit: its label too, and the box that a pseudo-element of it fills. */
  function target(node) {
    const over = getComputedStyle(node, "::after");
    if (over.content !== "none" && over.position === "absolute" && over.inset === "0px") {
      let host = node;
      while (getComputedStyle(host).position === "static") host = host.parentElement;
      return host.getBoundingClientRect();
    }
    const label = node.matches("input, select, textarea") && node.closest("label");
    return (label || node).getBoundingClientRect();
  }

  function small(least) {
    return pressed().map((node) => [node, target(node)])
      .filter(([, { width, height }]) => Math.min(width, height) < least - 0.1)
      .map(([node, { width, height }]) => `${named(node)} is ${Math.round(width)} × ${Math.round(height)}`);
  }

  /** What reaches past the right edge, but in a box that scrolls by itself. */
  function wide() {
    const edge = document.documentElement.clientWidth;
    const far = [...document.body.querySelectorAll("*")]
      .filter((node) => seen(node) && !node.closest(".scroll, .strip-days"))
      .filter((node) => node.getBoundingClientRect().right > edge + 0.5).map(named);
    return document.documentElement.scrollWidth > edge ? [`scrolls to ${document.documentElement.scrollWidth} of ${edge}`, ...far] : far;
  }

  /** What can be pressed but whose words run out of it, or that something else lies over when it is in view. */
  function hidden() {
    const wrong = [];
    for (const node of pressed()) {
      node.scrollIntoView({ block: "center", inline: "center" });
      const box = target(node);
      const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
      const label = node.closest("label");
      const within = top && (node.contains(top) || top.contains(node) && !top.matches("main, body, html") || label?.contains(top));
      if (!within) wrong.push(`${named(node)} lies under ${top ? named(top) : "the edge"}`);
      if (node.matches("a, button, summary") && node.scrollWidth > node.clientWidth + 1 && getComputedStyle(node).display !== "inline") wrong.push(`${named(node)} runs over`);
    }
    scrollTo(0, 0);
    return wrong;
  }

  // Contrast by WCAG 2.2, "relative luminance" and "contrast ratio": https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio
  const channels = (colour) => {
    const [red, green, blue, alpha = 1] = colour.match(/-?[\d.]+(?:e-?\d+)?/g).map(Number);
    const full = colour.startsWith("color(") ? 1 : 255;
    return { rgb: [red / full, green / full, blue / full], alpha };
  };
  const luminance = (rgb) => {
    const [red, green, blue] = rgb.map((one) => (one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4));
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
  };
  function contrast(one, other) {
    const [dark, light] = [luminance(one), luminance(other)].sort((a, b) => a - b);
    return (light + 0.05) / (dark + 0.05);
  }
  function ground(node) {
    for (let at = node; at; at = at.parentElement) {
      const { rgb, alpha } = channels(getComputedStyle(at).backgroundColor);
      if (alpha === 1) return rgb;
      if (alpha > 0) throw new Error(`${named(at)} has a ground that shines through`);
    }
    throw new Error("the page has no ground");
  }

  /** Words too pale for their size. axe leaves open what lies under a pseudo-element or off the screen. */
  function pale() {
    const wrong = new Set();
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const node = walker.currentNode.parentElement;
      if (!walker.currentNode.data.trim() || !seen(node) || node.closest("[disabled], noscript, option")) continue;
      const style = getComputedStyle(node);
      const size = parseFloat(style.fontSize);
      const large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
      const found = contrast(channels(style.color).rgb, ground(node));
      if (found < (large ? 3 : 4.5)) wrong.add(`${named(node)} has ${found.toFixed(2)}`);
    }
    return [...wrong];
  }

  /** As `focusNow`, once an answer that comes just then has been drawn. */
  async function focus(wanted) {
    for (let frames = 30; frames > 0 && focusNow(wanted)?.uncovered === false; frames -= 1) {
      await new Promise(requestAnimationFrame);
    }
    return focusNow(wanted);
  }

  /** The line round what has the focus, and whether that is `wanted`; null between last and first. */
  function focusNow(wanted) {
    const node = document.activeElement;
    if (node === document.body) return null;
    const style = getComputedStyle(node);
    const box = node.getBoundingClientRect();
    const points = [0.1, 0.5, 0.9].flatMap((x) => [0.1, 0.5, 0.9].map((y) => [box.x + box.width * x, box.y + box.height * y]));
    const uncovered = points.some(([x, y]) => {
      const top = document.elementFromPoint(x, y);
      return top && (node.contains(top) || top.contains(node));
    });
    return { name: named(node), there: node === wanted, width: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth),
      contrast: contrast(channels(style.outlineColor).rgb, ground(node.parentElement)), uncovered };
  }

  function moving() {
    const seconds = (text) => Math.max(...text.split(",").map(parseFloat));
    return [...document.querySelectorAll("*")].filter((node) => {
      const style = getComputedStyle(node);
      return seconds(style.transitionDuration) > 0 || style.animationName !== "none" || style.scrollBehavior === "smooth";
    }).map(named);
  }

  window.measures = { small, wide, hidden, pale, focus, moving };
})();
