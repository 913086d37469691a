// One reminder: what is due, by when, for whom; and whether somebody has seen it or done it.

import { create } from "../api.js";
import { h } from "../build.js";
import { momentText } from "../when.js";
import { words } from "../words.js";
import { frame } from "./frame.js";

const FRAMES = { info: "free", soon: "confirmed", late: "late" };

/** The sentence of a reminder. Pure. */
export function reminderTitle(reminder) {
  const { kind, stage, unit } = reminder;
  const titles = words.reminder.titles[kind];
  const title = typeof titles === "function" ? titles : titles[stage];
  return title(subject(reminder), unit);
}

function subject({ kit_type: name, kit, quantity, tags }) {
  if (kit.length > 1) return words.pieces(quantity);
  if (!name) return tags.length ? words.reminder.tags(tags) : words.reminder.kit;
  return quantity > 1 ? words.of(quantity, name) : [name, ...tags.slice(0, 1)].join(" ");
}

/** A row. `answer(reminder, verb)` is given to whoever may answer it, else null. */
export function reminderRow(reminder, { today, answer }) {
  const { state } = reminder;
  const under = reminder.kit.length > 1 ? words.now.kit(reminder.kit)
    : reminder.quantity > 1 && reminder.tags.length ? words.reminder.tags(reminder.tags) : "";
  const onward = reminder.straight.map((one) => words.reminder.straight(words.of(one.quantity, one.kit_type), one.unit));
  const open = answer && reminder.id && (state === "due" || state === "seen");
  const link = reminder.booking_id ? `/booking/${reminder.booking_id}`
    : reminder.kit_type_id ? `/kit/${reminder.kit_type_id}` : null;
  const title = reminderTitle(reminder);
  return h("li", { class: "row", "data-key": reminder.key },
    h("span", { class: "row-when" }, momentText(reminder.due_at, today)),
    h("span", { class: "row-what" },
      link ? h("a", { href: link }, title) : title,
      h("small", {}, words.dotted([under, ...onward, words.reminder.to[reminder.to]]))),
    h("span", { class: "row-side" }, stateFrame(reminder)),
    open && h("span", { class: "row-under presses" },
      state === "due" && answerButton(reminder, "seen", title, answer),
      answerButton(reminder, "done", title, answer)));
}

function stateFrame({ state, severity }) {
  if (state === "done") return frame("ended", words.reminder.doneState);
  if (state === "seen") return frame("free", words.reminder.seenState);
  return state === "due" ? frame(FRAMES[severity], words.reminder.frames[severity]) : null;
}

function answerButton(reminder, verb, title, answer) {
  return h("button", {
    type: "button", class: "press", "data-key": verb, "aria-label": `${words.reminder[verb]}: ${title}`,
    onclick: () => answer(reminder, verb),
  }, words.reminder[verb]);
}

/** Sends "seen" or "done". */
export function answerReminder(reminder, verb) {
  return create(`/reminders/${reminder.id}/${verb}`, {});
}
