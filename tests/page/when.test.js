// Dates checked against the calendar: 25 November 2026 is a Wednesday (ISO 8601 week 48, day 3).
import { addDays, daysBetween, daysText, laterBy, lengthText, longDay, momentText, spanText, wall, weekday } from "../../web/js/when.js";
import { same, test } from "./runner.js";

const TODAY = "2026-11-25";

test("the wall time is read out of the string, whatever the browser's zone", () => {
  same(wall("2026-11-26T06:00:00+00:00"), { date: "2026-11-26", time: "06:00" });
  same(wall("2026-07-01T23:30:00+05:45"), { date: "2026-07-01", time: "23:30" });
  same(wall("2026-07-01T00:30:00-09:30"), { date: "2026-07-01", time: "00:30" });
});

test("weekdays are those of the calendar", () => {
  same(weekday(TODAY), "Wed");
  same(longDay("2026-03-29"), "Sunday 29 March");
  same(weekday("2028-02-29"), "Tue");
});

test("days are added over month, year and clock changes", () => {
  same(addDays("2026-02-28", 1), "2026-03-01");
  same(addDays("2028-02-28", 1), "2028-02-29");
  same(addDays("2027-01-01", -1), "2026-12-31");
  same(addDays("2026-10-24", 2), "2026-10-26");
  same(daysBetween("2026-10-24", "2026-10-26"), 2);
});

test("a moment today is its time, in the week to come its weekday too, before and beyond that the date", () => {
  same(momentText("2026-11-25T14:05:00+00:00", TODAY), "14:05");
  same(momentText("2026-11-26T06:00:00+00:00", TODAY), "Thu 06:00");
  same(momentText("2026-12-01T06:00:00+00:00", TODAY), "Tue 06:00");
  same(momentText("2026-12-02T06:00:00+00:00", TODAY), "Wed 2 Dec 06:00");
  same(momentText("2026-11-24T19:30:00+00:00", TODAY), "Tue 24 19:30");
  same(momentText("2026-11-18T06:00:00+00:00", TODAY), "Wed 18 Nov 06:00");
});

test("until further notice is said so", () => {
  same(momentText("2100-01-01T00:00:00+00:00", TODAY), "until further notice");
  same(spanText("2026-11-26T06:00:00+00:00", "2100-01-01T00:00:00+00:00", TODAY), "from Thu 06:00, until further notice");
});

test("a span names the second day only when it is another", () => {
  same(spanText("2026-11-26T07:30:00+00:00", "2026-11-26T19:00:00+00:00", TODAY), "Thu 07:30 to 19:00");
  same(spanText("2026-11-26T06:00:00+00:00", "2026-11-27T20:00:00+00:00", TODAY), "Thu 06:00 to Fri 20:00");
  same(spanText("2026-11-30T15:00:00+00:00", "2026-12-01T02:30:00+00:00", TODAY), "Mon 15:00 to Tue 02:30");
  same(spanText("2026-11-20T10:00:00+00:00", "2026-11-27T20:00:00+00:00", TODAY), "Fri 20 10:00 to Fri 20:00");
  same(spanText("2026-11-16T09:00:00+00:00", "2026-12-04T00:30:00+00:00", TODAY), "Mon 16 Nov 09:00 to Fri 4 Dec 00:30");
});

test("ageing keeps the offset and crosses midnight", () => {
  same(laterBy("2026-11-25T23:59:30+05:30", 45), "2026-11-26T00:00:15+05:30");
  same(laterBy("2026-11-25T14:05:00+00:00", 0), "2026-11-25T14:05:00+00:00");
});

test("lengths are rounded down to what is said aloud", () => {
  same(lengthText(20), "1 min");
  same(lengthText(3599), "59 min");
  same(lengthText(3600), "1 h");
  same(lengthText(47 * 3600), "47 h");
  same(lengthText(48 * 3600), "2 days");
});

test("days go by the unit's own numbers where it has them", () => {
  same(daysText([{ date: "2026-11-26", number: 9 }], TODAY), "D9");
  same(daysText([{ date: "2026-11-26", number: 9 }, { date: "2026-11-27", number: 10 }], TODAY), "D9 and D10");
  same(daysText([{ date: "2026-11-26", number: 9 }, { date: "2026-11-27", number: 10 }, { date: "2026-11-30", number: 11 }], TODAY), "D9 to D11");
  same(daysText([{ date: "2026-11-28", number: null }], TODAY), "Sat 28");
});
