"""Kit that goes straight from one unit to another: asked for, offered, told, changed, handed on."""

from dataclasses import replace
from datetime import date

import pytest

from crossload.domain.booking import BookingState, Wanted
from crossload.domain.custody import Move
from crossload.domain.window import Window
from crossload.usecases import availability, booked, bookings, checks, own_pool
from crossload.usecases.board import draw
from crossload.usecases.bookings import Changes
from crossload.usecases.errors import Conflict, Invalid
from crossload.usecases.granting import Granted, Refused
from crossload.usecases.names import Names
from crossload.usecases.options import find_options
from crossload.usecases.transaction import read, write
from worlds import HOUR, NOW, an_ask, answer_to, book, book_in_vain, granted, refused, send

WAY, SWAP = 2700, 1800
END = 4 * HOUR
START = END + WAY + SWAP


@pytest.fixture
def world(world):
    """Main has its kit from 1 to 4 hours on; two hours of check-in would follow at the house."""
    world.a_unit("far", way_s=WAY, base="Fellgate Barn")
    yield world
    assert checks.check(world.coordinator, now=world.now) == []


@pytest.fixture(params=["count", "serial"])
def kit(world, request):
    number = {"count": 6} if request.param == "count" else {"pieces": 6}
    return world.a_kit_type(check_in_s=2 * HOUR, prep_s=HOUR, **number)


def main_has(world, kit, quantity=4):
    return book(world, "main", (kit, quantity), start=HOUR, end=END)


def taking(world, giver, quantity, start=START, end=START + HOUR, **more):
    """An ask of the far unit that takes so many over from the first line of a booking."""
    (line, *_) = giver.lines
    ask = an_ask(world, "far", start=start, end=end, **more)
    return replace(ask, lines=(Wanted(line.kit_type, quantity, straight_from=line.id),))


def change(world, booking, **changes):
    return bookings.change(
        world.coordinator, booking.id, Changes(**changes), version=None, now=world.now
    )


def test_only_the_way_and_the_swap_check_count_between_units(world, kit):
    giver = main_has(world, kit)
    book_in_vain(world, "far", (kit, 4), start=START, end=START + HOUR)
    (line,) = granted(answer_to(world, taking(world, giver, 4))).lines
    assert line.straight_from == giver.lines[0].id
    assert line.occupied.start == giver.window.end
    assert line.prep_s is None, "its own, if the hand-over falls"


def test_a_second_too_early_it_goes_through_the_house(world, kit):
    giver = main_has(world, kit)
    judged = refused(answer_to(world, taking(world, giver, 4, start=START - 1)))
    assert judged.slots[0].straight_from is None


def test_what_is_handed_on_is_held_all_the_while_between(world, kit):
    giver = main_has(world, kit)
    book(world, "second", (kit, 4), start=8 * HOUR, end=9 * HOUR)
    refused(answer_to(world, taking(world, giver, 4, start=20 * HOUR, end=21 * HOUR)))
    granted(answer_to(world, taking(world, giver, 2, start=20 * HOUR, end=21 * HOUR)))


def test_the_swap_check_is_the_pools_own(world, kit):
    giver = main_has(world, kit)
    own_pool.change_pool(world.coordinator, {"swap_check_s": 0}, version=None, now=NOW)
    granted(answer_to(world, taking(world, giver, 4, start=START - SWAP)))


def test_kit_is_handed_on_once(world, kit):
    giver = main_has(world, kit, 6)
    granted(answer_to(world, taking(world, giver, 5)))
    refused(answer_to(world, taking(world, giver, 2)))
    second = replace(taking(world, giver, 1), unit=world.units["second"])
    granted(answer_to(world, second))
    refused(answer_to(world, replace(second, unit=world.units["splinter"])))


