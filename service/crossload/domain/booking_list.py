"""Bookings as the demo's table has them: shoot days by number, local times, kit by name."""

from dataclasses import dataclass, field
from datetime import time

from crossload.domain.booking import BookingState
from crossload.domain.row_problem import RowProblem


@dataclass(frozen=True, slots=True)
class DayTime:
    """A wall time on a unit's shoot day of that number, or on the day after (`next_day`)."""

    number: int
    at: time
    next_day: bool = False


@dataclass(frozen=True, slots=True)
class ListedLine:
    """So many of a kit type, or the one piece with `tag`; and what of it went out and came back.

    `out` is when it went out, None while it has not; `back` when all of it came back. `pieces` are
    the tags that went out on a line of serial kit. `person` is who has it.
    """

    kit_type: str
    quantity: int
    tag: str = ""
    out: DayTime | None = None
    back: DayTime | None = None
    pieces: tuple[str, ...] = ()
    person: str = ""
    row: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class ListedBooking:
    """A unit's claim. `from_time` None is the call of that day, `to_time` None its wrap.

    A `to_time` on the same number at or before `from_time` is on the next day; `to_next_day` says
    so outright where the numbers differ.
    """

    reference: str
    unit: str
    state: BookingState
    from_number: int
    to_number: int
    from_time: time | None = None
    to_time: time | None = None
    to_next_day: bool = False
    purpose: str = ""
    who_pays: str = ""
    order_number: str = ""
    pencil_expires: DayTime | None = None
    lines: tuple[ListedLine, ...] = ()
    row: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class ListedBookings:
    """What a file holds, in the order in which it was asked for."""

    bookings: tuple[ListedBooking, ...]
    problems: tuple[RowProblem, ...]
