"""The board: what goes out and comes back on each day that it shows."""

import pytest

from crossload.domain.custody import Move
from crossload.storage import database
from crossload.usecases import board, bookings, handing, own_pool
from crossload.usecases.granting import Granted
from crossload.usecases.moving import Event, Piece
from worlds import DAY, HOUR, NOW, a_world, an_ask

MIDNIGHT = NOW + 14 * HOUR
CLOSES = NOW + 10 * HOUR


@pytest.fixture
def world(migrated_url):
    database.open_database(migrated_url)
    yield a_world()
    database.close_database()


def draw(world, **more):
    return board.draw(world.coordinator, now=world.now, **more)[0]


def book(world, *args, **more):
    answer = bookings.book(world.coordinator, an_ask(world, *args, **more), now=world.now)
    assert isinstance(answer, Granted), answer
    return answer.booking


def send(world, kind, kit, quantity, booking):
    piece = Piece("", kit.id, quantity)
    event = Event(f"{kind}{world.now}", kind, world.now, (piece,), booking=booking.id)
    handing.record(world.coordinator, event, "digest", now=world.now)


def opens_from_eight_to_eight(world):
    days = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    week = {day: [["08:00", "20:00"]] for day in days}
    opening = {"opening": {"week": week}}
    own_pool.change_pool(world.coordinator, opening, version=None, now=NOW)


def test_what_goes_out_is_shown_when_it_is_fetched_and_when_its_booking_begins(world):
    opens_from_eight_to_eight(world)
    kit = world.a_kit_type(count=4)
    morning = MIDNIGHT + 7 * HOUR
    book(world, "second", (kit, 2), start=morning - NOW, end=morning + 8 * HOUR - NOW)
    (out,) = draw(world)["going_out"]
    assert (out["at"], out["start"], out["pieces"]) == (CLOSES, morning, 2)


def test_every_day_of_the_strip_has_what_goes_out_and_what_comes_back(world):
    kit = world.a_kit_type(count=4)
    booking = book(world, "second", (kit, 3), start=4 * DAY, end=5 * DAY)
    told = draw(world)
    assert [one["at"] for one in told["going_out"]] == [NOW + 4 * DAY]
    (back,) = told["coming_back"]
    assert (back["at"], back["pieces"], back["out"]) == (NOW + 5 * DAY, 3, False)
    short = draw(world, days=4)
    assert short["going_out"] == short["coming_back"] == []
    world.now = NOW + 4 * DAY
    send(world, Move.OUT, kit, 2, booking)
    told = draw(world)
    assert [one["pieces"] for one in told["going_out"]] == [1]
    assert sorted((one["pieces"], one["out"]) for one in told["coming_back"]) == [
        (1, False),
        (2, True),
    ]


def test_what_is_used_up_does_not_come_back(world):
    tape = world.a_kit_type(count=10, tracking="consumable")
    book(world, "second", (tape, 3), start=DAY, end=2 * DAY)
    told = draw(world)
    assert [one["pieces"] for one in told["going_out"]] == [3]
    assert told["coming_back"] == []


def test_what_is_promised_is_told_beside_what_was_due(world):
    kit = world.a_kit_type(count=4)
    booking = book(world, "second", (kit, 2), start=DAY, end=2 * DAY)
    world.now = NOW + DAY
    send(world, Move.OUT, kit, 2, booking)
    world.now = NOW + 2 * DAY + HOUR
    due, promised = NOW + 2 * DAY, world.now + 3 * HOUR
    (late,) = draw(world)["decide"]
    assert (late["start"], late["promised_at"]) == (due, None)
    piece = Piece("", kit.id, 2)
    event = Event(
        "promise", Move.PROMISE, world.now, (piece,), booking=booking.id, promised_at=promised
    )
    handing.record(world.coordinator, event, "digest", now=world.now)
    told = draw(world)
    (late,), (back,) = told["decide"], told["coming_back"]
    assert late["promised_at"] == promised
    assert (back["at"], back["due_at"], back["promised_at"], back["late"]) == (
        promised, due, promised, True,
    )  # fmt: skip
