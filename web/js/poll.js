// Calls again and again: every 5 s, every 60 s while hidden, at once when shown, online or awake.

const EVERY_MS = 5000;
const HIDDEN_MS = 60000;
const SPREAD = 0.1;

/** How long to wait: spread by a tenth, so that a crew's phones do not ask in step. */
export function pause(hidden, chance = Math.random()) {
  return (hidden ? HIDDEN_MS : EVERY_MS) * (1 - SPREAD + 2 * SPREAD * chance);
}

/**
 * Runs `ask(signal)` until stopped. A call that hangs, as after sleep, is given up when the page
 * is shown or online again, and a new one begins. Returns { now, stop }.
 */
export function poll(ask) {
  let timer = null;
  let running = null;
  let stopped = false;

  async function run() {
    running?.abort();
    clearTimeout(timer);
    const mine = (running = new AbortController());
    try {
      await ask(mine.signal);
    } finally {
      if (running === mine && !stopped) timer = setTimeout(run, pause(document.hidden));
    }
  }

  const listening = new AbortController();
  const listen = (target, name, action) =>
    target.addEventListener(name, action, { signal: listening.signal });
  listen(document, "visibilitychange", () => document.hidden || run());
  listen(window, "online", run);
  listen(window, "pageshow", (event) => event.persisted && run());
  run();

  return {
    now: run,
    stop() {
      stopped = true;
      listening.abort();
      running?.abort();
      clearTimeout(timer);
    },
  };
}
