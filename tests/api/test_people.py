"""Productions, units, people, the pool and the journal over HTTP, on both databases."""

import json

import pytest

from crossload.domain.people import Role
from crossload.usecases import bookings, tokens
from crossload.usecases.actor import Actor
from crossload.usecases.granting import Granted
from crossload.usecases.transaction import read
from visitors import refusal, text_id
from worlds import HOUR, NOW, an_ask


def unit_id(house, name):
    return text_id(house.world.units[name])


# Productions and units


def test_a_production_and_its_unit_are_made_read_and_listed(ines):
    production = ines.made("/productions", name="Saltmarsh")
    assert ines.read(f"/productions/{production['id']}") == production
    unit = ines.made(
        "/units", production_id=production["id"], name="Second", kind="second", way_s=3000,
        base="North sluice car park", phone="07700 900121",
    )  # fmt: skip
    assert ines.read(f"/units/{unit['id']}") == unit
    assert ines.read(f"/units?production={production['id']}")["units"] == [unit]
    assert production in ines.read("/productions")["productions"]


def test_a_name_is_taken_within_its_production_alone(ines):
    one, two = (ines.made("/productions", name=name) for name in ("One", "Two"))
    for production in (one, two):
        ines.made("/units", production_id=production["id"], name="Main", kind="main")
    body = {"production_id": one["id"], "name": "MAIN", "kind": "main"}
    refusal(ines.post("/units", body), 422, "#/name")
    refusal(ines.post("/productions", {"name": "one"}), 422, "#/name")


def test_a_production_ends_after_its_units_and_nothing_new_joins_it(ines):
    production = ines.made("/productions", name="Saltmarsh")
    body = {"production_id": production["id"], "name": "Main", "kind": "main"}
    unit = ines.made("/units", **body)
    path = f"/productions/{production['id']}"
    refusal(ines.patch(path, {"ended": True}), 409)
    ended = ines.changed(f"/units/{unit['id']}", ended=True)
    assert ended["ended_at"] == "2026-11-25T10:00:00+00:00"
    ines.changed(path, ended=True)
    refusal(ines.post("/units", body | {"name": "Second"}), 422, "#/production_id")
    refusal(ines.patch(f"/units/{unit['id']}", {"ended": False}), 422, "#/production_id")
    assert ines.changed(path, ended=False)["ended_at"] is None
    assert ines.read(f"/units/{unit['id']}")["ended_at"] is not None


def test_a_unit_with_a_booking_to_come_does_not_end(house, ines):
    kit = house.world.a_kit_type(count=1)
    answer = bookings.book(
        house.world.coordinator, an_ask(house.world, "main", (kit, 1), end=2 * HOUR), now=NOW
    )
    assert isinstance(answer, Granted)
    path = f"/units/{unit_id(house, 'main')}"
    assert "bookings to come" in refusal(ines.patch(path, {"ended": True}), 409)
    house.clock.now = NOW + 3 * HOUR
    assert ines.changed(path, ended=True)["ended_at"] is not None


def test_another_pools_units_and_people_are_not_there(house, ines):
    stranger = house.another().coordinator
    person = ines.made("/people", name="Anybody", unit_id=unit_id(house, "main"))
    for path in (
        f"/units/{unit_id(house, 'main')}",
        f"/people/{person['id']}",
        f"/productions/{text_id(house.world.production)}",
    ):
        refusal(stranger.get(path), 404)
        refusal(stranger.patch(path, {}), 404)
    body = {"name": "Anybody", "unit_id": unit_id(house, "main")}
    refusal(stranger.post("/people", body), 422, "#/unit_id")
    body = {"production_id": text_id(house.world.production), "name": "X", "kind": "main"}
    refusal(stranger.post("/units", body), 422, "#/production_id")
    assert stranger.read("/people")["people"] == []


# People


def test_a_person_changes_unit_and_telephone_number(house, ines):
    person = ines.made("/people", name="Anybody", job="mixer", unit_id=unit_id(house, "main"))
    path = f"/people/{person['id']}"
    now = ines.patch(path, {"unit_id": None, "phone": "07700 900 100"}, match=1).json
    assert (now["unit_id"], now["phone"], now["job"]) == (None, "07700 900 100", "mixer")
    refusal(ines.patch(path, {"phone": ""}, match=1), 412)
    refusal(ines.patch(path, {"phone": ""}, match=""), 428)
    assert ines.read(f"/people?unit={unit_id(house, 'main')}")["people"] == []