def test_it_is_handed_on_a_second_time_with_the_same_rule(world, kit):
    giver = main_has(world, kit)
    first = granted(answer_to(world, taking(world, giver, 4, end=START + 3 * HOUR)))
    again = replace(
        taking(world, first, 4, start=START + 4 * HOUR, end=START + 5 * HOUR),
        unit=world.units["second"],
    )
    assert granted(answer_to(world, again)).lines[0].straight_from == first.lines[0].id


@pytest.mark.parametrize("unit", ["main", "far"])
def test_nobody_takes_over_from_themselves_or_from_a_pencil(world, kit, unit):
    state = BookingState.PENCILLED if unit == "far" else BookingState.CONFIRMED
    giver = book(world, "main", (kit, 4), start=HOUR, end=END, state=state)
    ask = replace(taking(world, giver, 1), unit=world.units[unit])
    (line,) = granted(answer_to(world, ask)).lines
    assert line.straight_from is None


def test_a_line_of_nobodys_is_not_taken_over_from(world, kit):
    body = {
        "unit_id": world.units["far"], "start": NOW + START, "end": NOW + START + HOUR,
        "state": BookingState.CONFIRMED, "accept_part": False, "override_pencils": False,
        "purpose": "", "who_pays": "", "order_number": "", "pencil_expires_at": None,
        "lines": [
            {"kit_type_id": kit.id, "quantity": 1, "item_id": None, "id": None, "prep_s": None,
             "check_in_s": None, "straight_from_id": 12345}
        ],
    }  # fmt: skip
    with pytest.raises(Invalid, match="no such line"):
        booked.judged(world.coordinator, body, now=NOW)


def test_a_refusal_offers_what_another_unit_hands_on(world, kit):
    main_has(world, kit)
    judged = book_in_vain(world, "far", (kit, 5), start=START, end=START + HOUR)
    with read(world.pool) as stores:
        options = find_options(Names(stores), judged.ask, NOW)
    first = options[0]
    assert first.kind == "straight"
    assert [(w.quantity, bool(w.straight_from)) for w in first.ask.lines] == [(2, False), (3, True)]
    assert len(granted(answer_to(world, first.ask)).lines) == 2


def test_nothing_is_offered_straight_that_ends_too_late(world, kit):
    main_has(world, kit)
    judged = book_in_vain(world, "far", (kit, 5), start=START - 60, end=START + HOUR)
    with read(world.pool) as stores:
        options = find_options(Names(stores), judged.ask, NOW)
    assert "straight" not in {option.kind for option in options}


def test_a_yes_says_where_and_when_the_other_unit_hands_it_over_and_whom_to_ask(world, kit):
    world.a_person("Orla Fenn", "sound assistant", "01632 960111", "main")
    world.a_person("Bram Ister", "sound assistant", "01632 960222", "far")
    world.a_shoot_day("main", NOW + HOUR, NOW + END, location="Sluice lane")
    giver = main_has(world, kit)
    taker = granted(answer_to(world, taking(world, giver, 4)))
    (pickup,) = booked.handover(world.coordinator, taker.id, now=NOW)["pickups"]
    told = {key: pickup[key] for key in ("from", "unit", "at", "place", "ask_for", "phone")}
    assert told == {
        "from": "unit", "unit": "main", "at": NOW + END, "place": "Sluice lane",
        "ask_for": "Orla Fenn", "phone": "01632 960111",
    }  # fmt: skip
    (onward,) = booked.handover(world.coordinator, giver.id, now=NOW)["hand_on"]
    assert (onward["unit"], onward["ask_for"], onward["at"]) == ("far", "Bram Ister", NOW + END)
    assert [line["quantity"] for line in onward["lines"]] == [4]


def test_a_giver_that_falls_leaves_the_kit_to_be_fetched_from_the_house(world, kit):
    giver = main_has(world, kit)
    taker = granted(answer_to(world, taking(world, giver, 4)))
    bookings.release(world.coordinator, giver.id, version=None, now=NOW)
    (pickup,) = booked.handover(world.coordinator, taker.id, now=NOW)["pickups"]
    assert pickup["from"] == "house"


