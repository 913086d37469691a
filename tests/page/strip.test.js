import { firstDay, holds, pressed, spanOf, walked, withSpan } from "../../web/js/span.js";
import { dayModel } from "../../web/js/parts/strip.js";
import { same, test } from "./runner.js";

const TODAY = "2026-11-25";
const span = (from, to = from) => ({ from, to });
const url = (query) => new URL(`http://board.test/days${query}`);

test("the span is read from the URL, in order, and only from days", () => {
  same(spanOf(url("?from=2026-11-26&to=2026-11-27")), span("2026-11-26", "2026-11-27"));
  same(spanOf(url("?from=2026-11-26")), span("2026-11-26"));
  same(spanOf(url("?from=2026-11-27&to=2026-11-26")), span("2026-11-26", "2026-11-27"));
  same(spanOf(url("?from=tomorrow")), null);
  same(spanOf(url("")), null);
});

test("writing the span keeps the rest of the URL", () => {
  same(withSpan(url("?category=packs"), span("2026-11-26", "2026-11-27")).search, "?category=packs&from=2026-11-26&to=2026-11-27");
  same(withSpan(url("?from=2026-11-26&to=2026-11-27&category=packs"), span("2026-11-26")).search, "?category=packs&from=2026-11-26");
  same(withSpan(url("?from=2026-11-26"), null).search, "");
});

test("the strip begins two days before today, and moves only as far as the span asks", () => {
  same(firstDay(TODAY, null), "2026-11-23");
  same(firstDay(TODAY, span("2026-11-27")), "2026-11-23");
  same(firstDay(TODAY, span("2026-12-01")), "2026-11-23");
  same(firstDay(TODAY, span("2026-12-02")), "2026-11-24");
  same(firstDay(TODAY, span("2026-11-20")), "2026-11-20");
  same(firstDay(TODAY, span("2026-12-01", "2026-12-20")), "2026-12-01");
  same(firstDay(TODAY, null, 1), "2026-11-30");
  same(firstDay(TODAY, null, -1), "2026-11-16");
});

test("a press chooses a day, and pressed again lets it go", () => {
  same(pressed(null, "2026-11-26"), span("2026-11-26"));
  same(pressed(span("2026-11-26"), "2026-11-28"), span("2026-11-28"));
  same(pressed(span("2026-11-26"), "2026-11-26"), null);
});

test("where presses stretch, a later day widens the span and any other begins anew", () => {
  const stretch = { stretch: true };
  same(pressed(span("2026-11-26"), "2026-11-27", stretch), span("2026-11-26", "2026-11-27"));
  same(pressed(span("2026-11-26", "2026-11-27"), "2026-11-27", stretch), span("2026-11-27"));
  same(pressed(span("2026-11-26"), "2026-11-25", stretch), span("2026-11-25"));
});

test("arrow keys walk the span, and with Shift make it longer or shorter", () => {
  same(walked(span("2026-11-30"), 1, { today: TODAY }), span("2026-12-01"));
  same(walked(span("2026-11-26", "2026-11-27"), -1, { today: TODAY }), span("2026-11-25"));
  same(walked(span("2026-11-26"), 1, { today: TODAY, stretch: true }), span("2026-11-26", "2026-11-27"));
  same(walked(span("2026-11-26"), -1, { today: TODAY, stretch: true }), span("2026-11-26"));
  same(walked(null, 1, { today: TODAY }), span(TODAY));
});

test("a span holds its ends", () => {
  same(["2026-11-25", "2026-11-26", "2026-11-27", "2026-11-28"].map((date) => holds(span("2026-11-26", "2026-11-27"), date)), [false, true, true, false]);
});

const unit = (unit_id, unit, number) => ({ unit_id, unit, number, working: number !== null });
const day = (members) => ({ date: "2026-11-26", units: [unit("m", "Main", 9), unit("s", "Second", 8), unit("p", "Splinter", null)], late: 0, short: 0, at_risk: 0, ...members });

test("a day shows the reader's own unit's number", () => {
  same(dayModel(day(), { homeUnit: "s", today: TODAY }).name, "Thu · D8");
  same(dayModel(day(), { homeUnit: "p", today: TODAY }).name, "Thu");
  same(dayModel(day(), { homeUnit: "m", today: TODAY }).bars, [true, true, false]);
});

test("what is wrong on a day is in words, and read out", () => {
  const model = dayModel(day({ late: 1, at_risk: 2 }), { homeUnit: "m", today: "2026-11-26" });
  same(model.trouble, ["2 at risk", "1 late"]);
  same(model.spoken, "Thu · D9 26, 2 at risk, 1 late, Thursday 26 November, today, Main and Second working");
});
