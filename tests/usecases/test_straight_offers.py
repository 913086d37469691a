"""What is offered and counted where kit can go straight from one unit to another."""

from dataclasses import replace
from datetime import date

import pytest

from crossload.domain.booking import BookingState
from crossload.usecases import availability, booked, checks
from crossload.usecases.names import Names
from crossload.usecases.options import find_options
from crossload.usecases.transaction import read
from straight_worlds import at_once, takes
from worlds import HOUR, NOW, an_ask, answer_to, book, book_in_vain, granted

PENCIL = BookingState.PENCILLED
H = HOUR


@pytest.fixture
def world(world):
    at_once(world)
    yield world
    assert checks.check(world.coordinator, now=world.now) == []


def offered(world, ask):
    judged = answer_to(world, ask).judged
    with read(world.pool) as stores:
        return [
            o for o in find_options(Names(stores), judged.ask, world.now) if o.kind == "straight"
        ]


def hour(world, kit, at, **more):
    told, _ = availability.hours(world.coordinator, kit.id, date(2026, 11, 25), now=world.now)
    one = next(h for h in told["hours"] if h["start"] == at)
    return tuple(one[n] for n in ("free", "if_pencils_fall", "booked", "pencilled"))


def test_a_pencil_that_takes_over_is_counted_as_a_pencil(world):
    kit = world.a_kit_type(count=6)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    takes(world, giver, 4, 3 * H, 6 * H, state=PENCIL)
    assert hour(world, kit, NOW + 4 * H) == (2, 6, 0, 4)


def test_a_change_that_names_no_giver_keeps_the_one_there_was(world):
    """A change that names no giver keeps the one there was."""
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    taker = takes(world, giver, 4, 3 * H, 5 * H)
    line = {
        "id": taker.lines[0].id,
        "kit_type_id": kit.id,
        "quantity": 3,
        "item_id": None,
        "prep_s": None,
        "check_in_s": None,
        "straight_from_id": None,
    }
    (kept,) = booked._of_own({taker.lines[0].id: taker.lines[0]}, [line])
    assert kept["straight_from_id"] == giver.lines[0].id


def test_a_named_piece_is_not_offered_as_any(world):
    """A named piece is not offered as any piece."""
    kit = world.a_kit_type(pieces=2, check_in_s=2 * H)
    one, two = world.pieces(kit)
    granted(answer_to(world, an_ask(world, "main", one, two, start=H, end=3 * H)))
    assert offered(world, an_ask(world, "far", one, start=3 * H, end=5 * H)) == []


def test_no_line_gives_more_than_it_asks(world):
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    book(world, "main", (kit, 1), start=H, end=3 * H)
    book(world, "second", (kit, 3), start=H, end=3 * H)
    (found,) = offered(world, an_ask(world, "far", (kit, 3), (kit, 1), start=3 * H, end=5 * H))
    assert sum(line.quantity for line in found.ask.lines) == 4


def test_what_is_checked_in_by_then_is_not_offered_straight(world):
    """What is checked in by then is fetched at the house, and not offered straight."""
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    book(world, "main", (kit, 2), start=H, end=2 * H)
    book(world, "second", (kit, 2), start=H, end=7 * H)
    (found,) = offered(world, an_ask(world, "far", (kit, 4), start=8 * H, end=9 * H))
    assert [bool(line.straight_from) for line in found.ask.lines] == [False, True]
    with read(world.pool) as stores:
        held = stores.held.straight([found.ask.lines[1].straight_from])
    assert held[0].unit == world.units["second"]


def test_who_has_most_hands_on_first(world):
    """From as few units as can be: who has most hands on first."""
    kit = world.a_kit_type(count=5, check_in_s=2 * H)
    book(world, "main", (kit, 1), start=H, end=3 * H)
    book(world, "second", (kit, 4), start=H, end=3 * H)
    (found,) = offered(world, an_ask(world, "far", (kit, 4), start=3 * H, end=5 * H))
    assert [(line.quantity, bool(line.straight_from)) for line in found.ask.lines] == [(4, True)]


def test_a_straight_option_is_a_whole_one(world):
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    book(world, "main", (kit, 4), start=H, end=3 * H)
    judged = book_in_vain(world, "far", (kit, 4), start=3 * H, end=5 * H)
    with read(world.pool) as stores:
        found = find_options(Names(stores), replace(judged.ask, accept_part=True), NOW)
    assert [o.ask.accept_part for o in found if o.kind == "straight"] == [False]


def test_two_lines_of_one_kind_take_over_from_one_giver(world):
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    (found,) = offered(world, an_ask(world, "far", (kit, 1), (kit, 2), start=3 * H, end=5 * H))
    assert {line.straight_from for line in found.ask.lines} == {giver.lines[0].id}
    assert sum(line.quantity for line in found.ask.lines) == 3
