// What each role may press. The service decides; this only leaves out what it would refuse.

const ALL = ["coordinator"];
const RIGHTS = {
  book: { all: ALL, own: ["mixer"] },
  confirm: { all: ALL, own: ["mixer"] },
  release: { all: ALL, own: ["mixer"] },
  override: { all: ALL, own: [] },
  custody: { all: ["coordinator", "assistant"], own: ["mixer"] },
  remind: { all: ["coordinator", "mixer", "assistant"], own: [] },
  journal: { all: ALL, own: ["mixer"] },
  walls: { all: ALL, own: [] },
  service: { all: ["coordinator", "assistant"], own: ["mixer"] },
  shootDays: { all: ALL, own: ["mixer"] },
  people: { all: ALL, own: [] },
  import: { all: ALL, own: [] },
  export: { all: ["coordinator", "mixer", "assistant", "supervisor"], own: [] },
  tokens: { all: ["coordinator", "mixer", "assistant", "supervisor"], own: [] },
  accounts: { all: ALL, own: [] },
};

/** Whether this session may do `verb`, for a unit where the verb concerns one. */
export function may(session, verb, unitId) {
  const { role, unit_ids: own } = session.account;
  const right = RIGHTS[verb];
  if (right.all.includes(role)) return true;
  return right.own.includes(role) && (unitId === undefined ? own.length > 0 : own.includes(unitId));
}

/** Whether a row of the board is this session's affair: a unit's people see to their own unit. */
export function concerns(session, row) {
  const { unit_ids: own } = session.account;
  return !own.length || own.includes(row.unit_id);
}

/** Whether a reminder is for this session: the house's people see them all. */
export function remindedOf(session, reminder) {
  return !session.account.unit_ids.length || (concerns(session, reminder) && reminder.to === "unit");
}

/** The units that this session may ask for: their own first, all for a coordinator. */
export function unitsToAskFor(session) {
  return session.units.filter((unit) => may(session, "book", unit.id));
}

/** The unit whose day numbers this session reads: its own, else the first. */
export function homeUnit(session) {
  return session.units.find((unit) => session.account.unit_ids.includes(unit.id)) ?? session.units[0];
}
