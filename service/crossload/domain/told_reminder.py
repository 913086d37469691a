"""A reminder that was told: what stands of it, and the states it passes through."""

from dataclasses import dataclass
from enum import StrEnum

from crossload.domain.reminders import Kind, Reminder, Severity, Stage, To
from crossload.domain.window import Id, Instant


class ReminderState(StrEnum):
    DUE = "due"
    SEEN = "seen"
    DONE = "done"
    ENDED = "ended"


OPEN = (ReminderState.DUE, ReminderState.SEEN)
"""The states in which somebody still has to do something."""

NEXT: dict[ReminderState, tuple[ReminderState, ...]] = {
    ReminderState.DUE: (ReminderState.SEEN, ReminderState.DONE, ReminderState.ENDED),
    ReminderState.SEEN: (ReminderState.DONE, ReminderState.ENDED),
    ReminderState.DONE: (),
    ReminderState.ENDED: (ReminderState.DUE,),
}
"""Which state may follow which: what ended is due again when it applies again, with its old key."""


@dataclass(frozen=True, slots=True)
class About:
    """What a reminder speaks of. It may change while the reminder is open: some came back."""

    at: Instant
    kit: tuple[tuple[Id, int], ...] = ()
    tags: tuple[str, ...] = ()

    @classmethod
    def of(cls, reminder: Reminder) -> "About":
        return cls(reminder.at, reminder.kit, reminder.tags)

    @property
    def kit_type(self) -> Id | None:
        """The kit type, where it is about one alone."""
        return self.kit[0][0] if len(self.kit) == 1 else None


@dataclass(frozen=True, slots=True)
class ToldReminder:
    """A reminder as it is kept; `key` is the text of the key that it was told under."""

    id: Id
    key: str
    kind: Kind
    stage: Stage
    severity: Severity
    to: To
    unit: Id | None
    booking: Id | None
    due_at: Instant
    about: About
    state: ReminderState
    told_at: Instant
    seen_at: Instant | None = None
    seen_by: Id | None = None
    done_at: Instant | None = None
    done_by: Id | None = None
    ended_at: Instant | None = None

    @property
    def is_open(self) -> bool:
        return self.state in OPEN
