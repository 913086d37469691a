"""Kit that is booked straight from another unit as it changes hands, and what each of them is told."""

from dataclasses import replace

import pytest

from crossload.domain.booking import BookingState
from crossload.domain.custody import Move
from crossload.domain.kit import Tracking
from crossload.domain.window import Window
from crossload.usecases import booked, checks
from crossload.usecases.board import draw
from crossload.usecases.errors import Conflict, Invalid
from crossload.usecases.transaction import read
from crossload.usecases.undoing import undo_event
from straight_worlds import at_once, change, release, takes, taking, tie
from worlds import HOUR, NOW, an_ask, answer_to, book, granted, send

PENCIL = BookingState.PENCILLED
H = HOUR


@pytest.fixture
def world(world):
    at_once(world)
    yield world
    assert checks.check(world.coordinator, now=world.now) == []


def test_what_is_used_up_is_not_handed_on(world):
    kit = world.a_kit_type(count=8, tracking=Tracking.CONSUMABLE)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    assert tie(world, takes(world, giver, 2, 3 * H, 5 * H)) == [None]


def test_a_pencil_takes_nothing_from_who_may_pass_it_by(world):
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    takes(world, giver, 4, 3 * H, 5 * H, unit="second", state=PENCIL)
    ask = taking(world, giver, 4, 3 * H, 5 * H, override_pencils=True)
    assert tie(world, granted(answer_to(world, ask))) == [giver.lines[0].id]


def test_what_has_gone_over_leaves_the_rest_for_another(world):
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    taker = takes(world, giver, 2, 3 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 4), booking=giver.id)
    world.now = NOW + 2 * H
    send(world, Move.HAND_OVER, (kit, 2), booking=taker.id)
    world.now = NOW
    takes(world, giver, 2, 3 * H, 6 * H, unit="second")


def test_a_piece_by_name_is_taken_from_who_has_any(world):
    kit = world.a_kit_type(pieces=1, check_in_s=2 * H)
    (one,) = world.pieces(kit)
    giver = book(world, "main", (kit, 1), start=H, end=3 * H)
    ask = taking(world, giver, 1, 3 * H, 6 * H)
    taker = granted(answer_to(world, replace(ask, lines=(replace(ask.lines[0], item=one.id),))))
    assert tie(world, taker) == [giver.lines[0].id]


def test_a_taker_with_part_of_it_over_can_still_be_changed(world):
    kit = world.a_kit_type(count=2, check_in_s=2 * H)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    taker = takes(world, giver, 2, 3 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 2), booking=giver.id)
    world.now = NOW + 2 * H
    send(world, Move.HAND_OVER, (kit, 1), booking=taker.id)
    longer = Window(NOW + 3 * H, NOW + 7 * H)
    assert granted(change(world, taker, window=longer)).lines[0].straight_from == giver.lines[0].id


def test_what_has_gone_over_is_not_kept_back_again(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    taker = takes(world, giver, 2, 3 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 1), booking=giver.id)
    world.now = NOW + 2 * H
    send(world, Move.HAND_OVER, (kit, 1), booking=taker.id)
    release(world, giver, quantities={giver.lines[0].id: 2})


def test_a_named_piece_goes_from_one_person_to_another_within_a_booking(world):
    kit = world.a_kit_type(pieces=1)
    (one,) = world.pieces(kit)
    mine = granted(answer_to(world, an_ask(world, "main", one, start=0)))
    send(world, Move.OUT, one.tag, booking=mine.id, person="Ann")
    send(world, Move.HAND_OVER, one.tag, booking=mine.id, person="Ben")
    assert world.booking(mine.id).state is BookingState.CONFIRMED


def test_a_hand_over_that_was_not_booked_straight_leaves_the_line_as_it_was(world):
    kit = world.a_kit_type(pieces=4)
    mine = book(world, "main", (kit, 2), start=0)
    theirs = book(world, "second", (kit, 1), start=0)
    tag = world.tags(kit)[0]
    send(world, Move.OUT, tag, booking=mine.id)
    send(world, Move.HAND_OVER, tag, booking=theirs.id)
    (line,) = world.booking(mine.id).lines
    assert (line.quantity, line.released) == (2, 0)


def test_a_line_that_went_over_whole_has_no_takers_any_more(world):
    kit = world.a_kit_type(count=4, check_in_s=2 * H)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    taker = takes(world, giver, 2, 4 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 2), booking=giver.id)
    world.now = NOW + 3 * H
    send(world, Move.HAND_OVER, (kit, 2), booking=taker.id)
    assert tie(world, taker) == [None]


def test_a_booking_with_another_line_stands_when_one_went_over(world):
    kit, other = world.a_kit_type(count=4), world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 2), (other, 1), start=H, end=3 * H)
    taker = takes(world, giver, 2, 4 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 2), booking=giver.id)
    world.now = NOW + 3 * H
    send(world, Move.HAND_OVER, (kit, 2), booking=taker.id)
    assert world.booking(giver.id).state is BookingState.CONFIRMED


def test_kit_without_a_booking_is_handed_on_to_one(world):
    kit = world.a_kit_type(pieces=2)
    theirs = book(world, "second", (kit, 1), start=0)
    tag = world.tags(kit)[0]
    send(world, Move.OUT, tag, unit=world.units["main"])
    (moved,) = send(world, Move.HAND_OVER, tag, booking=theirs.id)["moved"]
    assert moved["unit_id"] == world.units["second"]


