"""A radio asked for as one thing: what is proposed together, and the unit's last ask again."""

from dataclasses import replace

import pytest

from crossload.domain.booking import BookingState, Wanted
from crossload.domain.kit import Need
from crossload.usecases import bookings, radios
from crossload.usecases.errors import Forbidden, Invalid
from crossload.usecases.granting import Granted
from worlds import DAY, HOUR, NOW, an_ask, book

CALL, WRAP = NOW + DAY, NOW + DAY + 10 * HOUR
NEEDS = (
    Need("receiver", 1, ("range",)),
    Need("lavalier", 1, ("plug",)),
    Need("battery", 2, ("battery",)),
    Need("pouch", 1),
    Need("frequency", 1, ("range",)),
)


@pytest.fixture
def world(world):
    world.a_shoot_day("second", CALL, WRAP, number=9, location="Marsh Lane")
    return world


@pytest.fixture
def kit(world):
    """Packs in two ranges with all that they go with, and one lavalier that fits none of them."""
    made = {}
    for name, packs in (("low", 6), ("high", 8)):
        traits = {"range": name, "plug": "3-pin", "battery": "aa"}
        made[name] = world.a_kit_type(
            pieces=packs, category="pack", name=f"pack {name}", traits=traits, goes_with=NEEDS
        )
        made[f"{name} way"] = world.a_kit_type(
            count=3, category="receiver", traits={"range": name}, ways=4
        )
        made[f"{name} frequency"] = world.a_kit_type(
            pieces=12, category="frequency", tracking="frequency", traits={"range": name}
        )
    made["lavalier"] = world.a_kit_type(count=20, category="lavalier", traits={"plug": "3-pin"})
    made["other plug"] = world.a_kit_type(count=99, category="lavalier", traits={"plug": "4-pin"})
    made["cell"] = world.a_kit_type(
        count=40, category="battery", traits={"battery": "aa"}, rechargeable=True
    )
    made["pouch"] = world.a_kit_type(count=20, category="pouch")
    return made


def propose(world, quantity=4, **more):
    actor = world.mixer("second")
    return radios.propose(
        actor, unit=world.units["second"], quantity=quantity, now=world.now, **more
    )


def asked(proposal):
    return {line["kit_type_id"]: line["quantity"] for line in proposal["lines"]}


def test_a_radio_is_a_pack_a_way_a_lavalier_batteries_a_pouch_and_a_frequency(world, kit):
    proposal = propose(world, 4, range_="low")
    roles = [line["role"] for line in proposal["lines"]]
    assert roles == ["pack", "way", "lavalier", "battery", "pouch", "frequency"]
    assert asked(proposal) == {
        kit["low"].id: 4,
        kit["low way"].id: 1,
        kit["lavalier"].id: 4,
        kit["cell"].id: 8,
        kit["pouch"].id: 4,
        kit["low frequency"].id: 4,
    }


def test_what_is_proposed_is_granted_when_it_is_asked_for(world, kit):
    proposal = propose(world, 4)
    window = proposal["window"]
    ask = an_ask(world, "second", start=window["start"] - NOW, end=window["end"] - NOW)
    lines = tuple(Wanted(id, quantity) for id, quantity in asked(proposal).items())
    answer = bookings.book(world.mixer("second"), replace(ask, lines=lines), now=NOW)
    assert isinstance(answer, Granted)
    frequencies = [line.pieces for line in answer.booking.lines if line.pieces]
    assert [len(pieces) for pieces in frequencies] == [4]


def test_it_opens_on_the_units_next_shoot_day_and_its_own_hours(world, kit):
    proposal = propose(world)
    window = proposal["window"]
    assert (window["start"], window["end"]) == (CALL, WRAP)
    assert (window["shoot_day"]["number"], window["shoot_day"]["location"]) == (9, "Marsh Lane")
    assert [day["number"] for day in proposal["days"]] == [9]


