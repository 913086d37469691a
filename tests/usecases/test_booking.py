"""Booking through the use-cases, on both databases."""

import pytest

from crossload.domain.booking import BookingState
from crossload.domain.claims import Why
from crossload.domain.kit import Condition
from crossload.domain.window import FOREVER, Window
from crossload.storage import database
from crossload.usecases import bookings, checks, standing
from crossload.usecases.bookings import Changes
from crossload.usecases.errors import Conflict, Forbidden, Invalid, KeyReused, NotFound, Stale
from crossload.usecases.items import ITEMS
from crossload.usecases.judging import Answer
from crossload.usecases.kit import KIT_TYPES
from crossload.usecases.transaction import read
from worlds import DAY, HOUR, NOW, a_world, an_ask, answer_to, book, book_in_vain, granted, refused

PENCIL = BookingState.PENCILLED


def test_what_is_free_is_granted_whole(world):
    kit = world.a_kit_type(count=8)
    booking = book(world, "main", (kit, 8))
    assert booking.state is BookingState.CONFIRMED
    assert [line.quantity for line in booking.lines] == [8]


def test_second_booking_of_the_last_piece_is_refused(world):
    kit = world.a_kit_type(count=8)
    book(world, "main", (kit, 5))
    judged = book_in_vain(world, "second", (kit, 4), start=2 * HOUR, end=9 * HOUR)
    assert judged.answer is Answer.SHORT
    (verdict,) = judged.types
    assert verdict.confirmed.why is Why.NUMBERS
    assert verdict.confirmed.free == 3
    (stretch,) = verdict.confirmed.short
    assert (stretch.window, stretch.by) == (Window(NOW + 2 * HOUR, NOW + 5 * HOUR), 1)


def test_bookings_back_to_back_share_the_last_piece(world):
    kit = world.a_kit_type(count=1)
    book(world, "main", (kit, 1), start=HOUR, end=2 * HOUR)
    book(world, "second", (kit, 1), start=2 * HOUR, end=3 * HOUR)


def test_prep_and_check_in_keep_bookings_apart(world):
    kit = world.a_kit_type(count=1, prep_s=1800, check_in_s=3600)
    book(world, "main", (kit, 1), start=HOUR, end=2 * HOUR)
    apart = 2 * HOUR + 3600 + 1800
    book_in_vain(world, "second", (kit, 1), start=apart - 1, end=apart + HOUR)
    book(world, "second", (kit, 1), start=apart, end=apart + HOUR)


def test_a_refusal_books_nothing(world):
    some, none = world.a_kit_type(count=4), world.a_kit_type(count=1)
    book_in_vain(world, "main", (some, 4), (none, 2))
    book(world, "second", (some, 4), (none, 1))


def test_part_is_granted_where_the_asker_accepts_it(world):
    kit = world.a_kit_type(count=5)
    booking = book(world, "main", (kit, 8), accept_part=True)
    assert booking.lines[0].quantity == 5


def test_a_refusal_leaves_a_row_of_the_asking(world):
    kit = world.a_kit_type(count=1)
    book_in_vain(world, "main", (kit, 2))
    with read(world.pool) as stores:
        asked = [entry for entry in stores.journal.page(limit=500) if entry.verb == "asked"]
    assert [entry.after["answer"] for entry in asked] == ["short"]


def test_same_key_again_is_the_same_booking(world):
    kit = world.a_kit_type(count=8)
    ask = an_ask(world, "main", (kit, 5))
    first = answer_to(world, ask, key="k", digest="d")
    again = answer_to(world, ask, key="k", digest="d")
    assert granted(again).id == granted(first).id
    assert again.replayed
    with pytest.raises(KeyReused):
        answer_to(world, ask, key="k", digest="other")


def test_a_refused_key_is_judged_afresh(world):
    kit = world.a_kit_type(count=1)
    blocking = book(world, "main", (kit, 1))
    refused(answer_to(world, an_ask(world, "second", (kit, 1)), key="k", digest="d"))
    bookings.release(world.coordinator, blocking.id, version=None, now=NOW)
    granted(answer_to(world, an_ask(world, "second", (kit, 1)), key="k", digest="d"))


