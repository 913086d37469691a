// What is pressed on a decision, carried out. Each verb takes the decision and today, and gives what
// the card says then: { sentences, changes, override, promising }.

import { words } from "../all_words.js";
import { change as send, create, newKey, read } from "../api.js";
import { moment } from "../forms.js";
import { poolNow } from "../pulse.js";
import { reasonLine, reasonOf } from "./answers.js";
import { changesInstead, changesOf } from "./decision_options.js";

/** Confirms a pencil, with `override` over the pencils before it. */
export function confirm(item, today, override) {
  return write(item, today, words.booking.confirmed, (path, { etag }) => send("POST", `${path}/confirm`, override ? { override_pencils: true } : {}, etag));
}

export function release(item, today) {
  return write(item, today, words.booking.released, (path, { etag }) => send("POST", `${path}/release`, {}, etag));
}

/** Takes one of the changes that were offered: the booking itself becomes another, and a pencil is confirmed. */
export function change(item, today, { body }) {
  const sentence = item.kind === "clash" ? words.decide.changedAndConfirmed : words.booking.changed;
  return write(item, today, sentence, (path, { etag, body: booking }) =>
    send("PATCH", path, booking.state === "pencilled" ? { ...body, state: "confirmed" } : body, etag));
}

async function write(item, today, sentence, act) {
  const path = `/bookings/${item.booking_id}`;
  const booking = await read(path);
  const answer = booking.ok ? await act(path, booking) : booking;
  return answer.ok ? { sentences: [sentence] } : refused(answer.problem, booking.body, item, today);
}

/** Why not, and what the booking could be changed to instead. */
function refused(problem, booking, item, today) {
  if (problem.status === 412) return { sentences: [words.problem.stale] };
  const said = (shortage) => shortage.kit_type_id === item.kit_type_id; // who holds it stands on the card already
  const reasons = (problem.short ?? []).flatMap((shortage) => (said(shortage) ? [reasonLine(shortage, today)] : reasonOf(shortage, today)));
  return {
    sentences: reasons.length ? reasons : [words.problem.other(problem)],
    changes: booking ? changesOf(booking, problem.options ?? [], { today, unit: item.unit }) : [],
    override: problem.type === "/problems/behind-pencil",
  };
}

/** What could stand in for the pieces that a confirmed booking lacks. */
export async function look(item, today) {
  const booking = await read(`/bookings/${item.booking_id}`);
  if (!booking.ok) return refused(booking.problem, null, item, today);
  const { start, end } = booking.body;
  const missing = { unit_id: item.unit_id, start, end, lines: [{ kit_type_id: item.kit_type_id, quantity: item.short_by }] };
  const answer = await create("/judgements", missing);
  if (!answer.ok) return refused(answer.problem, booking.body, item, today);
  const changes = changesInstead(booking.body, item, answer.body, today);
  return { sentences: changes.every((one) => one.without) ? [words.decide.nothingWorks] : [], changes };
}

export async function promise(item, today, day, time) {
  const when = moment(day, time);
  if (when.wrong) return { promising: true, sentences: [when.wrong] };
  const key = newKey();
  const body = { key, kind: "promise", happened_at: poolNow(),
    booking_id: item.booking_id ?? undefined, unit_id: item.unit_id ?? undefined, pieces: piecesOf(item), promised_at: when.value };
  const answer = await create("/custody-events", body, key);
  return answer.ok ? { sentences: [words.decide.promised] } : { promising: true, sentences: [words.problem.other(answer.problem)] };
}

function piecesOf(item) {
  return item.tags.length ? item.tags.map((tag) => ({ tag })) : [{ kit_type_id: item.kit_type_id, quantity: item.quantity }];
}
