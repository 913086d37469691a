"""What reminders are derived from: what is recorded, and how long ahead a pool is told."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from zoneinfo import ZoneInfo

from crossload.domain.custody import Custody, OutOfService
from crossload.domain.kit import KitType
from crossload.domain.wakefulness import Awake
from crossload.domain.window import Id, Instant

AHEAD_S = 2 * 3600
"""A return is said ahead: a starting value of our own, no published source."""
LATE_S = 3600
"""Grace before kit is called late: a starting value of our own, no published source."""
ESCALATE_S = 4 * 3600
"""After so long the house is told as well: a starting value of our own, no published source."""
PREPARE_S = 18 * 3600
"""Kit is collected the afternoon before: common practice, no published source."""
SERVICE_S = 24 * 3600
"""Kit is tested within one working day: common practice, no published source."""
PREPARE_LEAST_S = 1800
"""Setting out takes half an hour at least: a starting value of our own, no published source."""
CHARGE_S = 4 * 3600
"""A charge is begun so long before the next call: a starting value of our own, no source."""


@dataclass(frozen=True, slots=True)
class Timing:
    """What a pool may set, in seconds."""

    ahead_s: int = AHEAD_S
    late_s: int = LATE_S
    escalate_s: int = ESCALATE_S
    prepare_s: int = PREPARE_S
    prepare_least_s: int = PREPARE_LEAST_S
    service_s: int = SERVICE_S
    charge_s: int = CHARGE_S

    def __post_init__(self) -> None:
        if min(getattr(self, each.name) for each in fields(self)) < 0:
            raise ValueError("the times of reminders are not negative")
        if self.late_s > self.escalate_s:
            raise ValueError(
                "kit is called late before the house is told: give a longer escalate_s"
            )


TIMING = Timing()


@dataclass(frozen=True, slots=True)
class UnitTimes:
    """When a unit is awake, and its calls in order: kit on charge is wanted by the next."""

    awake: Awake
    calls: Sequence[Instant] = ()


@dataclass(frozen=True, slots=True)
class Starting:
    """A confirmed booking with kit still to be handed out, quantities by kit type.

    `prep_s` is the longest that any of it takes to prepare. `since` is when it came to lack what a
    piece that came back unfit leaves open.
    """

    booking: Id
    unit: Id
    start: Instant
    kit: Mapping[Id, int]
    prep_s: int = 0
    since: Instant = 0


@dataclass(frozen=True, slots=True)
class Level:
    """How much of a consumable is left, and the stored instant at which it fell below its level.

    Not the instant of the last change: what goes out below the level is no news.
    """

    kit_type: Id
    left: int
    fell_at: Instant


@dataclass(frozen=True, slots=True)
class Facts:
    """What reminders are derived from.

    `custodies` are those still out, and those that came back on the days whose charging still
    matters. `services` are windows that have not been ended. `tags` are by item; `kit` has every
    kit type that the others name.
    """

    zone: ZoneInfo
    house: Awake
    kit: Mapping[Id, KitType]
    units: Mapping[Id, UnitTimes] = field(default_factory=dict)
    custodies: Sequence[Custody] = ()
    starting: Sequence[Starting] = ()
    services: Sequence[OutOfService] = ()
    levels: Sequence[Level] = ()
    tags: Mapping[Id, str] = field(default_factory=dict)