def test_each_line_can_be_changed_for_what_would_do_as_well(world, kit):
    small = world.a_kit_type(count=5, category="receiver", traits={"range": "high"}, ways=2)
    lines = {line["role"]: line for line in propose(world, 4, range_="high")["lines"]}
    choices = {each["kit_type_id"]: each["free"] for each in lines["way"]["choices"]}
    assert choices == {kit["high way"].id: 3, small.id: 5}
    assert {each["kit_type_id"] for each in lines["pack"]["choices"]} == {
        kit["low"].id,
        kit["high"].id,
    }


def test_what_the_unit_holds_stands_above_it_and_its_ways_are_used(world, kit):
    day = {"start": CALL - NOW - HOUR, "end": WRAP - NOW + HOUR}
    book(world, "second", (kit["low way"], 1), (kit["low"], 1), **day)
    proposal = propose(world, 3, range_="low")
    assert proposal["held"] == {"radios": 1, "ways": 4}
    assert kit["low way"].id not in asked(proposal)
    assert asked(propose(world, 5, range_="low"))[kit["low way"].id] == 1


def test_what_the_unit_holds_for_a_part_of_the_day_alone_is_no_help(world, kit):
    book(world, "second", (kit["low way"], 1), start=CALL - NOW, end=WRAP - NOW - 1)
    assert propose(world, 3, range_="low")["held"] == {"radios": 0, "ways": 0}


def test_the_range_with_most_free_packs_is_proposed_to_a_unit_that_never_asked(world, kit):
    assert propose(world)["lines"][0]["kit_type_id"] == kit["high"].id
    assert propose(world)["last_ask"] is None
    book(world, "main", (kit["high"], 5), start=CALL - NOW, end=WRAP - NOW)
    assert propose(world)["lines"][0]["kit_type_id"] == kit["low"].id


def test_as_last_time_repeats_the_units_last_ask_with_packs_in_it(world, kit):
    book(world, "second", (kit["high"], 5))
    last = book(world, "second", (kit["low"], 2), (kit["low way"], 1), (kit["lavalier"], 3))
    book(world, "second", (kit["pouch"], 1))
    book(world, "main", (kit["high"], 1))
    told = propose(world)["last_ask"]
    assert (told["booking_id"], told["quantity"]) == (last.id, 2)
    assert [(line["kit_type_id"], line["quantity"]) for line in told["lines"]] == [
        (kit["low"].id, 2),
        (kit["low way"].id, 1),
        (kit["lavalier"].id, 3),
    ]


def test_the_range_of_the_last_ask_is_proposed_again_whatever_is_free(world, kit):
    pencil = book(world, "second", (kit["low"], 1), state=BookingState.PENCILLED)
    assert propose(world)["lines"][0]["kit_type_id"] == kit["low"].id
    assert propose(world, range_="high")["lines"][0]["kit_type_id"] == kit["high"].id
    assert propose(world, pack=kit["high"].id)["lines"][0]["kit_type_id"] == kit["high"].id
    bookings.release(world.coordinator, pencil.id, version=None, now=NOW)
    assert propose(world)["lines"][0]["kit_type_id"] == kit["high"].id
    assert propose(world)["last_ask"] is None


def test_the_range_that_the_unit_holds_most_of_comes_before_its_last_ask(world, kit):
    times = {"start": CALL - NOW, "end": WRAP - NOW}
    book(world, "second", (kit["low"], 3), **times)
    book(world, "second", (kit["high"], 1), **times)
    assert propose(world)["lines"][0]["kit_type_id"] == kit["low"].id


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"range_": "none such"}, "/range"),
        ({"start": CALL}, "/start"),
        ({"start": WRAP, "end": CALL}, "/end"),
    ],
    ids=["a range that nothing has", "a start without an end", "an end before the start"],
)
def test_a_proposal_that_cannot_be_made_is_refused_by_name(world, kit, more, pointer):
    with pytest.raises(Invalid) as error:
        propose(world, **more)
    assert error.value.wrong[0][0] == pointer


def test_a_mixer_is_proposed_radios_for_own_units_alone(world, kit):
    with pytest.raises(Forbidden):
        radios.propose(world.mixer("main"), unit=world.units["second"], quantity=1, now=NOW)
