import { pause, poll, setPace } from "../../web/js/pulse.js";
import { ok, same, test } from "./runner.js";

const shownAgain = () => document.dispatchEvent(new Event("visibilitychange"));
const onlineAgain = () => window.dispatchEvent(new Event("online"));
const soon = () => new Promise((resolve) => setTimeout(resolve, 0));

/** Asks that hang, as one that was under way when the lid was shut; each keeps its signal. */
function hanging() {
  const signals = [];
  const asking = poll((signal) => {
    signals.push(signal);
    return new Promise((resolve) => signal.addEventListener("abort", resolve));
  });
  return { signals, asking };
}

test("a call that hangs, as after sleep, is given up when the page is shown and a new one begins", async () => {
  const { signals, asking } = hanging();
  shownAgain();
  await soon();
  same(signals.map((signal) => signal.aborted), [true, false]);
  onlineAgain();
  await soon();
  same(signals.map((signal) => signal.aborted), [true, true, false]);
  asking.stop();
});

test("what was given up sets no pulse of its own beside the new one", async () => {
  setPace({ shown_ms: 20, hidden_ms: 20 });
  let calls = 0;
  let release;
  const asking = poll(() => {
    calls += 1;
    return calls === 1 ? new Promise((resolve) => (release = resolve)) : new Promise(() => {});
  });
  shownAgain();
  same(calls, 2);
  release();
  await new Promise((resolve) => setTimeout(resolve, 80));
  same(calls, 2);
  asking.stop();
  setPace({ shown_ms: 5000, hidden_ms: 60000 });
});

test("once stopped it asks no more, whatever happens to the page", async () => {
  const { signals, asking } = hanging();
  asking.stop();
  shownAgain();
  onlineAgain();
  await soon();
  same(signals.map((signal) => signal.aborted), [true]);
});

test("a page that is seen asks within six seconds, and one that nobody sees within a minute or so", () => {
  for (const chance of [0, 0.5, 1]) {
    ok(pause(false, chance) < 6000);
    ok(pause(true, chance) <= 66_000);
  }
  ok(pause(false, 0) < pause(false, 1), "spread, so that phones do not ask in step");
});
