"""Reminders that were told: the states they pass through, and what is to be told, ended, shown."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from crossload.domain.reminders import Kind, Reminder, Severity, Stage, To, overtaken
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
        """Whether somebody still has to do something."""
        return self.state in OPEN


@dataclass(frozen=True, slots=True)
class Plan:
    """What the state of things makes of what was told."""

    tell: tuple[Reminder, ...]
    again: tuple[tuple[ToldReminder, Reminder], ...]
    end: tuple[ToldReminder, ...]
    refresh: tuple[tuple[ToldReminder, About], ...]

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to write."""
        return not (self.tell or self.again or self.end or self.refresh)


def plan(derived: Sequence[Reminder], told: Mapping[str, ToldReminder], now: Instant) -> Plan:
    """What to tell, to end and to say anew, so that what was told is what applies.

    `derived` is all that applies, what is due later too; `told` by key at least what is open and
    what was told of what is due. A stage that a later one has overtaken no longer applies.
    """
    passed = overtaken(derived, now)
    applies = {str(one.key): one for one in derived if one.key not in passed}
    due = {key: one for key, one in applies.items() if one.due_at <= now}
    still = [(one, applies.get(one.key)) for one in told.values() if one.is_open]
    abouts = [(one, About.of(derived_one)) for one, derived_one in still if derived_one]
    return Plan(
        tell=tuple(one for key, one in due.items() if key not in told),
        again=tuple(
            (told[key], one)
            for key, one in due.items()
            if key in told and told[key].state is ReminderState.ENDED
        ),
        end=tuple(one for one, derived_one in still if derived_one is None),
        refresh=tuple((one, about) for one, about in abouts if one.about != about),
    )


def coming(
    derived: Sequence[Reminder],
    told: Mapping[str, ToldReminder],
    now: Instant,
    horizon: Instant,
) -> list[Reminder]:
    """What is to be told by `horizon`, one stage of each cause: the first that is to come.

    Of what is due now the furthest stage, if it is not told yet: nobody is told ahead that kit will
    be late. `told` holds by key what was told of these.
    """
    passed = overtaken(derived, now)
    first: dict[tuple[Kind, str, str], Reminder] = {}
    for one in derived:
        if one.key not in passed:
            first.setdefault(one.key.without_stage, one)
    return [
        one
        for one in first.values()
        if one.due_at <= horizon
        and (str(one.key) not in told or told[str(one.key)].state is ReminderState.ENDED)
    ]
