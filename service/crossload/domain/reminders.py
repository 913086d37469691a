"""Reminders, derived from what is recorded: what is due, when to tell it, and whom.

A reminder's key is made from what it is about: kind, subject, cause and stage. The cause is a
stored instant or a local date, never the computed due, so the key stays while quiet hours, settings
or the clocks change. Nothing here reads a clock: what falls due later is derived with what is due.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from crossload.domain.custody import Custody, OutOfService
from crossload.domain.instants import format_instant
from crossload.domain.kit import Tracking
from crossload.domain.reminder_facts import TIMING, Facts, Level, Starting, Timing, UnitTimes
from crossload.domain.wakefulness import Awake, shift_to_awake
from crossload.domain.window import FOREVER, Id, Instant
from crossload.domain.zones import local_day


class Kind(StrEnum):
    RETURN_DUE = "return_due"
    CHARGE = "charge"
    PREPARE = "prepare"
    SERVICE_ENDING = "service_ending"
    REORDER = "reorder"


class Stage(StrEnum):
    """How far a reminder has come; in this order for one cause."""

    AHEAD = "ahead"
    DUE = "due"
    LATE = "late"
    ESCALATED = "escalated"


class Severity(StrEnum):
    INFO = "info"
    SOON = "soon"
    LATE = "late"


class To(StrEnum):
    HOUSE = "house"
    UNIT = "unit"


STAGES = tuple(Stage)

__all__ = [
    "STAGES",
    "TIMING",
    "Facts",
    "Key",
    "Kind",
    "Level",
    "Reminder",
    "Severity",
    "Stage",
    "Starting",
    "Timing",
    "To",
    "UnitTimes",
    "derive",
    "next_due",
    "overtaken",
]


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """What makes a reminder the same one; `str` of it is stored and sent as its message id."""

    kind: Kind
    subject: str
    cause: str
    stage: Stage

    def __str__(self) -> str:
        return f"{self.kind}/{self.subject}/{self.cause}/{self.stage}"

    @property
    def without_stage(self) -> tuple[Kind, str, str]:
        """What the stages of one cause have in common."""
        return self.kind, self.subject, self.cause


@dataclass(frozen=True, slots=True)
class Reminder:
    """One thing to tell. `at` is the instant it is about, `due_at` when to tell it, awake.

    `unit` is the unit it concerns; `to` says whether that unit's assistant or the house is told.
    `kit` is quantities by kit type, in order of kit type.
    """

    key: Key
    due_at: Instant
    severity: Severity
    to: To
    at: Instant
    unit: Id | None = None
    booking: Id | None = None
    kit: tuple[tuple[Id, int], ...] = ()
    tags: tuple[str, ...] = ()


def derive(facts: Facts, horizon: Instant, timing: Timing = TIMING) -> list[Reminder]:
    """All that applies and is to be told at `horizon` or before, in order of `due_at`, each once.

    Also what was due long ago: a scheduler that was down tells it then, once by its key.
    """
    sources: tuple[Callable[[Facts, Timing], Iterator[Reminder]], ...] = (
        _returns,
        _charging,
        _preparing,
        _services,
        _reorders,
    )
    found = (reminder for source in sources for reminder in source(facts, timing))
    return sorted(
        (reminder for reminder in found if reminder.due_at <= horizon),
        key=lambda reminder: (reminder.due_at, STAGES.index(reminder.key.stage), reminder.key),
    )


def next_due(reminders: Iterable[Reminder], now: Instant) -> Instant | None:
    """When the next of them falls due after `now`; None when none does."""
    return min((each.due_at for each in reminders if each.due_at > now), default=None)


def overtaken(reminders: Iterable[Reminder], now: Instant) -> set[Key]:
    """Keys whose cause has a later stage due by `now`: a late scheduler tells only that one."""
    due = [reminder.key for reminder in reminders if reminder.due_at <= now]
    furthest: dict[tuple[Kind, str, str], int] = defaultdict(int)
    for key in due:
        cause = key.without_stage
        furthest[cause] = max(furthest[cause], STAGES.index(key.stage))
    return {key for key in due if STAGES.index(key.stage) < furthest[key.without_stage]}


def _returns(facts: Facts, timing: Timing) -> Iterator[Reminder]:
    """Kit to come back, by holder unit, booking and the instant it is due or promised for.

    What is with a listener or with costume goes to the unit that holds it, as all of its kit does.
    """
    groups: dict[tuple[str, Instant], list[Custody]] = defaultdict(list)
    for custody in facts.custodies:
        if custody.back_at is None and _comes_back(facts, custody) and _due(custody) < FOREVER:
            booking = f":booking:{custody.booking}" if custody.booking else ""
            subject = f"unit:{custody.unit}{booking}"
            groups[subject, _due(custody)].append(custody)
    steps = (
        (Stage.AHEAD, -timing.ahead_s, Severity.INFO, To.UNIT),
        (Stage.DUE, 0, Severity.SOON, To.UNIT),
        (Stage.LATE, timing.late_s, Severity.LATE, To.UNIT),
        (Stage.ESCALATED, timing.escalate_s, Severity.LATE, To.HOUSE),
    )
    for (subject, due), group in groups.items():
        first = group[0]
        for stage, offset_s, severity, to in steps:
            if stage is Stage.AHEAD and all(c.out_at > due + offset_s for c in group):
                continue  # it went out when there was no more ahead to speak of
            deadline = due - 1 if stage is Stage.AHEAD else None
            yield Reminder(
                Key(Kind.RETURN_DUE, subject, _stored(due), stage),
                shift_to_awake(due + offset_s, deadline, _awake(facts, to, first.unit)),
                severity,
                to,
                at=due,
                unit=first.unit,
                booking=first.booking,
                kit=_quantities((c.kit_type, c.quantity) for c in group),
                tags=_tags(facts, group),
            )


def _charging(facts: Facts, timing: Timing) -> Iterator[Reminder]:
    """Rechargeable kit by unit and local day of return, to be put on charge as soon as it is back.

    In time for the unit's next call, if need be before its night's rest.
    """
    groups: dict[tuple[Id, date], list[Custody]] = defaultdict(list)
    for custody in facts.custodies:
        if facts.kit[custody.kit_type].rechargeable and _returns_at(custody) < FOREVER:
            groups[custody.unit, local_day(_returns_at(custody), facts.zone)].append(custody)
    for (unit, day), group in groups.items():
        back = min(map(_returns_at, group))
        calls = facts.units[unit].calls if unit in facts.units else ()
        call = min((call for call in calls if call > back), default=None)
        deadline = None if call is None else max(back, call - timing.charge_s)
        yield Reminder(
            Key(Kind.CHARGE, f"unit:{unit}", day.isoformat(), Stage.DUE),
            shift_to_awake(back, deadline, _awake(facts, To.UNIT, unit)),
            Severity.SOON,
            To.UNIT,
            at=back,
            unit=unit,
            kit=_quantities((each.kit_type, each.quantity) for each in group),
            tags=_tags(facts, group),
        )


def _preparing(facts: Facts, timing: Timing) -> Iterator[Reminder]:
    """Bookings that start: the house prepares them while it is open, before they start."""
    for booking in facts.starting:
        if not any(booking.kit.values()):
            continue
        deadline = booking.start - max(booking.prep_s, timing.prepare_least_s)
        due = min(deadline, booking.start - timing.prepare_s)
        yield Reminder(
            Key(Kind.PREPARE, f"booking:{booking.booking}", _stored(booking.start), Stage.DUE),
            _when_to_prepare(due, deadline, booking.since, facts.house),
            Severity.SOON,
            To.HOUSE,
            at=booking.start,
            unit=booking.unit,
            booking=booking.booking,
            kit=_quantities(booking.kit.items()),
        )


def _when_to_prepare(due: Instant, deadline: Instant, since: Instant, awake: Awake) -> Instant:
    """What came to be lacking when it was due already is told as soon as somebody is awake."""
    if since > due:
        return shift_to_awake(since, deadline if since < deadline else None, awake)
    return shift_to_awake(due, deadline, awake)


def _services(facts: Facts, timing: Timing) -> Iterator[Reminder]:
    """Out-of-service windows that end: is the kit fit, or does the window last longer?"""
    for service in facts.services:
        if service.end_s >= FOREVER:
            continue
        due = max(service.start_s, service.end_s - timing.service_s)
        yield Reminder(
            Key(
                Kind.SERVICE_ENDING,
                f"out_of_service:{service.id}",
                _stored(service.end_s),
                Stage.DUE,
            ),
            shift_to_awake(due, service.end_s, facts.house),
            Severity.INFO,
            To.HOUSE,
            at=service.end_s,
            kit=((service.kit_type, service.quantity),),
            tags=_tags(facts, [service]),
        )


def _reorders(facts: Facts, timing: Timing) -> Iterator[Reminder]:
    """Consumables of which less is left than their reorder level; `kit` says how much is left."""
    for level in facts.levels:
        reorder_level = facts.kit[level.kit_type].reorder_level
        if reorder_level is None or level.left >= reorder_level:
            continue
        yield Reminder(
            Key(Kind.REORDER, f"kit_type:{level.kit_type}", _stored(level.fell_at), Stage.DUE),
            shift_to_awake(level.fell_at, None, facts.house),
            Severity.INFO,
            To.HOUSE,
            at=level.fell_at,
            kit=((level.kit_type, level.left),),
        )


def _awake(facts: Facts, to: To, unit: Id) -> Awake:
    """Whose quiet hours count; a unit of which nothing is known has the house's."""
    return facts.units[unit].awake if to is To.UNIT and unit in facts.units else facts.house


def _comes_back(facts: Facts, custody: Custody) -> bool:
    return facts.kit[custody.kit_type].tracking is not Tracking.CONSUMABLE


def _due(custody: Custody) -> Instant:
    """When it is to come back, by what is stored: as booked, or as promised where that is later."""
    return max(custody.due_at, custody.promised_at or custody.due_at)


def _returns_at(custody: Custody) -> Instant:
    return _due(custody) if custody.back_at is None else custody.back_at


def _stored(instant: Instant) -> str:
    return format_instant(instant, None)


def _quantities(kit: Iterable[tuple[Id, int]]) -> tuple[tuple[Id, int], ...]:
    sums: dict[Id, int] = defaultdict(int)
    for kit_type, quantity in kit:
        sums[kit_type] += quantity
    return tuple(sorted((kit_type, quantity) for kit_type, quantity in sums.items() if quantity))


def _tags(facts: Facts, group: Iterable[Custody | OutOfService]) -> tuple[str, ...]:
    items = {each.item for each in group}
    return tuple(sorted(facts.tags[item] for item in items if item and item in facts.tags))
