// A booking as it stands: its lines and where they are, and what is recorded of it.

import { h } from "../build.js";
import { momentText, spanText } from "../when.js";
import { words } from "../words.js";
import { frame } from "./frame.js";

const FRAMES = { pencilled: "pencilled", confirmed: "confirmed", released: "ended", undone: "ended", lapsed: "ended" };

/** The state in its frame, with the place in the queue, and whether it is at risk. */
export function stateFrames(booking, standing) {
  const place = booking.state === "pencilled" && standing?.place ? words.booking.place(standing.place) : words.booking.states[booking.state];
  return [frame(FRAMES[booking.state], place), standing?.risk ? [" ", frame("short", words.booking.atRisk)] : null];
}

/** Who, when, and on whose account. */
export function bookingFacts(booking, today) {
  const facts = [
    [words.booking.window, spanText(booking.start, booking.end, today)],
    [words.booking.whoPays, booking.who_pays],
    [words.booking.orderNumber, booking.order_number],
    [words.booking.lapses, booking.state === "pencilled" && booking.pencil_expires_at ? momentText(booking.pencil_expires_at, today) : null],
    [words.booking.asked, words.booking.by(momentText(booking.created_at, today), booking.created_by)],
  ];
  return h("dl", { class: "facts-list" }, facts.filter(([, value]) => value).map(([name, value]) => [h("dt", {}, name), h("dd", {}, value)]));
}

/** The lines as a table. */
export function lineTable(booking, standing) {
  const { columns } = words.booking;
  return h("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": words.booking.lines, "data-key": "lines" }, h("table", {},
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, columns.kit), h("th", { scope: "col", class: "figure" }, columns.number),
      h("th", { scope: "col", class: "figure" }, columns.out), h("th", { scope: "col", class: "figure" }, columns.back))),
    h("tbody", {}, booking.lines.map((line) => lineRow(line, standing?.lines.find((one) => one.id === line.id), standing?.place)))));
}

function lineRow(line, stands, place) {
  const number = line.released ? words.booking.released_of(line.quantity - line.released, line.quantity) : String(line.quantity);
  return h("tr", { "data-key": line.id },
    h("th", { scope: "row" }, h("a", { href: `/kit/${line.kit_type_id}` }, line.name), line.tag && ` ${line.tag}`,
      lineFrames(stands, place),
      line.frequencies?.length > 0 && h("small", { class: "note muted" }, line.frequencies.map(words.yes.frequency).join(" · "))),
    h("td", { class: "figure" }, number),
    h("td", { class: "figure" }, stands?.out ? String(stands.out) : "–"),
    h("td", { class: "figure" }, stands?.back ? String(stands.back) : "–"));
}

/** A place in the queue is said at the line only where it is another than the booking's. */
function lineFrames(stands, place) {
  if (!stands) return null;
  return [
    stands.short_by > 0 && frame("short", words.booking.shortBy(stands.short_by)),
    stands.overdue > 0 && frame("late", words.booking.overdue(stands.overdue)),
    stands.missing > 0 && frame("late", words.booking.missing(stands.missing)),
    stands.out > 0 && !stands.overdue && frame("out", words.now.out),
    stands.place > 0 && stands.place !== place && !stands.out && frame("pencilled", words.booking.place(stands.place)),
  ].filter(Boolean).flatMap((one) => [" ", one]);
}

/** The journal: when, who, what. */
export function journalPart(rows, today) {
  return h("details", { "data-key": "journal" }, h("summary", {}, words.booking.journal),
    rows.length ? h("ul", {}, rows.map((row, index) => h("li", { class: "row", "data-key": String(row.id ?? index) },
      h("span", { class: "row-when" }, momentText(row.at, today)),
      h("span", { class: "row-what" }, words.journal(row.verb), h("small", {}, words.dotted([row.by, ...fieldChanges(row)])))))) : h("p", { class: "nothing" }, words.booking.noJournal));
}

function fieldChanges({ before, after }) {
  const plain = (value) => (value === null || value === undefined || typeof value === "object" ? null : String(value));
  return Object.keys(after ?? {}).filter((name) => plain(after[name]) !== null && !/(^|_)id$/.test(name))
    .map((name) => words.journalField(name, plain(before?.[name]), plain(after[name])));
}