def test_a_taker_that_falls_leaves_no_shortage_behind(world, kit):
    giver = main_has(world, kit)
    taker = granted(answer_to(world, taking(world, giver, 4, end=START + 60)))
    book_in_vain(world, "second", (kit, 3), start=START + 2 * HOUR - SWAP, end=START + 4 * HOUR)
    bookings.release(world.coordinator, taker.id, version=None, now=NOW)
    judged = book_in_vain(world, "second", (kit, 3), start=END + 3 * HOUR - 1, end=END + 4 * HOUR)
    assert not judged.grants
    book(world, "second", (kit, 6), start=END + 3 * HOUR, end=END + 4 * HOUR)


def test_a_giver_cannot_end_past_the_hand_over(world, kit):
    giver = main_has(world, kit)
    granted(answer_to(world, taking(world, giver, 4)))
    with pytest.raises(Conflict, match=r"4 of .* go straight from here to far, who need them by"):
        change(world, giver, window=Window(giver.window.start, giver.window.end + 1))


def test_a_giver_that_ends_sooner_is_followed(world, kit):
    giver = main_has(world, kit)
    taker = granted(answer_to(world, taking(world, giver, 4)))
    granted(change(world, giver, window=Window(giver.window.start, giver.window.end - HOUR)))
    (line,) = world.booking(taker.id).lines
    assert line.occupied.start == giver.window.end - HOUR
    book_in_vain(world, "second", (kit, 3), start=END, end=START)


def test_a_changed_taker_still_takes_over(world, kit):
    giver = main_has(world, kit)
    taker = granted(answer_to(world, taking(world, giver, 4)))
    end = taker.window.end + HOUR
    (line,) = granted(change(world, taker, window=Window(taker.window.start, end))).lines
    assert line.straight_from == giver.lines[0].id
    early = Window(taker.window.start - 1, end)
    assert isinstance(change(world, taker, window=early), Refused)


def test_a_pencil_that_takes_over_is_confirmed_as_such(world, kit):
    giver = main_has(world, kit)
    pencil = granted(answer_to(world, taking(world, giver, 4, state=BookingState.PENCILLED)))
    answer = bookings.confirm(world.coordinator, pencil.id, version=None, now=NOW)
    assert isinstance(answer, Granted)
    assert answer.booking.lines[0].straight_from == giver.lines[0].id


def test_a_named_piece_is_taken_over_by_name(world):
    kit = world.a_kit_type(pieces=2, check_in_s=2 * HOUR)
    first, _ = world.pieces(kit)
    giver = granted(answer_to(world, an_ask(world, "main", first, start=HOUR, end=END)))
    book_in_vain(world, "far", first, start=START, end=START + HOUR)
    ask = taking(world, giver, 1)
    ask = replace(ask, lines=(replace(ask.lines[0], item=first.id),))
    assert granted(answer_to(world, ask)).lines[0].straight_from == giver.lines[0].id


def test_what_another_names_is_not_promised_straight(world):
    """Piece 2 is free for the taker, but the giver has piece 1, which somebody names then."""
    kit = world.a_kit_type(pieces=2, check_in_s=HOUR)
    first, second = world.pieces(kit)
    giver = book(world, "main", (kit, 1), start=HOUR, end=END)
    book(world, "second", second, start=HOUR, end=END - HOUR)
    book(world, "splinter", first, start=START, end=START + HOUR)
    refused(answer_to(world, taking(world, giver, 1)))


def test_kit_is_handed_on_by_scan_without_the_house(world):
    kit = world.a_kit_type(pieces=2, check_in_s=2 * HOUR)
    tag = world.tags(kit)[0]
    giver = book(world, "main", (kit, 2), start=HOUR, end=END)
    taker = granted(answer_to(world, taking(world, giver, 2)))
    world.now = NOW + HOUR
    send(world, Move.OUT, tag, booking=giver.id)
    world.now = NOW + END
    send(world, Move.HAND_OVER, tag, booking=taker.id)
    (line,) = world.booking(taker.id).lines
    assert line.pieces == (next(item.id for item in world.pieces(kit) if item.tag == tag),)


