"""A yes says where the kit is, when and where it is handed over, and by whom; and its cautions."""

from dataclasses import replace

import pytest

from crossload.domain.custody import Move
from crossload.domain.instants import parse_instant
from crossload.domain.kit import Box
from crossload.domain.window import Window
from crossload.storage.ids import new_id
from crossload.usecases import booked, bookings, handing, own_pool
from crossload.usecases.cautions import Given, cautions, consents
from crossload.usecases.granting import Granted
from crossload.usecases.moving import Event, Piece
from crossload.usecases.names import Names
from crossload.usecases.transaction import read, write
from worlds import HOUR, NOW, an_ask

WEEK = {day: [["09:00", "18:00"]] for day in ("mon", "tue", "wed", "thu", "fri")}
NOBODY = "free, nobody to bring it"


def handed_over(world, kit, start, end, unit="second", quantity=1):
    """The pickups of a booking between two instants of the local day or later."""
    ask = an_ask(world, unit, (kit, quantity))
    ask = replace(ask, window=Window(at(start), at(end)))
    answer = bookings.book(world.coordinator, ask, now=world.now)
    assert isinstance(answer, Granted)
    return booked.handover(world.coordinator, answer.booking.id, now=world.now)["pickups"]


def at(text):
    return parse_instant(f"{text}:00Z")


# NOW is 2026-11-25 10:00, a Wednesday in winter time: London is on UTC.


@pytest.mark.parametrize(
    ("start", "collected"),
    [
        pytest.param("2026-11-26T12:00", "2026-11-26T12:00", id="while it is open"),
        pytest.param("2026-11-26T18:00", "2026-11-26T18:00", id="as it closes"),
        pytest.param("2026-11-26T06:00", "2026-11-25T18:00", id="the evening before a day"),
        pytest.param("2026-11-26T20:00", "2026-11-26T18:00", id="before it closes, for a night"),
        pytest.param("2026-11-30T06:00", "2026-11-27T18:00", id="on Friday for Monday morning"),
    ],
)
def test_kit_is_collected_when_the_house_was_last_open_before_it_is_needed(world, start, collected):
    world.opens(WEEK)
    (pickup,) = handed_over(world, world.a_kit_type(count=3), start, "2026-12-05T20:00")
    assert (pickup["at"], pickup["note"]) == (at(collected), None)
    closes = f"{collected[:10]}T18:00"
    assert pickup["open_until"] == (None if collected == closes else at(closes))


def test_the_way_to_the_units_base_is_left_before_the_booking_starts(world):
    world.opens(WEEK)
    world.a_unit("far", way_s=4 * HOUR)
    kit = world.a_kit_type(count=3)
    (pickup,) = handed_over(world, kit, "2026-11-26T15:00", "2026-11-26T20:00", unit="far")
    assert pickup["at"] == at("2026-11-26T11:00")
    (pickup,) = handed_over(world, kit, "2026-11-26T12:00", "2026-11-26T20:00", unit="far")
    assert pickup["at"] == at("2026-11-25T18:00")


def test_what_cannot_be_handed_over_in_time_is_free_and_nobody_brings_it(world):
    world.opens(WEEK)
    kit = world.a_kit_type(count=3)
    world.now = at("2026-11-25T19:00")  # the house has closed
    (pickup,) = handed_over(world, kit, "2026-11-25T21:00", "2026-11-26T05:00")
    assert (pickup["at"], pickup["note"], pickup["open_until"]) == (None, NOBODY, None)
    (pickup,) = handed_over(world, kit, "2026-11-26T08:59", "2026-11-26T20:00")
    assert pickup["note"] == NOBODY
    (pickup,) = handed_over(world, kit, "2026-11-26T09:00", "2026-11-26T20:00")
    assert (pickup["at"], pickup["note"]) == (at("2026-11-26T09:00"), None)


def test_kit_that_another_unit_has_until_then_is_not_in_the_house_the_evening_before(world):
    world.opens(WEEK)
    kit, other = world.a_kit_type(count=3), world.a_kit_type(count=3)
    handed_over(world, kit, "2026-11-26T06:00", "2026-11-26T20:00", unit="main", quantity=2)
    (pickup,) = handed_over(world, kit, "2026-11-26T20:00", "2026-11-27T05:00", quantity=1)
    assert pickup["at"] == at("2026-11-26T18:00")  # the third is in the house all day
    ask = replace(
        an_ask(world, "splinter", (kit, 2), (other, 2)),
        window=Window(at("2026-11-26T20:00"), at("2026-11-27T05:00")),
    )
    answer = bookings.book(world.coordinator, ask, now=NOW)
    assert isinstance(answer, Granted)
    there, elsewhere = booked.handover(world.coordinator, answer.booking.id, now=NOW)["pickups"]
    assert (there["at"], there["lines"][0]["kit_type_id"]) == (at("2026-11-26T18:00"), other.id)
    assert (elsewhere["note"], elsewhere["lines"][0]["kit_type_id"]) == (NOBODY, kit.id)


