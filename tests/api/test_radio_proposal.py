"""A radio as one thing, over HTTP: proposed, then asked for with the lines as they stand."""

from asking import problem
from crossload.domain import ids
from crossload.domain.kit import Need
from worlds import DAY, HOUR, NOW

PROPOSAL = "/api/v1/radio-proposal"


def a_radio_house(world):
    traits = {"range": "low", "plug": "3-pin"}
    needs = (Need("receiver", 1, ("range",)), Need("lavalier", 1, ("plug",)))
    pack = world.a_kit_type(count=6, category="pack", traits=traits, goes_with=needs)
    way = world.a_kit_type(count=3, category="receiver", traits=traits, ways=4)
    lavalier = world.a_kit_type(count=9, category="lavalier", traits=traits)
    world.a_shoot_day("second", NOW + DAY, NOW + DAY + 9 * HOUR, number=9, location="Marsh Lane")
    return pack, way, lavalier


def test_what_is_proposed_can_be_posted_as_it_stands(world, signed_in):
    pack, way, lavalier = a_radio_house(world)
    mixer = signed_in("mixer", "second")
    unit = ids.to_text(world.units["second"])
    told = mixer.get(f"{PROPOSAL}?unit={unit}&quantity=5").get_json()
    assert [(line["role"], line["kit_type_id"], line["quantity"]) for line in told["lines"]] == [
        ("pack", ids.to_text(pack.id), 5),
        ("way", ids.to_text(way.id), 2),
        ("lavalier", ids.to_text(lavalier.id), 5),
    ]
    window = told["window"]
    assert window["start"] == "2026-11-26T10:00:00+00:00"
    assert (window["shoot_day"]["number"], window["shoot_day"]["location"]) == (9, "Marsh Lane")
    assert told["last_ask"] is None
    lines = [{key: line[key] for key in ("kit_type_id", "quantity")} for line in told["lines"]]
    body = {"unit_id": unit, "start": window["start"], "end": window["end"], "lines": lines}
    assert mixer.post("/api/v1/bookings", json=body).status_code == 201
    again = mixer.get(f"{PROPOSAL}?unit={unit}").get_json()
    assert again["held"] == {"radios": 5, "ways": 8}
    assert again["last_ask"]["quantity"] == 5
    assert [line["quantity"] for line in again["last_ask"]["lines"]] == [5, 2, 5]


def test_a_proposal_names_what_it_cannot_do(world, signed_in):
    a_radio_house(world)
    mixer = signed_in("mixer", "second")
    unit = ids.to_text(world.units["second"])
    problem(mixer.get(f"{PROPOSAL}?unit={unit}&quantity=0"), 422, "invalid")
    problem(mixer.get(f"{PROPOSAL}?unit={unit}&range=none"), 422, "invalid")
    main = ids.to_text(world.units["main"])
    problem(mixer.get(f"{PROPOSAL}?unit={main}"), 403, "forbidden")


def test_a_booking_that_is_changed_does_not_count_its_own_ways_as_spare(world, signed_in):
    a_radio_house(world)
    mixer = signed_in("mixer", "second")
    unit = ids.to_text(world.units["second"])
    told = mixer.get(f"{PROPOSAL}?unit={unit}&quantity=3").get_json()
    lines = [{key: line[key] for key in ("kit_type_id", "quantity")} for line in told["lines"]]
    window = told["window"]
    body = {"unit_id": unit, "start": window["start"], "end": window["end"], "lines": lines}
    booking = mixer.post("/api/v1/bookings", json=body).get_json()["booking"]["id"]

    def ways(more):
        asked = mixer.get(f"{PROPOSAL}?unit={unit}&quantity=1{more}").get_json()
        return [line["quantity"] for line in asked["lines"] if line["role"] == "way"]

    assert ways("") == []  # three packs on four ways leave one
    assert ways(f"&booking={booking}") == [1]
