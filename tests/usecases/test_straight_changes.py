"""What is booked straight from another unit, when plans change and kit does other than was planned."""

from dataclasses import replace
from datetime import date

import pytest

from crossload.domain.booking import BookingState, Wanted
from crossload.domain.custody import Move
from crossload.usecases import availability, booked, bookings, checks, own_pool
from crossload.usecases.board import draw
from crossload.usecases.errors import Conflict
from crossload.usecases.granting import Refused
from crossload.usecases.kit import KIT_TYPES
from crossload.usecases.names import Names
from crossload.usecases.options import find_options
from crossload.usecases.transaction import read
from straight_worlds import at_once, change, hours, release, takes, taking, tie
from worlds import HOUR, NOW, an_ask, answer_to, book, book_in_vain, granted, send

H = HOUR
PENCIL = BookingState.PENCILLED


@pytest.fixture
def world(world):
    """No way and no swap check: a hand-over takes no time."""
    at_once(world)
    yield world
    assert checks.check(world.coordinator, now=world.now) == []


def test_a_giver_moves_within_its_time(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    taker = takes(world, giver, 4, 10 * H, 11 * H)
    granted(change(world, giver, window=hours(4, 6)))
    (line,) = world.booking(taker.id).lines
    assert line.occupied.start == NOW + 6 * H
    book(world, "second", (kit, 4), start=H, end=4 * H)
    book_in_vain(world, "second", (kit, 1), start=7 * H, end=8 * H)


def test_a_giver_that_moves_away_leaves_a_pencil_to_the_house(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    pencil = takes(world, giver, 2, 3 * H, 5 * H, state=PENCIL)
    book(world, "second", (kit, 2), start=8 * H, end=10 * H, state=PENCIL)
    granted(change(world, giver, window=hours(6, 8)))
    assert tie(world, pencil) == [None]
    assert isinstance(change(world, giver, window=hours(8, 10)), Refused)


def test_what_a_taker_fetches_elsewhere_leaves_the_givers_out(world):
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    taker = takes(world, giver, 1, 4 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 2), booking=giver.id)
    book(world, "second", (kit, 2), start=0, end=H)
    book_in_vain(world, "second", (kit, 3), start=0, end=H)
    assert tie(world, taker) == [giver.lines[0].id]


@pytest.mark.parametrize("many", [1, 2])
def test_the_middle_of_a_chain_falls_and_the_last_takes_over_from_the_first(world, many):
    kit = world.a_kit_type(count=many, check_in_s=6 * H)
    first = book(world, "main", (kit, many), start=H, end=3 * H)
    middle = takes(world, first, many, 3 * H, 5 * H)
    last = takes(world, middle, 1, 5 * H, 7 * H, unit="splinter")
    release(world, middle)
    (line,) = world.booking(last.id).lines
    assert (line.straight_from, line.occupied.start) == (first.lines[0].id, NOW + 3 * H)


def test_the_middle_of_a_chain_becomes_other_kit(world):
    kit, other = world.a_kit_type(count=1, check_in_s=6 * H), world.a_kit_type(count=1)
    first = book(world, "main", (kit, 1), start=H, end=3 * H)
    middle = takes(world, first, 1, 3 * H, 5 * H)
    last = takes(world, middle, 1, 5 * H, 7 * H, unit="splinter")
    granted(change(world, middle, lines=(Wanted(other.id, 1, line=middle.lines[0].id),)))
    assert tie(world, last) == [first.lines[0].id]


def test_a_line_does_not_shrink_below_what_goes_on(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    (line,) = giver.lines
    taker = takes(world, giver, 2, 3 * H, 5 * H)
    with pytest.raises(Conflict, match=r"2 of .* go straight from here to far: leave as many"):
        release(world, giver, quantities={line.id: 3})
    with pytest.raises(Conflict, match="leave as many"):
        change(world, giver, lines=(Wanted(kit.id, 1, line=line.id),))
    release(world, giver, quantities={line.id: 2})
    release(world, giver)
    assert tie(world, taker) == [None]


def test_a_giver_that_moves_sooner_with_a_new_line_leaves_its_takers(world):
    kit, other = world.a_kit_type(count=4), world.a_kit_type(count=1)
    book(world, "second", (kit, 3), start=2 * H, end=4 * H)
    giver = book(world, "main", (kit, 4), start=6 * H, end=8 * H)
    taker = takes(world, giver, 4, 8 * H, 9 * H)
    lines = (Wanted(other.id, 1, line=giver.lines[0].id),)
    granted(change(world, giver, window=hours(1, 3), lines=lines))
    assert tie(world, taker) == [None]


def test_a_giver_that_names_its_piece_is_another_line(world):
    kit = world.a_kit_type(pieces=1, check_in_s=H)
    (one,) = world.pieces(kit)
    giver = book(world, "main", (kit, 1), start=H, end=3 * H)
    takes(world, giver, 1, 3 * H, 6 * H)
    answer = change(world, giver, lines=(Wanted(kit.id, 1, one.id, line=giver.lines[0].id),))
    assert isinstance(answer, Refused)


def test_what_is_handed_on_is_not_handed_on_twice(world):
    kit = world.a_kit_type(count=3, check_in_s=4 * H)
    giver = book(world, "main", (kit, 3), start=H, end=3 * H)
    takes(world, giver, 1, 3 * H, 5 * H, unit="second")
    taker = takes(world, giver, 2, 3 * H, 5 * H)
    takes(world, taker, 1, 5 * H, 6 * H, unit="splinter")


def test_a_recount_keeps_a_taker_as_long_as_its_givers_check_in(world):
    kit = world.a_kit_type(check_in_s=0, pieces=4)
    ask = an_ask(world, "main", start=H, end=4 * H)
    ask = replace(ask, lines=(Wanted(kit.id, 4, check_in_s=6 * H),))
    taker = takes(world, granted(answer_to(world, ask)), 4, 4 * H, 5 * H)
    KIT_TYPES.change(world.coordinator, kit.id, {"prep_s": 60}, version=None, now=NOW)
    (line,) = world.booking(taker.id).lines
    assert (line.occupied.start, line.occupied.end) == (NOW + 4 * H, NOW + 10 * H)


def test_a_name_for_another_time_changes_nothing_of_a_hand_over(world):
    kit = world.a_kit_type(pieces=2, check_in_s=H)
    one, two = sorted(world.pieces(kit), key=lambda item: item.id)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    world.now = NOW + H
    send(world, Move.OUT, one.tag, two.tag, booking=giver.id)
    world.now = NOW
    granted(answer_to(world, an_ask(world, "second", one, start=5 * H, end=6 * H)))
    takes(world, giver, 1, 3 * H, 6 * H)
    granted(answer_to(world, an_ask(world, "splinter", two, start=48 * H, end=49 * H)))


def test_a_known_piece_reaches_the_end_of_a_chain(world):
    kit = world.a_kit_type(pieces=2, check_in_s=2 * H)
    one, _ = world.pieces(kit)
    first = book(world, "main", (kit, 1), start=H, end=3 * H)
    middle = takes(world, first, 1, 3 * H, 5 * H, unit="splinter")
    takes(world, middle, 1, 5 * H, 7 * H)
    world.now = NOW + H
    send(world, Move.OUT, one.tag, booking=first.id)
    world.now = NOW
    book_in_vain(world, "second", one, start=5 * H, end=6 * H)


def test_two_lines_do_not_both_take_all_that_a_giver_has(world):
    kit = world.a_kit_type(count=8, prep_s=2 * H)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    ask = taking(world, giver, 4, 3 * H, 6 * H)
    twice = granted(answer_to(world, replace(ask, lines=ask.lines * 2)))
    assert sum(line.quantity for line in twice.lines if line.straight_from) == 4


def test_a_taker_that_grows_is_offered_no_more_than_the_giver_has(world):
    kit = world.a_kit_type(count=6, check_in_s=2 * H)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    book(world, "second", (kit, 1), start=3 * H, end=5 * H)
    taker = takes(world, giver, 4, 3 * H, 5 * H)
    more = Wanted(kit.id, 6, line=taker.lines[0].id, straight_from=giver.lines[0].id)
    judged = change(world, taker, lines=(more,)).judged
    with read(world.pool) as stores:
        found = find_options(Names(stores), judged.ask, NOW, without=taker.id)
    given = [
        sum(
            w.quantity
            for w, slot in zip(o.ask.lines, o.judged.slots, strict=True)
            if slot.straight_from
        )
        for o in found
    ]
    assert max(given) == 4, "what it has already it keeps"
    (fewer,) = (option for option in found if option.kind == "fewer")
    assert sum(line.quantity for line in fewer.ask.lines) == 5


def test_a_piece_is_taken_over_only_from_who_can_have_it(world):
    kit = world.a_kit_type(pieces=2, prep_s=H)
    one, two = world.pieces(kit)
    giver = granted(answer_to(world, an_ask(world, "main", one, start=H, end=3 * H)))
    ask = taking(world, giver, 1, 4 * H, 6 * H)
    taker = granted(answer_to(world, replace(ask, lines=(replace(ask.lines[0], item=two.id),))))
    assert tie(world, taker) == [None]


def test_a_prep_of_ones_own_stays_for_when_the_hand_over_falls(world):
    kit = world.a_kit_type(count=4, prep_s=H)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    ask = taking(world, giver, 4, 3 * H, 6 * H)
    taker = granted(answer_to(world, replace(ask, lines=(replace(ask.lines[0], prep_s=60),))))
    assert taker.lines[0].prep_s == 60


def test_a_giver_is_not_undone_once_somebody_takes_over(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    takes(world, giver, 4, 3 * H, 6 * H)
    with pytest.raises(Conflict, match="builds on"):
        bookings.undo(world.coordinator, giver.id, version=None, now=NOW)


@pytest.mark.parametrize("kind", ["count", "serial"])
def test_kit_that_goes_out_on_a_line_that_takes_over_comes_from_the_giver(world, kind):
    kit = world.a_kit_type(
        check_in_s=2 * H, **({"pieces": 4} if kind == "serial" else {"count": 4})
    )
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    taker = takes(world, giver, 2, 4 * H, 6 * H)
    world.now = NOW + H
    every = world.tags(kit) if kind == "serial" else [(kit, 4)]
    some = world.tags(kit)[:2] if kind == "serial" else [(kit, 2)]
    send(world, Move.OUT, *every, booking=giver.id)
    world.now = NOW + 3 * H
    send(world, Move.OUT, *some, booking=taker.id)
    (line,) = world.booking(giver.id).lines
    assert (line.quantity, line.released) == (2, 2)
    told = draw(world.coordinator, now=world.now)[0]
    back = [(one["unit"], one["pieces"]) for one in told["coming_back"]]
    assert sorted(back) == [("far", 2), ("main", 2)]
    assert {one["kind"] for one in told["decide"]} <= {"overdue"}
    assert booked.handover(world.coordinator, giver.id, now=world.now)["hand_on"] == []


def test_counts_are_handed_over_where_they_are_booked_straight(world):
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    taker = takes(world, giver, 2, 4 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 2), booking=giver.id)
    world.now = NOW + 3 * H
    send(world, Move.HAND_OVER, (kit, 2), booking=taker.id)
    assert world.booking(giver.id).state is BookingState.RELEASED


def test_between_the_wrap_and_the_takers_start_nothing_is_at_risk(world):
    kit = world.a_kit_type(pieces=1)
    giver = book(world, "main", (kit, 1), start=H, end=3 * H)
    takes(world, giver, 1, 4 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, *world.tags(kit), booking=giver.id)

    def at_risk(now):
        told = draw(world.coordinator, now=now)[0]
        return [one["unit"] for one in told["decide"] if one["kind"] == "at_risk"]

    assert at_risk(NOW + 3 * H + 1) == []
    assert at_risk(NOW + 4 * H + 1) == ["far"]
    world.now = NOW + 2 * H
    send(world, Move.PROMISE, *world.tags(kit), promised_at=NOW + 5 * H, booking=giver.id)
    assert at_risk(NOW + 2 * H) == ["far"]


def test_what_went_back_to_the_house_is_fetched_there(world):
    kit = world.a_kit_type(pieces=1)
    giver = book(world, "main", (kit, 1), start=H, end=3 * H)
    taker = takes(world, giver, 1, 4 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, *world.tags(kit), booking=giver.id)
    world.now = NOW + 2 * H
    send(world, Move.BACK, *world.tags(kit))
    (pickup,) = booked.handover(world.coordinator, taker.id, now=world.now)["pickups"]
    assert pickup["from"] == "house"
    told = draw(world.coordinator, now=world.now)[0]
    assert "far" in {one["unit"] for one in told["going_out"]}


def test_a_place_is_told_where_the_unit_was_last(world):
    kit = world.a_kit_type(count=1)
    world.a_shoot_day("main", NOW + H, NOW + 3 * H, location="Quay Lane")
    giver = book(world, "main", (kit, 1), start=H, end=3 * H + 1800)
    taker = takes(world, giver, 1, 4 * H, 6 * H)
    (pickup,) = booked.handover(world.coordinator, taker.id, now=world.now)["pickups"]
    assert pickup["place"] == "Quay Lane"


def test_a_longer_swap_check_stops_no_other_change_of_the_giver(world):
    kit = world.a_kit_type(count=5)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    takes(world, giver, 4, 3 * H, 6 * H)
    own_pool.change_pool(world.coordinator, {"swap_check_s": H}, version=None, now=NOW)
    granted(change(world, giver, lines=(Wanted(kit.id, 5, line=giver.lines[0].id),)))


def test_pencils_and_bookings_from_one_giver_are_counted_apart(world):
    kit = world.a_kit_type(count=8, check_in_s=2 * H)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    takes(world, giver, 4, 3 * H, 6 * H, unit="second", state=PENCIL)
    takes(world, giver, 4, 3 * H, 6 * H)
    told, _ = availability.hours(world.coordinator, kit.id, date(2026, 11, 25), now=NOW)
    at = next(hour for hour in told["hours"] if hour["start"] == NOW + 3 * H)
    assert (at["booked"], at["pencilled"], at["if_pencils_fall"]) == (4, 4, 4)


def test_kit_that_is_due_for_its_taker_is_not_counted_as_late_on_other_days(world):
    kit = world.a_kit_type(count=2)
    giver = book(world, "main", (kit, 1), start=H, end=3 * H)
    takes(world, giver, 1, 4 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 1), booking=giver.id)
    world.now = NOW + 3 * H
    told, _ = availability.hours(world.coordinator, kit.id, date(2026, 11, 26), now=world.now)
    assert {hour["free"] for hour in told["hours"]} == {2}
    book(world, "second", (kit, 2), start=15 * H, end=16 * H)


def test_a_named_piece_that_is_handed_on_leaves_the_line_that_named_it(world):
    kit = world.a_kit_type(pieces=4, check_in_s=2 * H)
    one = world.pieces(kit)[0]
    ask = an_ask(world, "main", one, (kit, 3), start=0, end=3 * H)
    giver = granted(answer_to(world, ask))
    named = next(line for line in giver.lines if line.item)
    send(world, Move.OUT, one.tag, booking=giver.id)
    any_of = next(line for line in giver.lines if not line.item)
    ask = an_ask(world, "second", start=3 * H, end=5 * H)
    ask = replace(ask, lines=(Wanted(kit.id, 1, straight_from=any_of.id),))
    taker = granted(answer_to(world, ask))
    send(world, Move.HAND_OVER, one.tag, booking=taker.id)
    lines = {line.id: line for line in world.booking(giver.id).lines}
    assert lines[named.id].state is BookingState.RELEASED
    assert lines[any_of.id].quantity == 3


def test_who_follows_another_booking_is_told_so_in_its_own_journal(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    taker = takes(world, giver, 4, 10 * H, 11 * H)
    (line,) = taker.lines
    granted(change(world, giver, window=hours(1, 2)))
    release(world, giver)
    assert world.booking(taker.id).version == taker.version + 2
    with read(world.pool) as stores:
        entries = stores.journal.page(kind="booking", subject=taker.id)
    first, second = ((one.before, one.after) for one in entries if one.verb == "changed")
    tied, sooner = [line.id, giver.lines[0].id, NOW + 3 * H], NOW + 2 * H
    assert first == ({"straight": tied}, {"straight": [*tied[:2], sooner]})
    assert second == ({"straight": [*tied[:2], sooner]}, {"straight": [line.id, None, sooner]})


def test_a_check_in_that_grows_past_the_takers_time_is_refused(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    takes(world, giver, 4, 3 * H, 5 * H)
    longer = Wanted(kit.id, 4, check_in_s=10 * H, line=giver.lines[0].id)
    with pytest.raises(Conflict, match="who need them by"):
        change(world, giver, lines=(longer,))


def test_a_pencil_keeps_no_giver_from_shrinking(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    takes(world, giver, 4, 3 * H, 5 * H, state=PENCIL)
    release(world, giver, quantities={giver.lines[0].id: 3})


def test_a_taker_that_begins_too_early_for_its_giver_is_tied_no_more(world):
    kit = world.a_kit_type(count=8)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    taker = takes(world, giver, 4, 3 * H, 5 * H)
    granted(change(world, taker, window=hours(2, 5)))
    assert tie(world, taker) == [None]


def test_a_confirmed_pencil_that_came_too_late_for_its_giver_is_tied_no_more(world):
    kit = world.a_kit_type(count=8)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    pencil = takes(world, giver, 4, 3 * H, 5 * H, state=PENCIL)
    own_pool.change_pool(world.coordinator, {"swap_check_s": H}, version=None, now=NOW)
    granted(bookings.confirm(world.coordinator, pencil.id, version=None, now=NOW))
    assert tie(world, pencil) == [None]