def figures(world, kit):
    """By the hour: (free, free if pencils fall, booked, pencilled)."""
    told, _ = availability.hours(world.coordinator, kit.id, date(2026, 11, 25), now=NOW)
    return [(h["free"], h["if_pencils_fall"], h["booked"], h["pencilled"]) for h in told["hours"]]


@pytest.mark.parametrize("state", [BookingState.CONFIRMED, BookingState.PENCILLED])
def test_the_days_count_a_hand_over_once(world, kit, state):
    giver = main_has(world, kit)
    before = figures(world, kit)
    granted(answer_to(world, taking(world, giver, 4, end=START + 2 * HOUR, state=state)))
    after = figures(world, kit)
    assert min(free for free, *_ in after) == 2, "four of six are away, whoever has them"
    if state is BookingState.PENCILLED:
        assert [fall for _, fall, *_ in after] == [fall for _, fall, *_ in before]


def board(world):
    return draw(world.coordinator, now=world.now)[0]


def test_the_board_has_what_the_house_gives_and_gets_and_not_what_goes_straight(world, kit):
    giver = main_has(world, kit)
    own = an_ask(world, "far", (kit, 1), start=START, end=START + HOUR)
    ask = taking(world, giver, 3)
    granted(answer_to(world, replace(ask, lines=(*ask.lines, *own.lines))))
    told = board(world)
    assert [(one["unit"], one["pieces"]) for one in told["going_out"]] == [("main", 4), ("far", 1)]
    assert [(one["unit"], one["pieces"]) for one in told["coming_back"]] == [
        ("main", 1),
        ("far", 4),
    ]


def test_once_it_is_out_the_board_still_has_back_only_what_comes_to_the_house(world):
    kit = world.a_kit_type(pieces=4, check_in_s=2 * HOUR)
    giver = main_has(world, kit)
    granted(answer_to(world, taking(world, giver, 3)))
    world.now = NOW + HOUR
    send(world, Move.OUT, *world.tags(kit), booking=giver.id)
    told = board(world)
    assert [(one["unit"], one["pieces"]) for one in told["coming_back"]] == [
        ("main", 1),
        ("far", 3),
    ]
    world.now = NOW + END + 1
    assert [one["pieces"] for one in board(world)["coming_back"] if one["late"]] == [4]


def test_a_return_is_reminded_of_with_what_goes_straight_on_and_nothing_of_it_is_prepared(world):
    kit = world.a_kit_type(pieces=4, check_in_s=2 * HOUR)
    giver = main_has(world, kit)
    taker = granted(answer_to(world, taking(world, giver, 3)))
    world.now = NOW + HOUR
    send(world, Move.OUT, *world.tags(kit), booking=giver.id)
    told = board(world)["reminders"]
    back = next(one for one in told if one["kind"] == "return_due")
    assert back["straight"] == [{"unit": "far", "kit_type": kit.name, "quantity": 3}]
    assert taker.id not in {one["booking_id"] for one in told if one["kind"] == "prepare"}


def test_a_hand_over_that_no_longer_begins_where_the_giver_ends_is_found(world, kit):
    giver = main_has(world, kit)
    (line,) = granted(answer_to(world, taking(world, giver, 4))).lines
    with write(world.pool, NOW) as stores:
        stores.bookings.change_line(line.id, from_s=line.occupied.start + 1)
    sentences = checks.check(world.coordinator, now=NOW)
    assert any("takes" in one and "not from where that one ends" in one for one in sentences)
    with write(world.pool, NOW) as stores:
        stores.bookings.change_line(line.id, from_s=line.occupied.start)