def test_kit_that_is_late_is_not_told_to_be_fetched_before_it_is_expected(world):
    world.opens(WEEK)
    kit = world.a_kit_type(count=1)
    ask = an_ask(world, "main", (kit, 1), start=0, end=HOUR)
    late = bookings.book(world.coordinator, ask, now=NOW).booking
    event = Event("out", Move.OUT, NOW, (Piece("", kit.id, 1),), booking=late.id)
    handing.record(world.coordinator, event, "digest", now=NOW)
    world.now = NOW + 2 * HOUR  # expected back at the next midnight but one
    (pickup,) = handed_over(world, kit, "2026-11-27T00:00", "2026-11-27T20:00")
    assert pickup["note"] == NOBODY


def test_a_booking_that_has_begun_is_not_handed_over_in_the_past(world):
    kit = world.a_kit_type(count=3)
    (pickup,) = handed_over(world, kit, "2026-11-25T09:00", "2026-11-25T20:00")
    assert pickup["note"] == NOBODY


def test_a_house_without_hours_hands_over_at_any_time(world):
    kit = world.a_kit_type(count=3)
    (pickup,) = handed_over(world, kit, "2026-11-29T03:00", "2026-11-29T20:00")
    assert (pickup["at"], pickup["open_until"]) == (at("2026-11-29T03:00"), 4_102_444_800)


def test_somebody_of_the_house_with_a_telephone_is_asked_for_the_counter_first(world):
    kit = world.a_kit_type(count=9)
    own_pool.change_pool(world.coordinator, {"phone": "01632 960100"}, version=None, now=NOW)
    own_pool.change_pool(world.coordinator, {"place": "Old Maltings"}, version=None, now=NOW)

    def pickup():
        return handed_over(world, kit, "2026-11-26T12:00", "2026-11-26T13:00")[0]

    assert (pickup()["ask_for"], pickup()["phone"]) == (None, "01632 960100")
    world.a_person("Unit Hand", "assistant", "07700 900111", unit="main")
    world.a_person("No Number", "counter", "")
    assert pickup()["ask_for"] is None
    world.a_person("Desk Hand", "coordinator", "01632 960101")
    world.a_person("Counter Hand", "counter", "01632 960102")
    told = pickup()
    assert (told["ask_for"], told["phone"]) == ("Counter Hand", "01632 960102")
    assert (told["place"], told["from"]) == ("Old Maltings", "house")


def test_the_boxes_of_each_line_are_named_in_the_order_of_their_numbers(world):
    counted, pieces = world.a_kit_type(count=9), world.a_kit_type(pieces=2)
    made = [Box(new_id(), number) for number in ("12", "3", "7")]
    with write(world.pool, NOW) as stores:
        stores.boxes.add(*made)
        stores.boxes.set_count(made[0].id, counted.id, 4)
        stores.boxes.set_count(made[1].id, counted.id, 5)
        stores.items.change(stores.items.all(kit_type=pieces.id)[1].id, None, home_box=made[2].id)
    ask = an_ask(world, "main", (counted, 6), world.pieces(pieces)[0])
    answer = bookings.book(world.coordinator, ask, now=NOW)
    (pickup,) = booked.handover(world.coordinator, answer.booking.id, now=NOW)["pickups"]
    assert [(line["quantity"], line["boxes"], line["tags"]) for line in pickup["lines"]] == [
        (6, ["3", "12"], []),
        (1, ["7"], [world.pieces(pieces)[0].tag]),
    ]


def test_frequencies_are_told_and_not_carried(world):
    kit = world.a_kit_type(pieces=2, tracking="frequency", category="frequency")
    items = world.pieces(kit)
    with write(world.pool, NOW) as stores:
        for item, hertz in zip(items, (606_600_000, 607_025_000), strict=True):
            stores.items.change(item.id, None, frequency_hz=hertz)
    answer = bookings.book(world.coordinator, an_ask(world, "main", (kit, 2)), now=NOW)
    told = booked.handover(world.coordinator, answer.booking.id, now=NOW)
    assert told["pickups"] == []
    assert [one["label"] for one in told["frequencies"]] == ["606.600", "607.025"]