def test_piece_by_name_is_refused_to_a_second_asker(world):
    kit = world.a_kit_type(pieces=3)
    first = world.pieces(kit)[0]
    book(world, "main", first)
    judged = book_in_vain(world, "second", first)
    assert judged.types[0].confirmed.why is Why.NAMES
    book(world, "second", (kit, 2))


def test_one_free_at_each_instant_is_not_one_free_throughout(world):
    kit = world.a_kit_type(pieces=2)
    one, two = world.pieces(kit)
    book(world, "main", one, start=HOUR, end=4 * HOUR)
    book(world, "second", two, start=6 * HOUR, end=9 * HOUR)
    judged = book_in_vain(world, "splinter", (kit, 1), start=3 * HOUR, end=7 * HOUR)
    assert judged.types[0].confirmed.why is Why.NAMES
    book(world, "splinter", (kit, 1), start=4 * HOUR, end=7 * HOUR)


def test_frequencies_are_given_with_the_yes_and_only_once(world):
    kit = world.a_kit_type(pieces=3, tracking="frequency", category="frequency")
    first = book(world, "main", (kit, 2))
    second = book(world, "second", (kit, 1))
    given = [piece for booking in (first, second) for piece in booking.lines[0].pieces]
    assert len(given) == len(set(given)) == 3
    book_in_vain(world, "splinter", (kit, 1))


def test_consumables_do_not_come_back(world):
    kit = world.a_kit_type(count=10, tracking="consumable")
    book(world, "main", (kit, 6), start=HOUR, end=2 * HOUR)
    book_in_vain(world, "second", (kit, 5), start=DAY, end=2 * DAY)
    book(world, "second", (kit, 4), start=DAY, end=2 * DAY)


def test_short_only_for_a_pencil_is_behind_it_and_not_short(world):
    kit = world.a_kit_type(count=6)
    book(world, "splinter", (kit, 4), state=PENCIL)
    judged = book_in_vain(world, "second", (kit, 3))
    assert judged.answer is Answer.BEHIND_PENCIL
    (verdict,) = judged.types
    assert verdict.confirmed.fits
    assert verdict.all.free == 2
    book(world, "second", (kit, 3), state=PENCIL)


def test_a_units_own_pencil_does_not_stand_in_its_way(world):
    kit = world.a_kit_type(count=6)
    book(world, "second", (kit, 4), state=PENCIL)
    book(world, "second", (kit, 6))


def test_a_coordinator_may_pass_a_pencil_by_and_a_mixer_may_not(world):
    kit = world.a_kit_type(count=6)
    book(world, "splinter", (kit, 4), state=PENCIL)
    over = an_ask(world, "second", (kit, 3), override_pencils=True)
    with pytest.raises(Forbidden):
        bookings.book(world.mixer("second"), over, now=NOW)
    granted(answer_to(world, over))


def test_a_pencil_is_confirmed_once_the_earlier_one_is_gone(world):
    kit = world.a_kit_type(count=6)
    earlier = book(world, "splinter", (kit, 4), state=PENCIL)
    later = book(world, "second", (kit, 4), state=PENCIL)
    args = {"version": later.version, "now": NOW}
    judged = refused(bookings.confirm(world.coordinator, later.id, **args))
    assert judged.answer is Answer.BEHIND_PENCIL
    bookings.release(world.coordinator, earlier.id, version=None, now=NOW)
    confirmed = granted(bookings.confirm(world.coordinator, later.id, **args))
    assert confirmed.state is BookingState.CONFIRMED


def test_the_earlier_pencil_is_confirmed_past_the_later_one(world):
    kit = world.a_kit_type(count=6)
    earlier = book(world, "splinter", (kit, 4), state=PENCIL)
    book(world, "second", (kit, 4), state=PENCIL)
    granted(bookings.confirm(world.coordinator, earlier.id, version=earlier.version, now=NOW))


def test_a_pencil_lapses_with_the_next_write_after_its_time(world):
    kit = world.a_kit_type(count=6)
    ask = an_ask(world, "splinter", (kit, 6), state=PENCIL, pencil_expires_at=NOW + HOUR)
    pencil = granted(answer_to(world, ask))
    world.now = NOW + HOUR
    book(world, "second", (kit, 6))
    assert world.booking(pencil.id).state is BookingState.LAPSED