@pytest.mark.parametrize("kind", ["count", "serial"])
def test_what_came_straight_is_not_undone_by_half(world, kind):
    kit = world.a_kit_type(**({"pieces": 2} if kind == "serial" else {"count": 2}))
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    taker = takes(world, giver, 2, 3 * H, 6 * H)
    what = world.tags(kit) if kind == "serial" else [(kit, 2)]
    world.now = NOW + H
    send(world, Move.OUT, *what, booking=giver.id)
    told = send(world, Move.OUT, *what, booking=taker.id)
    with pytest.raises(Conflict, match="hand it back to them"):
        undo_event(world.coordinator, told["id"], now=world.now)


def test_what_came_back_to_the_house_is_not_taken_from_the_giver(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    taker = takes(world, giver, 2, 3 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 4), booking=giver.id)
    world.now = NOW + 2 * H
    send(world, Move.BACK, (kit, 2), booking=giver.id)
    send(world, Move.OUT, (kit, 2), booking=taker.id)
    with read(world.pool) as stores:
        out = [(c.unit, c.quantity) for c in stores.custodies.out([kit.id])]
    assert out == [(world.units["far"], 2)]


def test_counts_that_are_not_booked_straight_go_back_and_out(world):
    kit = world.a_kit_type(count=4)
    mine = book(world, "main", (kit, 2), start=0)
    theirs = book(world, "second", (kit, 2), start=0)
    send(world, Move.OUT, (kit, 2), booking=mine.id)
    with pytest.raises(Invalid, match="unless they are booked straight"):
        send(world, Move.HAND_OVER, (kit, 2), booking=theirs.id)


def test_where_it_came_from_is_told_after_its_time_too(world):
    kit = world.a_kit_type(count=1)
    giver = book(world, "main", (kit, 1), start=H, end=3 * H)
    taker = takes(world, giver, 1, 4 * H, 6 * H)
    world.now = NOW + 7 * H
    (pickup,) = booked.handover(world.coordinator, taker.id, now=world.now)["pickups"]
    assert pickup["from"] == "unit"


def test_two_takers_of_one_unit_are_told_apart(world):
    kit = world.a_kit_type(count=2)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    first, _ = (takes(world, giver, 1, 4 * H, 6 * H) for _ in range(2))
    told = booked.handover(world.coordinator, giver.id, now=NOW)["hand_on"]
    assert [len(one["lines"]) for one in told] == [1, 1]
    assert booked.handover(world.coordinator, first.id, now=NOW)["hand_on"] == []


def test_a_unit_without_a_shoot_day_hands_on_at_its_base(world):
    kit = world.a_kit_type(count=1)
    giver = book(world, "far", (kit, 1), start=H, end=3 * H)
    taker = takes(world, giver, 1, 4 * H, 6 * H, unit="main")
    (pickup,) = booked.handover(world.coordinator, taker.id, now=NOW)["pickups"]
    assert pickup["place"] == "Fellgate Barn"


def test_a_pencil_that_would_take_over_is_not_told_to_the_giver(world):
    kit = world.a_kit_type(count=4)
    giver = book(world, "main", (kit, 4), start=H, end=3 * H)
    takes(world, giver, 4, 4 * H, 6 * H, state=PENCIL)
    assert booked.handover(world.coordinator, giver.id, now=NOW)["hand_on"] == []
    told = draw(world.coordinator, now=NOW)[0]
    assert [(one["unit"], one["pieces"]) for one in told["coming_back"]] == [("main", 4)]


def test_the_last_shoot_day_says_where(world):
    kit = world.a_kit_type(count=1)
    world.a_shoot_day("main", NOW + 2 * H, NOW + 6 * H, 1, location="Quay Lane")
    world.a_shoot_day("main", NOW + 15 * H, NOW + 20 * H, 2, location="Marsh road")
    giver = book(world, "main", (kit, 1), start=10 * H, end=20 * H)
    taker = takes(world, giver, 1, 21 * H, 22 * H)
    (pickup,) = booked.handover(world.coordinator, taker.id, now=NOW)["pickups"]
    assert pickup["place"] == "Marsh road"


def test_a_piece_goes_out_on_the_line_that_it_comes_to_from_where_it_is(world):
    kit = world.a_kit_type(pieces=3, check_in_s=2 * H)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    ask = taking(world, giver, 1, 3 * H, 6 * H)
    house = an_ask(world, "far", (kit, 1), start=3 * H, end=6 * H).lines
    taker = granted(answer_to(world, replace(ask, lines=(*house, *ask.lines))))
    one, _, three = world.tags(kit)
    world.now = NOW + H
    send(world, Move.OUT, one, booking=giver.id)
    world.now = NOW + 3 * H
    send(world, Move.OUT, one, three, booking=taker.id)
    pieces = {item.id: item.tag for item in world.pieces(kit)}
    served = {
        bool(line.straight_from): [pieces[piece] for piece in line.pieces]
        for line in world.booking(taker.id).lines
    }
    assert served == {False: [three], True: [one]}


def test_what_goes_over_is_in_the_givers_journal(world):
    kit = world.a_kit_type(count=2)
    giver = book(world, "main", (kit, 2), start=H, end=3 * H)
    taker = takes(world, giver, 2, 4 * H, 6 * H)
    world.now = NOW + H
    send(world, Move.OUT, (kit, 2), booking=giver.id)
    world.now = NOW + 3 * H
    send(world, Move.HAND_OVER, (kit, 2), booking=taker.id)
    with read(world.pool) as stores:
        last = stores.journal.page(kind="booking", subject=giver.id)[-1]
    assert (last.verb, last.before["state"], last.after["state"]) == (
        "released", "confirmed", "released"
    )  # fmt: skip
    assert last.after["released"] == [[giver.lines[0].id, 2]]
