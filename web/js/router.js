// Paths to pages. Links are ordinary links; the ones to our own pages do not reload.

const ROUTES = [
  ["now", /^\/$/, () => import("./pages/now.js")],
  ["days", /^\/days$/, () => import("./pages/days.js")],
  ["kit", /^\/kit\/(?<id>[^/]+)$/, () => import("./pages/kit.js")],
  ["ask", /^\/ask$/, () => import("./pages/ask.js")],
  ["booking", /^\/booking\/(?<id>[^/]+)$/, () => import("./pages/booking.js")],
  ["mine", /^\/mine$/, () => import("./pages/mine.js")],
  ["scan", /^\/scan$/, () => import("./pages/scan.js")],
  ["office", /^\/office(?:\/(?:units|people|lists|links))?$/, () => import("./pages/office.js")],
  ["sign-in", /^\/sign-in$/, () => import("./pages/sign_in.js")],
  ["welcome", /^\/welcome$/, () => import("./pages/welcome.js")],
  ["wall", /^\/wall$/, () => import("./pages/wall.js")],
];

/** Pages that are open to somebody who has not signed in. */
export const OPEN = new Set(["sign-in", "welcome", "wall"]);

/** { name, load, params } of a path; unknown paths are the page "nowhere". */
export function routeOf(path) {
  for (const [name, pattern, load] of ROUTES) {
    const found = pattern.exec(path);
    if (found) return { name, load, params: { ...found.groups } };
  }
  return { name: "nowhere", load: null, params: {} };
}

/** Calls `show(url)` for each link followed and each step back or forward. Returns go(url, how). */
export function followLinks(show) {
  function go(url, { replace = false, state = null } = {}) {
    const next = new URL(url, location.href);
    if (replace) history.replaceState(state, "", next);
    else if (next.href !== location.href) history.pushState(state, "", next);
    show(next);
  }
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a[href]");
    if (!link || event.defaultPrevented || !plainPress(event) || !isOurs(link)) return;
    event.preventDefault();
    go(link.href);
  });
  addEventListener("popstate", () => show(new URL(location.href)));
  return go;
}

function plainPress(event) {
  return event.button === 0 && !(event.metaKey || event.ctrlKey || event.shiftKey || event.altKey);
}

function isOurs(link) {
  const url = new URL(link.href);
  return url.origin === location.origin && !link.target && !link.hasAttribute("download")
    && !(url.hash && url.pathname === location.pathname) && routeOf(url.pathname).load !== null;
}
