"""The board: what goes out and comes back on each day that it shows."""

from crossload.domain.booking import BookingState
from crossload.domain.custody import Move
from crossload.domain.hours import WEEKDAYS
from crossload.domain.kit import Box
from crossload.storage.ids import new_id
from crossload.usecases import board
from crossload.usecases.transaction import write
from worlds import DAY, HOUR, NOW, book, send

MIDNIGHT = NOW + 14 * HOUR
CLOSES = NOW + 10 * HOUR
EIGHT_TO_EIGHT = {day: [["08:00", "20:00"]] for day in WEEKDAYS}


def draw(world, **more):
    return board.draw(world.coordinator, now=world.now, **more)[0]


def test_what_goes_out_is_shown_when_it_is_fetched_and_when_its_booking_begins(world):
    world.opens(EIGHT_TO_EIGHT)
    kit = world.a_kit_type(count=4)
    morning = MIDNIGHT + 7 * HOUR
    book(world, "second", (kit, 2), start=morning - NOW, end=morning + 8 * HOUR - NOW)
    (out,) = draw(world)["going_out"]
    assert (out["at"], out["start"], out["pieces"]) == (CLOSES, morning, 2)


def test_what_goes_out_is_in_the_boxes_of_pieces_and_of_counts(world):
    pieces, counted = world.a_kit_type(pieces=1), world.a_kit_type(count=4)
    (piece,) = world.pieces(pieces)
    boxes = [Box(new_id(), number) for number in ("10", "9", "8")]
    with write(world.pool, NOW) as stores:
        stores.boxes.add(*boxes)
        stores.items.change(piece.id, None, home_box=boxes[0].id)
        stores.boxes.set_counts(boxes[1].id, {counted.id: 4})
    book(world, "second", (pieces, 1), (counted, 2))
    (out,) = draw(world)["going_out"]
    assert out["boxes"] == ["9", "10"]


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
    send(world, Move.OUT, (kit, 2), booking=booking.id)
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
    send(world, Move.OUT, (kit, 2), booking=booking.id)
    world.now = NOW + 2 * DAY + HOUR
    due, promised = NOW + 2 * DAY, world.now + 3 * HOUR
    (late,) = draw(world)["decide"]
    assert (late["start"], late["promised_at"]) == (due, None)
    send(world, Move.PROMISE, (kit, 2), booking=booking.id, promised_at=promised)
    told = draw(world)
    (late,), (back,) = told["decide"], told["coming_back"]
    assert late["promised_at"] == promised
    assert (back["at"], back["due_at"], back["promised_at"], back["late"]) == (
        promised, due, promised, True,
    )  # fmt: skip


def test_a_pencil_clashes_with_what_was_confirmed_past_it(world):
    kit = world.a_kit_type(count=4)
    pencil = book(world, "splinter", (kit, 4), state=BookingState.PENCILLED)
    past_it = book(world, "main", (kit, 3), override_pencils=True)
    (clash,) = draw(world)["decide"]
    assert (clash["kind"], clash["booking_id"], clash["short_by"]) == ("clash", pencil.id, 3)
    assert [one["booking_id"] for one in clash["behind"]] == [past_it.id]


def test_a_booking_that_is_over_is_not_at_risk_though_its_kit_is_checked_in_still(world):
    kit = world.a_kit_type(count=1, check_in_s=6 * HOUR)
    book(world, "main", (kit, 1), end=2 * HOUR)
    world.is_out_of_service(kit, 1, 0, DAY)
    assert [one["kind"] for one in draw(world)["decide"]] == ["at_risk"]
    world.now = NOW + 2 * HOUR
    assert draw(world)["decide"] == []
