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
};

/** Whether this session may do `verb`, for a unit where the verb concerns one. */
export function may(session, verb, unitId) {
  const { role, unit_ids: own } = session.account;
  const right = RIGHTS[verb];
  if (right.all.includes(role)) return true;
  return right.own.includes(role) && (unitId === undefined ? own.length > 0 : own.includes(unitId));
}

/** The units that this session may ask for: their own first, all for a coordinator. */
export function unitsToAskFor(session) {
  return session.units.filter((unit) => may(session, "book", unit.id));
}

/** The unit whose day numbers this session reads: its own, else the first. */
export function homeUnit(session) {
  return session.units.find((unit) => session.account.unit_ids.includes(unit.id)) ?? session.units[0];
}