def test_a_mixer_reads_people_and_does_not_change_them(house, ines):
    person = ines.made("/people", name="Anybody")
    mixer = house.visitor(Role.MIXER, "main")
    assert mixer.read(f"/people/{person['id']}")["name"] == "Anybody"
    refusal(mixer.patch(f"/people/{person['id']}", {"name": "X"}), 403)
    refusal(mixer.post("/people", {"name": "X"}), 403)
    refusal(mixer.post("/units", {"name": "X"}), 422)


def test_a_persons_name_and_number_are_in_no_journal(ines):
    person = ines.made("/people", name="Somebody Known", phone="07700 900199", job="boom")
    ines.changed(f"/people/{person['id']}", name="Somebody Else Known", job="mixer")
    told = ines.read("/journal")
    assert "Known" not in json.dumps(told) and "900199" not in json.dumps(told)
    of_person = ines.read(f"/journal?subject=person:{person['id']}")["entries"]
    assert [(entry["verb"], entry["after"]) for entry in of_person] == [
        (
            "made",
            {"job": "boom", "unit": None, "ended_at": None, "not_shown": ["name", "phone"]},
        ),
        ("changed", {"job": "mixer", "not_shown": ["name"]}),
    ]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"name": ""}, "#/name"),
        ({"name": None}, "#/name"),
        ({"name": ["x"]}, "#/name"),
        ({"phone": "0" * 41}, "#/phone"),
        ({"unit_id": "0" * 13}, "#/unit_id"),
        ({"unit_id": 7}, "#/unit_id"),
        ({"login": "x"}, "#/login"),
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_a_person_that_breaks_a_rule_is_refused_by_its_place(ines, change, pointer):
    refusal(ines.post("/people", {"name": "Anybody"} | change), 422, pointer)
    assert ines.read("/people")["people"] == []


# The pool


def test_a_pool_is_read_by_all_and_changed_by_a_coordinator(house, ines):
    pool = ines.read("/pool")
    assert (pool["zone"], pool["currency"], pool["version"]) == ("Europe/London", "GBP", 1)
    mixer = house.visitor(Role.MIXER, "main")
    assert mixer.read("/pool") == pool
    refusal(mixer.patch("/pool", {"name": "Mine"}), 403)
    refusal(ines.patch("/pool", {"name": "Ours"}, match=""), 428)
    assert ines.patch("/pool", {"name": "Ours"}, match=1).json["version"] == 2
    refusal(ines.patch("/pool", {"name": "Theirs"}, match=1), 412)


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"zone": "Europe/Lodnon"}, "#/zone"),
        ({"zone": "../etc/passwd"}, "#/zone"),
        ({"currency": "gbp"}, "#/currency"),
        ({"currency": "£££"}, "#/currency"),
        ({"currency": "GB1"}, "#/currency"),
        ({"currency": "EURO"}, "#/currency"),
        ({"opening": []}, "#/opening"),
        ({"opening": {"week": {"mon": [["09:00", "09:00"]]}}}, "#/opening/week/mon/0"),
        ({"opening": {"week": {"moon": []}}}, "#/opening/week"),
        ({"opening": {"exceptions": {"2026-13-01": []}}}, "#/opening/exceptions/2026-13-01"),
        ({"revision": 9}, "#/revision"),
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_a_pool_that_breaks_a_rule_is_refused_by_its_place(ines, change, pointer):
    refusal(ines.patch("/pool", change), 422, pointer)
    assert ines.read("/pool")["version"] == 1


def test_an_unknown_zone_is_answered_with_close_ones(ines):
    assert "Europe/London" in refusal(ines.patch("/pool", {"zone": "Europe/Lodnon"}), 422)


def test_the_zone_stays_once_there_are_shoot_days(house, ines):
    ines.changed("/pool", zone="Europe/Paris")
    house.world.a_shoot_day("main", NOW + HOUR, NOW + 9 * HOUR)
    refusal(ines.patch("/pool", {"zone": "Europe/London"}), 409)
    assert ines.changed("/pool", zone="Europe/Paris")["zone"] == "Europe/Paris"


def test_the_currency_stays_once_there_are_prices(ines):
    ines.changed("/pool", currency="EUR")
    ines.made("/kit-types", name="Pack", category="pack", tracking="serial", price_minor=1)
    refusal(ines.patch("/pool", {"currency": "GBP"}), 409)


