"""Bookings and their lines as values, and the states they pass through."""

from dataclasses import dataclass
from enum import StrEnum

from crossload.domain.window import Id, Instant, Window


class BookingState(StrEnum):
    PENCILLED = "pencilled"
    CONFIRMED = "confirmed"
    RELEASED = "released"
    UNDONE = "undone"
    LAPSED = "lapsed"


LIVE = (BookingState.PENCILLED, BookingState.CONFIRMED)
"""The states in which a booking claims kit."""

NEXT: dict[BookingState, tuple[BookingState, ...]] = {
    BookingState.PENCILLED: (
        BookingState.CONFIRMED,
        BookingState.RELEASED,
        BookingState.UNDONE,
        BookingState.LAPSED,
    ),
    BookingState.CONFIRMED: (BookingState.RELEASED, BookingState.UNDONE),
    BookingState.RELEASED: (),
    BookingState.UNDONE: (),
    BookingState.LAPSED: (),
}
"""Which state may follow which; a state with none is an end."""

UNDO_S = 600
"""A yes can be undone for ten minutes, until somebody builds on it."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A line as it is asked for: so many of a kit type, or one named item of it.

    `line` is the line that it changes, `pieces` those that already serve that line, `gone` how
    many of its quantity are used up already. `straight_from` is another unit's line, from which the
    kit comes without going through the house.
    """

    kit_type: Id
    quantity: int
    item: Id | None = None
    prep_s: int | None = None
    check_in_s: int | None = None
    line: Id | None = None
    pieces: tuple[Id, ...] = ()
    gone: int = 0
    straight_from: Id | None = None


@dataclass(frozen=True, slots=True)
class Ask:
    """A booking as it is asked for. `window` is what the unit works in, without prep and check-in."""

    unit: Id
    window: Window
    lines: tuple[Wanted, ...]
    state: BookingState = BookingState.CONFIRMED
    accept_part: bool = False
    override_pencils: bool = False
    purpose: str = ""
    who_pays: str = ""
    order_number: str = ""
    pencil_expires_at: Instant | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a booking.

    `window` is the booked span of this line, `occupied` the same with prep and check-in, as
    counted when it was last judged. `gone` is how many of a consumable have already gone out. A line
    that takes over from another (`straight_from`) occupies from where that one's window ends.
    """

    id: Id
    booking: Id
    kit_type: Id
    quantity: int
    window: Window
    occupied: Window
    state: BookingState
    item: Id | None = None
    pieces: tuple[Id, ...] = ()
    prep_s: int | None = None
    check_in_s: int | None = None
    released: int = 0
    gone: int = 0
    rank: int = 0
    straight_from: Id | None = None


@dataclass(frozen=True, slots=True)
class Handing:
    """Confirmed kit that goes straight from one unit's line to another's, `at` the giver's end."""

    giver: Id
    from_booking: Id
    from_unit: Id
    at: Instant
    taker: Id
    booking: Id
    unit: Id
    kit_type: Id
    quantity: int


@dataclass(frozen=True, slots=True)
class Booking:
    """A unit's claim: a window and lines, pencilled or confirmed."""

    id: Id
    unit: Id
    state: BookingState
    window: Window
    purpose: str
    who_pays: str
    order_number: str
    pencil_expires_at: Instant | None
    created_at: Instant
    created_by: Id | None
    undo_until: Instant | None
    version: int
    lines: tuple[Line, ...] = ()
