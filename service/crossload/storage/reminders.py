"""Reminders that were told, and what became of them."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

from crossload.domain.reminders import Kind, Reminder, Severity, Stage, To
from crossload.domain.told_reminder import OPEN, About, ReminderState, ToldReminder
from crossload.domain.window import Id, Instant
from crossload.storage import sql
from crossload.storage.ids import new_id

_COLUMNS = (
    "id", "key", "kind", "stage", "severity", "to", "unit_id", "booking_id", "due_at", "about",
    "state", "told_at", "seen_at", "seen_by_id", "done_at", "done_by_id", "ended_at",
)  # fmt: skip
_SELECT = f"SELECT {sql.names(_COLUMNS)} FROM reminder WHERE pool_id = ?"
_OPEN = sql.words(OPEN)
_TOLD = (
    "id", "pool_id", "key", "kind", "stage", "severity", "to", "unit_id", "booking_id",
    "due_at", "about", "state", "told_at",
)  # fmt: skip


class Reminders:
    def __init__(self, pool: Id):
        self.pool = pool

    def tell(self, reminders: Iterable[Reminder], now: Instant) -> dict[str, Id]:
        """Keep those whose key was never told; answers the ids of these by key."""
        lines = [self._line(reminder, now) for reminder in reminders]
        return dict(sql.insert_new("reminder", _TOLD, lines, key="pool_id, key", answer="key, id"))

    def _line(self, reminder: Reminder, now: Instant) -> list[Any]:
        key = reminder.key
        return [
            new_id(), self.pool, str(key), str(key.kind), str(key.stage), str(reminder.severity),
            str(reminder.to), reminder.unit, reminder.booking, reminder.due_at,
            _written(About.of(reminder)), str(ReminderState.DUE), now,
        ]  # fmt: skip

    def get(self, id: Id) -> ToldReminder | None:
        found = sql.row(f"{_SELECT} AND id = ?", self.pool, id)
        return _told(found) if found else None

    def open(self) -> list[ToldReminder]:
        """Those that somebody still has to do, oldest due first."""
        text = f"{_SELECT} AND state IN ({_OPEN}) ORDER BY due_at, id"
        return [_told(row) for row in sql.rows(text, self.pool)]

    def of_keys(self, keys: Iterable[str]) -> dict[str, ToldReminder]:
        """What was told under these keys, whatever became of it."""
        wanted = sorted(set(keys))
        text = f"{_SELECT} AND key IN ({sql.marks(wanted)})"
        return {told.key: told for told in map(_told, sql.rows(text, self.pool, *wanted))}

    def page(
        self,
        after: int = 0,
        limit: int = 100,
        *,
        states: Sequence[ReminderState] = (),
        since: Instant | None = None,
    ) -> list[ToldReminder]:
        """In order of telling; `since` leaves out what was due before."""
        text = f"{_SELECT} AND id > ?"
        values: list[Any] = [self.pool, after]
        if states:
            text = f"{text} AND state IN ({sql.marks(states)})"
            values += [str(state) for state in states]
        if since is not None:
            text, values = f"{text} AND due_at >= ?", [*values, since]
        found = sql.rows(f"{text} ORDER BY id LIMIT ?", *values, limit)
        return [_told(row) for row in found]

    def see(self, id: Id, account: Id | None, now: Instant) -> None:
        """Somebody knows of it."""
        self._set(id, state=str(ReminderState.SEEN), seen_at=now, seen_by_id=account)

    def do(self, id: Id, account: Id | None, now: Instant) -> None:
        """Somebody has done it."""
        self._set(id, state=str(ReminderState.DONE), done_at=now, done_by_id=account)

    def end(self, id: Id, now: Instant) -> None:
        """It no longer applies."""
        self._set(id, state=str(ReminderState.ENDED), ended_at=now)

    def tell_again(self, id: Id, reminder: Reminder, now: Instant) -> None:
        """What had ended applies again: it is due as if told for the first time."""
        nothing = dict.fromkeys(("seen_at", "seen_by_id", "done_at", "done_by_id", "ended_at"))
        state = str(ReminderState.DUE)
        self._set(id, state=state, due_at=reminder.due_at, told_at=now, **nothing)
        self.refresh(id, About.of(reminder))

    def refresh(self, id: Id, about: About) -> None:
        """It speaks of other kit than when it was told: some came back, say."""
        self._set(id, about=_written(about))

    def _set(self, id: Id, **changes: Any) -> None:
        sql.update("reminder", changes, pool_id=self.pool, id=id)


def _written(about: About) -> str:
    return sql.dumps({"at": about.at, "kit": about.kit, "tags": about.tags})


def _read(text: str) -> About:
    plain = json.loads(text)
    kit = tuple((Id(kit_type), quantity) for kit_type, quantity in plain["kit"])
    return About(plain["at"], kit, tuple(plain["tags"]))


def _told(row: Sequence[Any]) -> ToldReminder:
    id, key, kind, stage, severity, to, unit, booking, due_at, about, state, *rest = row
    return ToldReminder(
        id,
        key,
        Kind(kind),
        Stage(stage),
        Severity(severity),
        To(to),
        unit,
        booking,
        due_at,
        _read(about),
        ReminderState(state),
        *rest,
    )
