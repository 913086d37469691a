// What a code that was entered does: looked up, handed out or taken back; each ends in a row of the log.

import { words } from "./all_words.js";
import { NO_SIGNAL, create, newKey, read, readAll } from "./api.js";
import { keep } from "./kept.js";
import { may } from "./rights.js";
import { boxOffer, boxText, countedMatches, custodyEvent, holdersOf, leftFor, movedText, otherBookings, piecesOfBox, scanKind } from "./scan_model.js";
import { dateOf, momentText, timeOf } from "./when.js";

const UNDO_MS = 60000;
const MOST_ENDANGERED = 4;
const told = new Set(); // cautions, each said once a session of scans: a reader scans a piece a second

/**
 * `known`: { bookings, kits, reading, destination } as the page has read them, `reading` while it reads kits; `note(entry)` adds a row;
 * `moved()` is called when kit has moved. Every action ends before the next may begin.
 */
export function scanner({ session, known, note, moved, today, now, leave }) {
  const options = { signal: leave };
  const own = session.account.unit_ids;
  const mayMove = (unit) => may(session, "custody", unit);
  const refused = (problem, more = {}) => note({ is: "short", frame: words.answer.refused, text: words.problem.other(problem), ...more });

  async function enter(code, chosen) {
    const answer = await read(`/scan/${encodeURIComponent(code)}`, options);
    if (!answer.ok || scanKind(answer.body) === "kit") await known.reading;
    if (leave.aborted) return;
    if (answer.ok) return found(answer.body, chosen);
    const matches = await likely(countedMatches(known.kits, code), chosen);
    if (matches.length === 1) return kit(matches[0], chosen);
    if (matches.length) return note({ is: "free", frame: words.scan.which, text: words.scan.whichKit(code), presses: matches.map((one) => ({ text: one.name, action: () => kit(one, chosen) })) });
    if (answer.problem.type !== NO_SIGNAL) return note({ is: "short", frame: words.scan.unknown, text: words.problem.other(answer.problem) });
    if (chosen.mode === "look") return refused(answer.problem);
    keepEvent(code, custodyEvent({ key: newKey(), at: now(), pieces: [{ tag: code }], choice: chosen }));
  }

  /** Of several names those that the booking has still to go, or that are out to come back. */
  async function likely(matches, chosen) {
    if (matches.length < 2 || chosen.mode === "look") return matches;
    const custody = chosen.mode === "back" ? await readAll("/custody", "custody", options) : null;
    const isOut = (one, may) => custody?.ok && holdersOf(custody.body, one.id, { may }).length > 0;
    const first = matches.filter((one) => (custody ? isOut(one, (unit) => own.includes(unit)) : leftOn(one.id, chosen) > 0));
    const mine = first.length ? first : matches.filter((one) => isOut(one, mayMove));
    return mine.length ? mine : matches;
  }

  function leftOn(kitId, chosen) {
    const there = known.destination;
    return chosen.mode === "out" && chosen.booking && there?.booking.id === chosen.booking ? leftFor(there.booking, there.standing, kitId) : 0;
  }

  function found(thing, chosen) {
    const kind = scanKind(thing);
    if (kind === "kit" && known.kits.length && !known.kits.some((one) => one.id === thing.kit_type_id)) return chosen.mode === "look" ? look(thing) : note({ is: "late", frame: words.answer.refused, text: words.scan.byTag(thing.name) });
    if (kind === "kit") return kit({ id: thing.kit_type_id, name: thing.name }, chosen);
    if (chosen.mode === "look") return look(thing);
    if (kind === "box") return box(thing, chosen);
    const what = `${thing.tag} ${thing.name}`;
    const isHere = chosen.mode === "back" && !thing.unit_id;
    if (isHere && (chosen.condition === "fit" || thing.condition === chosen.condition)) return here(thing, what);
    return move({ what, pieces: [{ tag: thing.tag }], chosen, kitId: thing.kit_type_id, isOut: Boolean(thing.unit_id) });
  }

  /** Scanned back though it is not out: said, and nothing is recorded. */
  function here(thing, what) {
    const unfit = thing.condition !== "fit" ? [words.scan.conditionIs(words.scan.conditions[thing.condition] ?? thing.condition)] : [];
    const at = thing.back_at && (dateOf(thing.back_at) === today() ? words.scan.backAt(timeOf(thing.back_at)) : momentText(thing.back_at, today()));
    note({ is: unfit.length ? "late" : "free", frame: words.scan.alreadyBack, text: at ? words.scan.backAlready(what, at) : words.scan.notOut(what), notes: unfit });
  }

  function look(thing) {
    const notes = [thing.where?.text, thing.due_at && words.scan.due(momentText(thing.due_at, today())), thing.condition && thing.condition !== "fit" && words.scan.conditionIs(thing.condition)];
    const kind = thing.where?.kind;
    const link = thing.booking_id ? { href: `/booking/${thing.booking_id}`, text: words.decide.open } : thing.kit_type_id ? { href: `/kit/${thing.kit_type_id}`, text: words.kit.about } : null;
    note({ is: kind === "out_of_service" ? "late" : kind === "box" ? "free" : "out", frame: words.scan.kinds[kind] ?? words.scan.found,
      text: [thing.tag, thing.name].filter(Boolean).join(" "), notes: notes.filter(Boolean), links: link ? [link] : [] });
  }

  /** Counted kit has no tag: how many, and back from which unit. */
  async function kit({ id, name }, chosen) {
    if (chosen.mode === "out") return ask(id, name, chosen, { number: String(leftOn(id, chosen) || 1) });
    const custody = await readAll("/custody", "custody", options);
    if (!custody.ok) return chosen.mode === "back" && custody.problem.type === NO_SIGNAL ? ask(id, name, chosen, { number: "1" }) : refused(custody.problem);
    const holders = holdersOf(custody.body, id, { may: chosen.mode === "back" ? mayMove : () => true, first: own });
    if (chosen.mode === "look") return note({ is: holders.length ? "out" : "free", frame: words.scan.counted.toLowerCase(), text: name, notes: [holders.length ? words.scan.outWith(holders) : words.scan.noneOut(name)], links: [{ href: `/kit/${id}`, text: words.kit.about }] });
    if (!holders.length) return note({ is: "late", frame: words.answer.refused, text: words.scan.noneOut(name) });
    ask(id, name, chosen, { holders, from: holders[0].unit_id, number: String(holders[0].quantity) });
  }

  function ask(id, name, chosen, more) {
    const moveSome = (quantity, from) => move({ what: words.of(quantity, name), pieces: [{ kit_type_id: id, quantity }], chosen, from, kitId: id });
    const notes = more.holders?.length === 1 ? [words.scan.outWith(more.holders)] : [];
    note({ is: "free", frame: words.scan.question, text: name, notes, ask: { mode: chosen.mode, move: moveSome, ...more } });
  }

  /** A whole box: what of it can go out or come back, as one press that says so. */
  async function box(thing, chosen) {
    const [answer, custody] = await Promise.all([read(`/boxes/${thing.box.id}`, options), readAll("/custody", "custody", options)]);
    const wrong = [answer, custody].find((one) => !one.ok);
    if (wrong) return refused(wrong.problem);
    const from = chosen.mode === "back" ? own[0] ?? commonUnit(answer.body, custody.body) : null;
    const there = known.destination?.booking.id === chosen.booking ? known.destination : {};
    const offer = boxOffer(answer.body, { mode: chosen.mode, custody: custody.body, ...there, from, may: mayMove });
    const pieces = piecesOfBox(offer);
    if (!pieces.length) return note({ is: "late", frame: words.answer.refused, text: chosen.mode === "back" ? words.scan.nothingBack(thing.name) : words.scan.nothingToGo(thing.name) });
    const what = boxText(offer, words.of);
    note({ is: "free", frame: words.scan.found, text: thing.name, presses: [
      { text: `${words.scan.modes[chosen.mode]}: ${what}`, action: () => move({ what: words.scan.of(what, thing.name), pieces, chosen, from }) }] });
  }

  /** The one unit that has what is out of a box, or null where several have some. */
  function commonUnit(contents, custody) {
    const kits = new Set(contents.counts.map((count) => count.kit_type_id));
    const holding = new Set(custody.filter((one) => !one.item_id && kits.has(one.kit_type_id)).map((one) => one.unit_id));
    return holding.size === 1 ? [...holding][0] : null;
  }

  async function move(asked, anyway = false) {
    const { what, pieces, chosen, from = null } = asked;
    const event = custodyEvent({ key: newKey(), at: now(), pieces, choice: chosen, from, anyway });
    const answer = await create("/custody-events", event, event.key);
    if (answer.ok) {
      moved();
      return note(movedNote(answer.body, chosen));
    }
    if (answer.problem.type === NO_SIGNAL) return keepEvent(what, event);
    const instead = answer.problem.take_instead ?? [];
    refused(answer.problem, { notes: instead.length ? [words.scan.instead(instead)] : [], presses: chosen.mode === "out" && answer.status === 409 && !asked.isOut ? ways(asked) : [] });
  }

  /** What can be done with a piece that was refused: another booking of the same unit, or all the same. */
  function ways(asked) {
    const { chosen, kitId } = asked;
    const aimed = known.bookings.find((one) => one.id === chosen.booking) ?? { id: null, unit_id: chosen.unit };
    const others = kitId ? otherBookings(known.bookings, aimed, kitId).slice(0, 3) : [];
    return [
      ...others.map((one) => ({ text: words.scan.onBooking(one, words.scan.running(momentText(one.end, today()))), action: () => move({ ...asked, chosen: { ...chosen, booking: one.id, unit: "" } }) })),
      { text: words.scan.anyway, action: () => move(asked, true) },
    ];
  }

  function movedNote(body, chosen) {
    const what = movedText(body.moved, words.of);
    const cautions = body.cautions.filter((text) => !told.has(text));
    for (const text of cautions) told.add(text);
    const links = body.endangers.slice(0, MOST_ENDANGERED).map((one) => ({ href: `/booking/${one.booking_id}`, text: words.scan.endangers([words.scan.endangered(one, momentText(one.start, today()))]) }));
    const rest = body.endangers.length - links.length;
    const undo = undoOf(body, what, chosen);
    if (chosen.mode === "out") return { is: "out", frame: words.now.out, text: words.scan.wentOut(what, destination(body, chosen)), notes: cautions, links, undo };
    const theirs = [...new Set(body.moved.filter((one) => one.unit_id && !own.includes(one.unit_id)).map((one) => one.unit))];
    return { is: chosen.condition === "fit" ? "free" : "late", frame: words.scan.modesDone.back, text: words.scan.cameBack(what, words.scan.conditions[chosen.condition]),
      notes: [...(theirs.length ? [words.scan.hadIt(theirs)] : []), ...cautions, ...(rest > 0 ? [words.now.more(rest)] : [])], links, undo };
  }

  function destination(body, chosen) {
    return chosen.person || body.moved[0]?.unit || session.units.find((one) => one.id === chosen.unit)?.name || "";
  }

  /** The last scan can be taken back for a minute; what was only marked, and was not out, on its kit page. */
  function undoOf(body, what, chosen) {
    const counted = chosen.condition !== "fit" && body.moved.some((one) => !one.item_id);
    if (chosen.mode === "back" && (counted || body.moved.some((one) => !one.unit_id))) return null;
    const action = async () => {
      const answer = await create(`/custody-events/${body.id}/undo`);
      if (!answer.ok) return refused(answer.problem);
      moved();
      note({ is: "free", frame: words.scan.undone, text: chosen.mode === "out" ? words.scan.undoneOut(what) : words.scan.undoneBack(what) });
    };
    return { until: Date.now() + UNDO_MS, action };
  }

  function keepEvent(what, event) {
    const kept = keep({ key: event.key, path: "/custody-events", body: event, text: words.scan.keptText(words.scan.modes[event.kind], what), kept_at: event.happened_at });
    note({ is: "pencilled", frame: words.ask.keptFrame, text: kept ? words.scan.notSent(what) : words.ask.notKept });
  }

  return { enter, kit };
}