def test_new_opening_hours_count_anew_when_kit_is_checked_in(house, ines):
    kit = house.world.a_kit_type(count=1, check_in_s=2 * HOUR)
    ask = an_ask(house.world, "main", (kit, 1), start=HOUR, end=7 * HOUR)  # back at 17:00
    booking = bookings.book(house.world.coordinator, ask, now=NOW).booking
    week = {day: [["07:00", "18:00"]] for day in ("mon", "tue", "wed", "thu", "fri")}
    opening = {"week": week, "exceptions": {}}
    assert ines.changed("/pool", opening=opening)["opening"] == opening
    with read(house.world.pool) as stores:
        (line,) = stores.bookings.get(booking.id).lines
    # An hour to closing on Wednesday, the other from 07:00 on Thursday.
    assert line.occupied.end == NOW + 22 * HOUR


# The journal


def test_a_mixer_reads_the_journal_of_own_units_alone(house, ines):
    mixer = house.visitor(Role.MIXER, "second")
    own, other = unit_id(house, "second"), unit_id(house, "main")
    for unit in (own, other):
        ines.changed(f"/units/{unit}", base="Elsewhere")
    (entry,) = mixer.read(f"/journal?subject=unit:{own}")["entries"]
    assert (entry["verb"], entry["after"]) == ("changed", {"base": "Elsewhere"})
    refusal(mixer.get(f"/journal?subject=unit:{other}"), 403)
    refusal(mixer.get("/journal"), 403)
    refusal(house.visitor(Role.SUPERVISOR).get("/journal"), 403)


def test_a_mixer_reads_the_journal_of_an_own_booking_shoot_day_and_person(house, ines):
    world = house.world
    kit = world.a_kit_type(count=4)
    subjects = {}
    for unit in ("second", "main"):
        booking = bookings.book(world.coordinator, an_ask(world, unit, (kit, 1)), now=NOW).booking
        day = ines.made(
            "/shoot-days", unit_id=unit_id(house, unit), number=1,
            call="2026-11-26T06:00:00Z", wrap="2026-11-26T18:00:00Z",
        )  # fmt: skip
        person = ines.made("/people", name="Anybody", unit_id=unit_id(house, unit))
        subjects[unit] = [
            f"booking:{text_id(booking.id)}", f"shoot_day:{day['id']}", f"person:{person['id']}"
        ]  # fmt: skip
    mixer = house.visitor(Role.MIXER, "second")
    for subject in subjects["second"]:
        assert mixer.read(f"/journal?subject={subject}")["entries"]
    for subject in subjects["main"]:
        refusal(mixer.get(f"/journal?subject={subject}"), 403)


def test_the_journal_says_by_whom_and_writes_ids_as_the_interface_does(house, ines):
    production = ines.made("/productions", name="Saltmarsh")
    unit = ines.made("/units", production_id=production["id"], name="Main", kind="main")
    (entry,) = ines.read(f"/journal?subject=unit:{unit['id']}")["entries"]
    assert entry["after"]["production"] == production["id"]
    assert entry["subject"] == f"unit:{unit['id']}"
    assert entry["by"] == "Coordinator"
    assert entry["at"] == "2026-11-25T10:00:00+00:00"


def test_the_journal_pages_without_gaps(ines):
    for n in range(4):
        ines.made("/productions", name=f"P{n}")
    whole = ines.read("/journal?limit=500")["entries"]
    seen, path = [], "/journal?limit=3"
    while path:
        answer = ines.get(path)
        seen += answer.json["entries"]
        link = answer.headers.get("Link", "")
        path = link.partition(">")[0].removeprefix("</api/v1") if link else ""
    assert seen == whole
    assert [entry["seq"] for entry in whole] == sorted(entry["seq"] for entry in whole)


@pytest.mark.parametrize("subject", ["", "unit", "unit:", "unit:x", "moon:0123456789abc"])
def test_a_subject_that_is_none_is_refused(ines, subject):
    refusal(ines.get(f"/journal?subject={subject}"), 422)


def test_the_wall_reads_and_changes_nothing(house, ines):
    actor = Actor(house.world.pool, Role.COORDINATOR)
    wall = house.coordinator
    wall.secret = tokens.make_wall_link(actor, "Counter", now=NOW)[1]
    for path in ("/pool", "/units", "/people", "/kit-types", "/items", "/boxes", "/shoot-days"):
        wall.read(path)
    refusal(wall.get("/journal"), 403)
    refusal(wall.post("/people", {"name": "X"}), 403)
    refusal(wall.post("/out-of-service", {"item_id": "0" * 13}), 403)
