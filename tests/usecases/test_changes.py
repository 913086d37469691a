"""What can be asked for in one booking, and what of it can be changed: judged each time as a whole."""

from dataclasses import replace

import pytest

from crossload.domain.booking import BookingState, Wanted
from crossload.domain.claims import Why
from crossload.domain.instants import parse_instant
from crossload.domain.window import Window
from crossload.usecases import bookings, checks, own_pool
from crossload.usecases.bookings import Changes
from crossload.usecases.judging import Answer
from worlds import HOUR, NOW, an_ask, book, book_in_vain, granted, refused


@pytest.fixture
def world(world):
    yield world
    assert checks.check(world.coordinator, now=world.now) == []


def change(world, booking, *lines):
    return bookings.change(
        world.coordinator, booking.id, Changes(lines=lines), version=None, now=world.now
    )


def live(booking):
    return {
        line.kit_type: line.quantity
        for line in booking.lines
        if line.state is BookingState.CONFIRMED
    }


def test_lines_are_added_enlarged_and_dropped_in_one_change(world):
    some, more, other = (world.a_kit_type(count=6) for _ in range(3))
    booking = book(world, "main", (some, 2), (more, 3))
    first, _ = booking.lines
    after = granted(change(world, booking, Wanted(some.id, 5, line=first.id), Wanted(other.id, 6)))
    assert live(after) == {some.id: 5, other.id: 6}
    assert after.lines[0].id == first.id
    book(world, "second", (some, 1), (more, 6))
    book_in_vain(world, "second", (some, 1))


def test_a_line_that_cannot_grow_leaves_the_whole_booking_as_it_was(world):
    some, other = world.a_kit_type(count=6), world.a_kit_type(count=6)
    booking = book(world, "main", (some, 2), (other, 2))
    book(world, "second", (some, 4))
    first, second = booking.lines
    judged = refused(
        change(world, booking, Wanted(some.id, 3, line=first.id), Wanted(other.id, 1, line=second.id))
    )  # fmt: skip
    assert judged.answer is Answer.SHORT
    assert world.booking(booking.id) == booking


def test_a_booking_grows_into_what_it_has_itself(world):
    """Its own kit is free to it: six of eight become eight."""
    kit = world.a_kit_type(count=8)
    booking = book(world, "main", (kit, 6))
    (line,) = booking.lines
    assert live(granted(change(world, booking, Wanted(kit.id, 8, line=line.id)))) == {kit.id: 8}


def test_a_named_piece_and_a_number_of_the_rest_are_had_together(world):
    kit = world.a_kit_type(pieces=3)
    first, second, _ = world.pieces(kit)
    booking = book(world, "main", first, (kit, 1))
    assert [line.item for line in booking.lines] == [first.id, None]
    assert book_in_vain(world, "second", first).types[0].confirmed.why is Why.NAMES
    book(world, "second", second)
    book_in_vain(world, "splinter", (kit, 1))


def test_two_lines_of_one_kit_type_are_counted_together(world):
    kit = world.a_kit_type(count=5)
    judged = book_in_vain(world, "main", (kit, 3), (kit, 3))
    (verdict,) = judged.types
    assert [stretch.by for stretch in verdict.confirmed.short] == [1]
    book(world, "main", (kit, 3), (kit, 2))


def test_part_is_shared_out_line_by_line_and_a_line_that_gets_nothing_is_left_out(world):
    some, none, all_of_it = (world.a_kit_type(count=4) for _ in range(3))
    book(world, "second", (none, 4))
    booking = book(world, "main", (some, 6), (none, 1), (all_of_it, 4), accept_part=True)
    assert live(booking) == {some.id: 4, all_of_it.id: 4}


def test_where_there_is_no_part_to_be_had_the_answer_is_no(world):
    kit = world.a_kit_type(count=4)
    book(world, "second", (kit, 4))
    judged = book_in_vain(world, "main", (kit, 2), accept_part=True)
    assert (judged.answer, judged.granted) == (Answer.SHORT, (0,))


def test_part_of_named_pieces_is_none_of_one_that_is_taken(world):
    kit = world.a_kit_type(pieces=2)
    first, second = world.pieces(kit)
    book(world, "second", first)
    booking = book(world, "main", first, second, accept_part=True)
    assert [line.item for line in booking.lines] == [second.id]


def test_who_pays_and_the_order_number_are_kept_and_changed(world):
    kit = world.a_kit_type(count=4)
    ask = replace(an_ask(world, "main", (kit, 1)), who_pays="Main unit", order_number="PO 1704")
    booking = granted(bookings.book(world.coordinator, ask, now=NOW))
    assert (booking.who_pays, booking.order_number) == ("Main unit", "PO 1704")
    changes = Changes(who_pays="Second unit", order_number="PO 1705")
    after = granted(bookings.change(world.coordinator, booking.id, changes, version=None, now=NOW))
    assert (after.who_pays, after.order_number) == ("Second unit", "PO 1705")
    assert after.lines == booking.lines


def test_kit_that_comes_back_is_free_after_check_in_counted_in_opening_hours(world):
    # The house tests kit within one working day: common practice, no published source.
    week = {day: [["09:00", "18:00"]] for day in ("mon", "tue", "wed", "thu", "fri")}
    own_pool.change_pool(
        world.coordinator, {"opening": {"week": week}}, version=None, now=world.now
    )
    kit = world.a_kit_type(count=1, check_in_s=3 * HOUR)

    def asked(unit, start, end):
        ask = an_ask(world, unit, (kit, 1))
        window = Window(parse_instant(f"{start}:00Z"), parse_instant(f"{end}:00Z"))
        return bookings.book(world.coordinator, replace(ask, window=window), now=NOW)

    # Back on Friday at 17:00: one hour is left of Friday, and Monday begins at nine.
    granted(asked("main", "2026-11-26T06:00", "2026-11-27T17:00"))
    refused(asked("second", "2026-11-28T06:00", "2026-11-29T20:00"))
    refused(asked("second", "2026-11-30T10:59", "2026-11-30T20:00"))
    granted(asked("second", "2026-11-30T11:00", "2026-11-30T20:00"))


def test_a_line_may_override_its_kit_types_prep_and_check_in(world):
    kit = world.a_kit_type(count=1, prep_s=HOUR, check_in_s=3 * HOUR)
    window = Window(NOW + HOUR, NOW + 2 * HOUR)
    swift = replace(
        an_ask(world, "main"), window=window, lines=(Wanted(kit.id, 1, prep_s=0, check_in_s=0),)
    )
    granted(bookings.book(world.coordinator, swift, now=NOW))
    book_in_vain(world, "second", (kit, 1), start=3 * HOUR - 1, end=4 * HOUR)
    book(world, "second", (kit, 1), start=3 * HOUR, end=4 * HOUR)
