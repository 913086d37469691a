"""The queue of pencils: who stands where in it, and what moves somebody back."""

import pytest

from crossload.domain.booking import BookingState, Wanted
from crossload.domain.people import Role
from crossload.domain.shoot import UnitKind
from crossload.domain.window import Window
from crossload.usecases import bookings, standing
from crossload.usecases.actor import Actor
from crossload.usecases.bookings import Changes
from crossload.usecases.errors import Forbidden
from crossload.usecases.granting import Granted, Refused
from crossload.usecases.judging import Answer
from worlds import DAY, HOUR, NOW, an_ask, book, granted

PENCIL = BookingState.PENCILLED


@pytest.fixture
def world(world):
    world.a_unit("pick-ups", UnitKind.PICK_UPS)
    return world


def pencil(world, *args, **more):
    return book(world, *args, state=PENCIL, **more)


def confirmed_past_pencils(world, line):
    book(world, "main", line, override_pencils=True)


def place(world, booking):
    return standing.standing(world.coordinator, booking.id, now=world.now)["place"]


def changed(world, booking, **changes):
    return granted(
        bookings.change(
            world.coordinator, booking.id, Changes(**changes), version=None, now=world.now
        )
    )


def with_quantity(booking, quantity):
    (line,) = booking.lines
    return (Wanted(line.kit_type, quantity, line=line.id),)


def test_places_are_in_the_order_of_pencilling(world):
    kit = world.a_kit_type(count=6)
    first, second, third = (
        pencil(world, unit, (kit, 6)) for unit in ("main", "second", "splinter")
    )
    assert [place(world, one) for one in (first, second, third)] == [1, 2, 3]


def test_a_pencil_that_fits_beside_the_earlier_ones_has_the_first_place(world):
    kit = world.a_kit_type(count=6)
    pencil(world, "main", (kit, 3))
    pencil(world, "splinter", (kit, 6), start=6 * HOUR, end=9 * HOUR)
    assert place(world, pencil(world, "second", (kit, 3))) == 1


def test_a_place_counts_only_the_pencils_that_must_go(world):
    """Of two pencils for three each the first alone has to fall for another three."""
    kit = world.a_kit_type(count=6)
    pencil(world, "main", (kit, 3))
    pencil(world, "splinter", (kit, 3))
    assert place(world, pencil(world, "second", (kit, 3))) == 2
    assert place(world, pencil(world, "pick-ups", (kit, 6))) == 4


def test_a_pencil_moves_up_when_one_before_it_goes_or_lapses(world):
    kit = world.a_kit_type(count=6)
    goes = pencil(world, "main", (kit, 6))
    pencil(world, "splinter", (kit, 6), pencil_expires_at=NOW + HOUR, start=2 * HOUR)
    last = pencil(world, "second", (kit, 6))
    assert place(world, last) == 3
    bookings.release(world.coordinator, goes.id, version=None, now=NOW)
    assert place(world, last) == 2
    world.now = NOW + HOUR
    pencil(world, "pick-ups", (world.a_kit_type(count=1), 1))  # any write settles what fell due
    assert place(world, last) == 1


def test_a_confirmed_booking_has_no_place(world):
    kit = world.a_kit_type(count=6)
    booking = pencil(world, "main", (kit, 6))
    bookings.confirm(world.coordinator, booking.id, version=None, now=NOW)
    assert place(world, booking) is None


@pytest.mark.parametrize(
    ("change", "places"),
    [
        pytest.param(lambda b: {"lines": with_quantity(b, 4)}, (2, 1), id="enlarging"),
        pytest.param(
            lambda b: {"window": Window(b.window.start, b.window.end + HOUR)}, (2, 1), id="lengthening"
        ),
        pytest.param(
            lambda b: {"window": Window(b.window.start + HOUR, b.window.end + HOUR)},
            (2, 1),
            id="moving",
        ),
        pytest.param(lambda b: {"lines": with_quantity(b, 2)}, (1, 2), id="shrinking"),
        pytest.param(
            lambda b: {"window": Window(b.window.start + HOUR, b.window.end)}, (1, 2), id="shortening"
        ),
        pytest.param(lambda b: {"purpose": "night"}, (1, 2), id="another word"),
    ],
)  # fmt: skip
def test_enlarging_or_moving_queues_a_pencil_anew_and_shrinking_does_not(world, change, places):
    kit = world.a_kit_type(count=5)
    earlier = pencil(world, "main", (kit, 3))
    later = pencil(world, "second", (kit, 4))
    changed(world, earlier, **change(earlier))
    assert (place(world, earlier), place(world, later)) == places


def test_a_pencil_holds_no_kit_against_a_confirmed_booking_of_its_own_unit(world):
    kit = world.a_kit_type(count=6)
    pencil(world, "second", (kit, 6))
    answer = bookings.book(world.coordinator, an_ask(world, "second", (kit, 6)), now=NOW)
    assert isinstance(answer, Granted)


def test_a_deadline_is_an_instant_to_the_second(world):
    kit = world.a_kit_type(count=6)
    deadline = NOW + DAY
    pencil(world, "splinter", (kit, 6), pencil_expires_at=deadline, start=DAY, end=2 * DAY)

    def asked():
        ask = an_ask(world, "second", (kit, 1), start=HOUR, end=2 * HOUR)
        return bookings.book(world.coordinator, ask, now=world.now)

    world.now = deadline - 1
    early = asked()
    assert isinstance(early, Refused)
    assert early.judged.answer is Answer.BEHIND_PENCIL
    world.now = deadline
    assert isinstance(asked(), Granted)


def test_a_pencil_gets_frequencies_that_no_earlier_pencil_has(world):
    kit = world.a_kit_type(pieces=4, tracking="frequency", category="frequency")
    first = pencil(world, "main", (kit, 2))
    second = pencil(world, "second", (kit, 2))
    given = [piece for booking in (first, second) for piece in booking.lines[0].pieces]
    assert len(set(given)) == 4


def test_a_pencil_becomes_a_confirmed_booking_as_it_is_changed_to_what_is_free(world):
    long, short = world.a_kit_type(count=2), world.a_kit_type(count=2)
    waiting = pencil(world, "second", (long, 2))
    confirmed_past_pencils(world, (long, 1))
    in_its_place = (Wanted(long.id, 1, line=waiting.lines[0].id), Wanted(short.id, 1))
    made = changed(world, waiting, lines=in_its_place, confirmed=True)
    assert (made.id, made.state) == (waiting.id, BookingState.CONFIRMED)
    live = [line for line in made.lines if line.state is BookingState.CONFIRMED]
    assert [(line.kit_type, line.quantity) for line in live] == [(long.id, 1), (short.id, 1)]
    assert len(live) == len(made.lines)


def test_a_pencil_that_does_not_fit_as_changed_stays_as_it_was(world):
    kit = world.a_kit_type(count=2)
    waiting = pencil(world, "second", (kit, 2))
    confirmed_past_pencils(world, (kit, 2))
    changes = Changes(lines=with_quantity(waiting, 1), confirmed=True)
    answer = bookings.change(world.coordinator, waiting.id, changes, version=None, now=world.now)
    assert isinstance(answer, Refused)
    assert world.booking(waiting.id) == waiting


def test_who_may_not_confirm_may_not_confirm_by_a_change(world):
    kit = world.a_kit_type(count=2)
    waiting = pencil(world, "second", (kit, 2))
    assistant = Actor(world.pool, Role.ASSISTANT, units=(world.units["second"],))
    with pytest.raises(Forbidden):
        bookings.change(assistant, waiting.id, Changes(confirmed=True), version=None, now=world.now)
