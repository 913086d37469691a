// A booking as it stands: its lines and where they are, and what is recorded of it.

import { words } from "../all_words.js";
import { h } from "../build.js";
import { bookingProgress, isCarried, isCounted, isLive, progressText, standsOf } from "../line_model.js";
import { momentText, spanText } from "../when.js";
import { frame } from "./frame.js";
import { wideTable } from "./wide_table.js";

const FRAMES = { pencilled: "pencilled", confirmed: "confirmed", released: "ended", undone: "ended", lapsed: "ended" };
const PROGRESS_FRAMES = { part_out: "out", out: "out", part_back: "out", all_back: "free" };

/** The state in its frame, with the place in the queue; how far it is out or back; and whether it is at risk. */
export function stateFrames(booking, standing) {
  const place = booking.state === "pencilled" && standing?.place ? words.booking.place(standing.place) : words.booking.states[booking.state];
  const progress = standing && bookingProgress(booking, standing);
  return [
    frame(FRAMES[booking.state], place),
    progress ? [" ", frame(PROGRESS_FRAMES[progress], words.booking.progress[progress])] : null,
    standing?.risk ? [" ", frame("short", words.booking.atRisk)] : null,
  ];
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

/**
 * The lines as a table: what is still held, and how far each is out and back. `moves(line, stands)` gives
 * the presses under a counted line, or null.
 */
export function lineTable(booking, standing, moves = null) {
  const { columns } = words.booking;
  const isOut = booking.state === "confirmed";
  const head = [h("th", { scope: "col" }, columns.kit), h("th", { scope: "col", class: "figure" }, columns.number)];
  return wideTable({ key: "lines", label: words.booking.lines }, h("table", {},
    h("thead", {}, h("tr", {}, head)),
    h("tbody", {}, booking.lines.map((line) => lineRows(line, { standing, isOut, moves })))));
}

function lineRows(line, { standing, isOut, moves }) {
  const stands = standsOf(line, standing);
  const under = isOut && isLive(line) && isCounted(line) && moves ? moves(line, stands) : null;
  const row = h("tr", { "data-key": line.id, class: under ? "has-moves" : null },
    h("th", { scope: "row" }, h("a", { href: `/kit/${line.kit_type_id}` }, line.name), line.tag && ` ${line.tag}`,
      standing && lineFrames(stands, standing.place),
      isOut && isLive(line) && isCarried(line) && standing && h("span", { class: "note" }, progressText(line, stands)),
      line.straight_from_id && isLive(line) && h("small", { class: "note muted" }, words.booking.straight),
      line.frequencies?.length > 0 && h("small", { class: "note muted" }, line.frequencies.map(words.yes.frequency).join(" · ")),
      line.tags?.length > 0 && isCarried(line) && h("small", { class: "note muted" }, line.tags.join(" "))),
    h("td", { class: "figure" }, numberText(line)));
  return under ? [row, h("tr", { "data-key": `${line.id}-moves` }, h("td", { colspan: 2 }, under))] : row;
}

/** What is held of a line still; of one that was taken off, that it is released. */
function numberText(line) {
  if (line.state === "released") return frame("ended", words.booking.takenOff);
  return line.released ? words.booking.released_of(line.quantity, line.released) : String(line.quantity);
}

/** A place in the queue is said at the line only where it is another than the booking's. */
function lineFrames(stands, place) {
  return [
    stands.short_by > 0 && frame("short", words.booking.shortBy(stands.short_by)),
    stands.overdue > 0 && frame("late", words.booking.overdue(stands.overdue)),
    stands.missing > 0 && frame("late", words.booking.missing(stands.missing)),
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
  return Object.keys(after ?? {}).filter((name) => plain(after[name]) !== null && !/(^|_)(id|line)$/.test(name))
    .map((name) => words.journalField(name, plain(before?.[name]), plain(after[name])));
}