def test_moving_judges_without_the_old_window(world):
    kit = world.a_kit_type(count=6)
    booking = book(world, "main", (kit, 6))
    moved = Window(NOW + 2 * HOUR, NOW + 8 * HOUR)
    changed = bookings.change(
        world.coordinator, booking.id, Changes(window=moved), version=booking.version, now=NOW
    )
    assert granted(changed).window == moved
    book_in_vain(world, "second", (kit, 1), start=7 * HOUR, end=9 * HOUR)
    book(world, "second", (kit, 6), start=HOUR, end=2 * HOUR)


def test_a_change_that_does_not_fit_changes_nothing(world):
    kit = world.a_kit_type(count=6)
    booking = book(world, "main", (kit, 4))
    book(world, "second", (kit, 4), start=6 * HOUR, end=9 * HOUR)
    longer = Changes(window=Window(NOW + HOUR, NOW + 7 * HOUR))
    refused(bookings.change(world.coordinator, booking.id, longer, version=None, now=NOW))
    assert world.booking(booking.id) == booking


def test_a_stale_change_is_refused(world):
    kit = world.a_kit_type(count=6)
    booking = book(world, "main", (kit, 4))
    bookings.change(
        world.coordinator, booking.id, Changes(purpose="night"), version=booking.version, now=NOW
    )
    with pytest.raises(Stale):
        bookings.release(world.coordinator, booking.id, version=booking.version, now=NOW)


def test_releasing_some_frees_some(world):
    kit = world.a_kit_type(count=6)
    booking = book(world, "main", (kit, 6))
    line = booking.lines[0].id
    left = bookings.release(
        world.coordinator, booking.id, version=None, now=NOW, quantities={line: 2}
    )
    assert (left.lines[0].quantity, left.lines[0].released) == (4, 2)
    book(world, "second", (kit, 2))
    book_in_vain(world, "splinter", (kit, 1))


@pytest.mark.parametrize("quantity", [0, -1, 7])
def test_releasing_what_is_not_there_is_refused(world, quantity):
    kit = world.a_kit_type(count=6)
    booking = book(world, "main", (kit, 6))
    giving = {booking.lines[0].id: quantity}
    with pytest.raises(Invalid):
        bookings.release(world.coordinator, booking.id, version=None, now=NOW, quantities=giving)


def test_a_yes_is_undone_within_ten_minutes(world):
    kit = world.a_kit_type(count=6)
    booking = book(world, "main", (kit, 6))
    with pytest.raises(Conflict):
        bookings.undo(world.coordinator, booking.id, version=None, now=NOW + 600)
    undone = bookings.undo(world.coordinator, booking.id, version=None, now=NOW + 599)
    assert undone.state is BookingState.UNDONE
    book(world, "second", (kit, 6))


def test_a_yes_that_somebody_built_on_is_not_undone(world):
    kit = world.a_kit_type(count=6)
    booking = book(world, "main", (kit, 2))
    book(world, "second", (kit, 2))
    with pytest.raises(Conflict):
        bookings.undo(world.coordinator, booking.id, version=None, now=NOW + 1)


def test_a_mixer_books_for_their_own_unit_alone(world):
    kit = world.a_kit_type(count=6)
    granted(bookings.book(world.mixer("second"), an_ask(world, "second", (kit, 1)), now=NOW))
    with pytest.raises(Forbidden):
        bookings.book(world.mixer("second"), an_ask(world, "main", (kit, 1)), now=NOW)


def test_another_pools_kit_and_bookings_are_not_there(world):
    kit = world.a_kit_type(count=6)
    booking = book(world, "main", (kit, 1))
    elsewhere = a_world()
    with pytest.raises(Invalid):
        answer_to(elsewhere, an_ask(elsewhere, "main", (kit, 1)))
    with pytest.raises(NotFound):
        bookings.release(elsewhere.coordinator, booking.id, version=None, now=NOW)


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"start": -5 * HOUR, "end": -HOUR}, "/end"),
        ({"end": 400 * DAY}, "/end"),
        ({"pencil_expires_at": NOW}, "/pencil_expires_at"),
    ],
    ids=["over already", "longer than a year", "a pencil of the past"],
)
def test_an_ask_that_makes_no_sense_is_refused_by_name(world, changes, pointer):
    kit = world.a_kit_type(count=6)
    with pytest.raises(Invalid) as error:
        answer_to(world, an_ask(world, "main", (kit, 1), **changes))
    assert error.value.wrong[0][0] == pointer


