"""Builders for tests of kit that goes straight from one unit to another."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from crossload.domain.booking import Ask, Booking, Wanted
from crossload.domain.window import Id, Window
from crossload.usecases import bookings, own_pool
from crossload.usecases.bookings import Changes
from crossload.usecases.granting import Granted, Refused
from worlds import HOUR, NOW, World, an_ask, answer_to, granted


def at_once(world: World) -> None:
    """No swap check, and a fourth unit without a way: a hand-over takes no time."""
    world.a_unit("far", base="Fellgate Barn")
    own_pool.change_pool(world.coordinator, {"swap_check_s": 0}, version=None, now=NOW)


def taking(
    world: World,
    giver: Booking,
    quantity: int,
    start: int,
    end: int,
    unit: str = "far",
    **more: Any,
) -> Ask:
    """An ask that takes so many over from the first line of a booking."""
    (line, *_) = giver.lines
    ask = an_ask(world, unit, start=start, end=end, **more)
    return replace(ask, lines=(Wanted(line.kit_type, quantity, straight_from=line.id),))


def takes(world: World, *args: Any, **more: Any) -> Booking:
    """`taking` that must be granted."""
    return granted(answer_to(world, taking(world, *args, **more)))


def change(world: World, booking: Booking, **changes: Any) -> Granted | Refused:
    return bookings.change(
        world.coordinator, booking.id, Changes(**changes), version=None, now=world.now
    )


def release(world: World, booking: Booking, **more: Any) -> Booking:
    return bookings.release(world.coordinator, booking.id, version=None, now=world.now, **more)


def hours(start: float, end: float) -> Window:
    """From so many hours after `NOW` to so many."""
    return Window(NOW + int(start * HOUR), NOW + int(end * HOUR))


def tie(world: World, booking: Booking) -> Sequence[Id | None]:
    """For each line of a booking as it is now, the line that it takes over from."""
    return [line.straight_from for line in world.booking(booking.id).lines]
