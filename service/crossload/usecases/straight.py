"""Lines that take kit straight over from another unit: from when on, and for how many."""

from dataclasses import dataclass
from datetime import datetime

from crossload.domain.booking import LIVE, Ask, Booking, Wanted
from crossload.domain.holdings import HeldLine
from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Conflict
from crossload.usecases.recorded import World, is_confirmed

BY_HAND = (Tracking.SERIAL, Tracking.COUNT)
"""What one unit can put into the hands of another, and has back after."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a wanted line stands in time, and the line that it takes over from, if from one."""

    occupied: Window
    straight_from: Id | None = None

    def prep_s(self, ask: Ask, wanted: Wanted) -> int | None:
        """What the line keeps as its prep, where that is not its kit type's."""
        if wanted.straight_from is None:
            return wanted.prep_s
        return None if self.straight_from is None else ask.window.start - self.occupied.start


def gap_s(clockwork: Clockwork, unit: Id) -> int:
    """What lies between one unit's window and that of the unit that takes over: way and swap check."""
    taker = clockwork.stores.units.get(unit)
    return (taker.way_s if taker else 0) + clockwork.stores.header.swap_check_s


def left_of(world: World, giver: HeldLine, *, without: Id | None = None) -> int:
    """How many of a line no confirmed line takes over, beside one booking."""
    takers = (
        held.quantity
        for held in world.recorded[giver.kit_type].lines
        if held.straight_from == giver.line and is_confirmed(held) and held.booking != without
    )
    return giver.quantity - sum(takers)


def givers(
    world: World, ask: Ask, kit_type: Id, *, without: Id | None = None
) -> list[tuple[HeldLine, int]]:
    """The confirmed lines of other units that end early enough to hand kit on to an ask, with how many."""
    if world.kit[kit_type].tracking not in BY_HAND:
        return []
    by = ask.window.start - gap_s(world.clockwork, ask.unit)
    found = (
        (held, left_of(world, held, without=without))
        for held in world.recorded[kit_type].lines
        if is_confirmed(held) and held.unit != ask.unit and held.end <= by
    )
    return [(held, left) for held, left in found if left > 0]


def place_of(world: World, ask: Ask, wanted: Wanted, *, without: Id | None = None) -> Place:
    """What a wanted line occupies, and from whom it takes over if it still can.

    What is handed on is held from where the giver's window ends, and no shorter than the giver's
    check-in, so that to give up the hand-over never makes a shortage.
    """
    kit = world.kit[wanted.kit_type]
    giver = _giver_of(world, ask, wanted, without)
    if giver is None:
        prep_s = None if wanted.straight_from is not None else wanted.prep_s
        return Place(world.clockwork.occupied(ask.window, kit, prep_s, wanted.check_in_s))
    prep_s = ask.window.start - giver.end
    own = world.clockwork.occupied(ask.window, kit, prep_s, wanted.check_in_s)
    return Place(Window(own.start, max(own.end, giver.occupied.end)), giver.line)


def _giver_of(world: World, ask: Ask, wanted: Wanted, without: Id | None) -> HeldLine | None:
    """The line that a wanted one takes over from; None where it comes from the house after all."""
    if wanted.straight_from is None:
        return None
    for held, left in givers(world, ask, wanted.kit_type, without=without):
        if held.line == wanted.straight_from and wanted.quantity <= left:
            return held
    return None


def must_reach(stores: Stores, booking: Booking, ask: Ask, now: Instant) -> None:
    """Conflict where a changed booking would keep kit past the time at which another unit takes it.

    A line that is dropped, or gives less than is taken over, keeps nothing: the takers have the rest
    from the house.
    """
    clockwork = Clockwork(stores, now)
    for held in _takers(stores, booking, ask):
        by = held.start - gap_s(clockwork, held.unit)
        kit = stores.kit_types.some([held.kit_type])[held.kit_type]
        giving = next(wanted for wanted in ask.lines if wanted.line == held.straight_from)
        until = clockwork.occupied(ask.window, kit, None, giving.check_in_s).end
        if ask.window.end > by or until > held.occupied.end:
            unit = stores.units.get(held.unit)
            raise Conflict(
                f"{held.quantity} of {kit.name} go straight from here to"
                f" {unit.name if unit else 'another unit'}, who need them by"
                f" {datetime.fromtimestamp(by, clockwork.zone):%Y-%m-%d %H:%M}:"
                " end no later, or have that booking changed first"
            )


def follow(stores: Stores, booking: Booking, ask: Ask) -> None:
    """Have the takers of a changed booking hold its kit from where its window ends now."""
    for held in _takers(stores, booking, ask):
        stores.bookings.change_line(
            held.line, from_s=ask.window.end, prep_s=held.start - ask.window.end
        )


def _takers(stores: Stores, booking: Booking, ask: Ask) -> list[HeldLine]:
    """The confirmed lines that take over from those lines of a booking that the ask keeps."""
    kept = {wanted.line for wanted in ask.lines}
    lines = [line.id for line in booking.lines if line.state in LIVE and line.id in kept]
    found = stores.held.straight(lines) if lines else []
    return [held for held in found if held.straight_from in lines and is_confirmed(held)]