def test_check_data_finds_a_shortage_that_no_fact_explains(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 6))
    assert checks.check(world.coordinator, now=NOW) == []
    with database.write(world.pool, NOW) as stores:
        stores.kit_types.change(kit.id, None, count=5)
    (broken,) = checks.check(world.coordinator, now=NOW)
    assert "lacks 1" in broken


def lower_the_count(world, kit):
    KIT_TYPES.change(world.coordinator, kit.id, {"count": 5}, version=None, now=NOW)


def lengthen_check_in(world, kit):
    KIT_TYPES.change(world.coordinator, kit.id, {"check_in_s": HOUR}, version=None, now=NOW)


def retire_one(world, kit):
    (piece, *_) = world.pieces(kit)
    changes = {"condition": Condition.RETIRED}
    ITEMS.change(world.coordinator, piece.id, changes, version=None, now=NOW)


@pytest.mark.parametrize(
    ("much", "fact"),
    [
        ({"count": 6}, lower_the_count),
        ({"count": 6}, lengthen_check_in),
        ({"pieces": 6}, retire_one),
    ],
    ids=["fewer of it", "a longer check-in", "one retired"],
)
def test_check_data_takes_a_later_fact_for_an_explanation(world, much, fact):
    kit = world.a_kit_type(**much)
    book(world, "main", (kit, 6))
    book(world, "second", (kit, 6), start=5 * HOUR, end=6 * HOUR)
    fact(world, kit)
    risks = [one for unit in ("main", "second") for one in at_risk_of(world, unit)]
    assert any(risks)
    assert checks.check(world.coordinator, now=NOW) == []


def at_risk_of(world, unit):
    for booking in world.bookings(unit):
        yield standing.standing(world.coordinator, booking.id, now=NOW)["risk"]


def test_check_data_does_not_take_an_earlier_fact_for_an_explanation(world):
    kit = world.a_kit_type(count=6)
    lower_the_count(world, kit)
    book(world, "main", (kit, 5))
    with database.write(world.pool, NOW) as stores:
        stores.kit_types.change(kit.id, None, count=4)
    assert len(checks.check(world.coordinator, now=NOW)) == 1


def test_a_pencil_whose_window_is_over_is_not_confirmed(world):
    kit = world.a_kit_type(count=6)
    pencil = granted(
        answer_to(world, an_ask(world, "main", (kit, 1), state=BookingState.PENCILLED))
    )
    with pytest.raises(Conflict, match="over"):
        bookings.confirm(world.coordinator, pencil.id, version=None, now=NOW + DAY)


def test_a_frequency_or_piece_stays_where_it_is_when_a_booking_moves(world):
    kit = world.a_kit_type(pieces=4, tracking="frequency", category="frequency")
    booking = book(world, "main", (kit, 2))
    moved = Changes(window=Window(NOW + 2 * HOUR, NOW + 6 * HOUR))
    after = granted(bookings.change(world.coordinator, booking.id, moved, version=None, now=NOW))
    assert after.lines[0].pieces == booking.lines[0].pieces


def test_forever_is_the_end_of_a_consumables_claim(world):
    kit = world.a_kit_type(count=10, tracking="consumable")
    booking = book(world, "main", (kit, 6))
    assert booking.lines[0].occupied.end == FOREVER


def test_a_yes_answers_the_booking_as_it_is_read_back(world):
    kit, pieces = world.a_kit_type(count=6), world.a_kit_type(pieces=3)
    waves = world.a_kit_type(pieces=2, tracking="frequency", category="frequency")
    first = world.pieces(pieces)[0]
    ask = an_ask(world, "second", (kit, 2), first, (pieces, 1), (waves, 2), purpose="rain cover")
    made = bookings.book(world.coordinator, ask, now=NOW).booking
    with read(world.pool) as stores:
        assert stores.bookings.get(made.id) == made
