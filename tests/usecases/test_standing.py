"""How a booking stands: what of it is out, due, overdue, back and missing at every moment."""

import pytest

from crossload.domain.booking import BookingState
from crossload.domain.custody import Move
from crossload.domain.kit import Condition
from crossload.usecases import bookings, standing
from crossload.usecases.granting import Granted
from crossload.usecases.items import ITEMS
from worlds import HOUR, NOW, an_ask, book, send

PENCIL = BookingState.PENCILLED


def stands(world, booking):
    (line,) = standing.standing(world.coordinator, booking.id, now=world.now)["lines"]
    return {name: line[name] for name in ("out", "due", "overdue", "back", "missing") if line[name]}


@pytest.fixture(params=["counted", "pieces"])
def kit(world, request):
    return world.a_kit_type(**{"count": 6} if request.param == "counted" else {"pieces": 6})


def some(world, kit, first, last):
    """The pieces from one to another by tag, or as many by number."""
    return world.tags(kit)[first:last] or [(kit, last - first)]


def test_kit_is_out_and_due_then_overdue_then_back_or_missing(world, kit):
    ask = an_ask(world, "main", (kit, 5))
    booking = bookings.book(world.coordinator, ask, now=NOW).booking
    assert stands(world, booking) == {}
    send(world, Move.OUT, *some(world, kit, 0, 4), booking=booking.id)
    assert stands(world, booking) == {"out": 4, "due": 4}
    world.now = booking.window.end
    assert stands(world, booking) == {"out": 4, "overdue": 4}
    send(world, Move.BACK, *some(world, kit, 0, 2), booking=booking.id)
    assert stands(world, booking) == {"out": 2, "overdue": 2, "back": 2}
    lost = some(world, kit, 2, 3)
    send(world, Move.BACK, *lost, booking=booking.id, condition=Condition.LOST)
    assert stands(world, booking) == {"out": 1, "overdue": 1, "back": 2, "missing": 1}


def test_kit_that_came_back_damaged_is_back_and_not_missing(world, kit):
    booking = book(world, "main", (kit, 2))
    send(world, Move.OUT, *some(world, kit, 0, 2), booking=booking.id)
    damaged = some(world, kit, 0, 1)
    send(world, Move.BACK, *damaged, booking=booking.id, condition=Condition.DAMAGED)
    assert stands(world, booking) == {"out": 1, "due": 1, "back": 1}


def test_a_piece_that_turns_up_is_no_longer_missing(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.pieces(kit)
    booking = book(world, "main", (kit, 1))
    send(world, Move.OUT, only.tag, booking=booking.id)
    send(world, Move.BACK, only.tag, booking=booking.id, condition=Condition.LOST)
    assert stands(world, booking) == {"missing": 1}
    world.now = NOW + HOUR
    ITEMS.change(
        world.coordinator, only.id, {"condition": Condition.FIT}, version=None, now=world.now
    )
    assert stands(world, booking) == {"back": 1}


def test_missing_kit_is_not_booked_again(world, kit):
    booking = book(world, "main", (kit, 5))
    send(world, Move.OUT, *some(world, kit, 0, 5), booking=booking.id)
    lost = some(world, kit, 0, 2)
    send(world, Move.BACK, *lost, booking=booking.id, condition=Condition.LOST)
    rest = some(world, kit, 2, 5)
    send(world, Move.BACK, *rest, booking=booking.id)
    later = {"start": 8 * HOUR, "end": 9 * HOUR}
    five = bookings.book(world.coordinator, an_ask(world, "second", (kit, 5), **later), now=NOW)
    assert not isinstance(five, Granted)
    four = bookings.book(world.coordinator, an_ask(world, "second", (kit, 4), **later), now=NOW)
    assert isinstance(four, Granted)


def test_a_pencil_says_whether_it_could_be_confirmed_now_and_what_it_lacks(world):
    kit = world.a_kit_type(count=4)
    first = bookings.book(
        world.coordinator, an_ask(world, "second", (kit, 3), state=PENCIL), now=NOW
    ).booking
    behind = bookings.book(
        world.coordinator, an_ask(world, "main", (kit, 3), state=PENCIL), now=NOW
    ).booking
    stand = standing.standing(world.coordinator, first.id, now=NOW)
    assert (stand["can_confirm"], stand["short"]) == (True, [])
    stand = standing.standing(world.coordinator, behind.id, now=NOW)
    assert stand["can_confirm"] is False
    ((why, holders),) = [(one["why"], one["holders"]) for one in stand["short"]]
    assert (why, [one["booking_id"] for one in holders]) == ("pencil", [first.id])
    answer = bookings.confirm(world.coordinator, first.id, version=None, now=NOW)
    assert isinstance(answer, Granted)
    stand = standing.standing(world.coordinator, first.id, now=NOW)
    assert (stand["can_confirm"], stand["short"]) == (None, [])