def test_what_was_released_is_not_to_be_collected(world):
    some, more = world.a_kit_type(count=3), world.a_kit_type(count=3)
    answer = bookings.book(world.coordinator, an_ask(world, "main", (some, 2), (more, 1)), now=NOW)
    giving = {answer.booking.lines[0].id: 2}
    bookings.release(world.coordinator, answer.booking.id, version=None, now=NOW, quantities=giving)
    (pickup,) = booked.handover(world.coordinator, answer.booking.id, now=NOW)["pickups"]
    assert [line["kit_type_id"] for line in pickup["lines"]] == [more.id]


@pytest.mark.parametrize(
    ("category", "words"),
    [
        ("arm", "competent people"),
        ("clamp", "local rules"),
        ("battery", "Lithium"),
        ("charger", "attended"),
        ("frequency", "licence"),
        ("pack", "skin"),
        ("lavalier", "skin"),
        ("listening receiver", "hearing"),
        ("headphones", "hearing"),
        ("earpiece", "hearing"),
    ],
)
def test_kit_that_can_hurt_somebody_carries_its_caution_once(world, category, words):
    kit = [world.a_kit_type(count=1, category=category) for _ in range(2)]
    with read(world.pool) as stores:
        (caution,) = cautions(Names(stores), [one.id for one in kit])
    assert words in caution
    assert "safe" not in caution.split()


def test_kit_that_hurts_nobody_carries_no_caution(world):
    kit = world.a_kit_type(count=1, category="timecode box")
    with read(world.pool) as stores:
        assert cautions(Names(stores), [kit.id]) == []


# Consent of an owner


def owned(world, kit, count):
    """The first pieces belong to somebody who is to be asked."""
    items = world.pieces(kit)
    with write(world.pool, NOW) as stores:
        for item in items[:count]:
            stores.items.change(item.id, None, owner="A. Owner", consent_required=True)
    return items


def test_a_piece_whose_owner_is_to_be_asked_says_so_by_name(world):
    kit = world.a_kit_type(pieces=3)
    first, second, _ = owned(world, kit, 1)
    with read(world.pool) as stores:
        given = [Given(kit.id, 1, first.id), Given(kit.id, 1, second.id)]
        told = consents(Names(stores), given)
    assert told == [f"{first.tag} belongs to A. Owner: have their consent."]


@pytest.mark.parametrize(("quantity", "some"), [(1, 0), (2, 1), (3, 2), (9, 2)])
def test_a_number_takes_consent_where_the_pieces_that_take_none_are_not_enough(
    world, quantity, some
):
    kit = world.a_kit_type(pieces=3)
    owned(world, kit, 2)
    with read(world.pool) as stores:
        told = consents(Names(stores), [Given(kit.id, quantity)])
    assert told == ([f"{some} of {kit.name} take their owner's consent."] if some else [])


def test_a_retired_piece_takes_and_gives_no_consent(world):
    kit = world.a_kit_type(pieces=2)
    items = owned(world, kit, 1)
    with write(world.pool, NOW) as stores:
        stores.items.change(items[1].id, None, condition="retired")
    with read(world.pool) as stores:
        assert consents(Names(stores), [Given(kit.id, 1)])


def test_consent_is_spoken_of_with_the_yes_and_as_it_goes_out_and_not_as_it_comes_back(world):
    kit = world.a_kit_type(pieces=1)
    (item,) = owned(world, kit, 1)
    body = {
        "unit_id": world.units["main"], "start": NOW + HOUR, "end": NOW + 5 * HOUR, "purpose": "",
        "state": "confirmed", "accept_part": False, "override_pencils": False, "who_pays": "",
        "order_number": "", "pencil_expires_at": None,
        "lines": [
            {"id": None, "item_id": item.id, "kit_type_id": None, "quantity": 1, "prep_s": None,
             "check_in_s": None, "straight_from_id": None}
        ],
    }  # fmt: skip
    consent = f"{item.tag} belongs to A. Owner: have their consent."
    judged = booked.judged(world.coordinator, body, now=NOW)
    yes = booked.asked(world.coordinator, body, now=NOW, key="k", digest="d")
    assert consent in judged["cautions"]
    assert consent in yes["cautions"]
    told = {}
    for kind in (Move.OUT, Move.BACK):
        event = Event(kind, kind, NOW, (Piece(item.tag),), booking=yes["booking"]["id"])
        told[kind] = handing.record(world.coordinator, event, "digest", now=NOW)["cautions"]
    assert told == {Move.OUT: [consent], Move.BACK: []}
