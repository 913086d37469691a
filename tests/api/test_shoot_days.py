"""Shoot days over HTTP, on both databases."""

import pytest

from crossload.domain.people import Role
from visitors import refusal, text_id


@pytest.fixture
def main(house):
    return text_id(house.world.units["main"])


def a_day(unit, day="2026-11-26", number=9, call="06:00", wrap="18:00", **more):
    return {
        "unit_id": unit,
        "number": number,
        "call": {"day": day, "time": call},
        "wrap": {"day": more.pop("wrap_day", day), "time": wrap},
        **more,
    }


FULL = {
    "location": "Saltmarsh, north sluice",
    "latitude_e7": 517_352_000,
    "longitude_e7": -9_124_000,
    "inside": False,
    "wind_dm_s": 85,
    "temperature_dc": -15,
    "radios": 6,
    "booms": 2,
    "listeners": 9,
    "mute": False,
    "pre_rig_s": 3600,
    "strike_s": 1800,
    "notes": "Tide at 14:10.\nWaders.",
}


def test_a_shoot_day_is_made_read_and_listed_as_it_was_given(ines, main):
    made = ines.made("/shoot-days", **a_day(main), **FULL)
    assert FULL.items() <= made.items()
    assert (made["day"], made["number"]) == ("2026-11-26", 9)
    assert made["call"] == "2026-11-26T06:00:00+00:00"
    assert made["wrap"] == "2026-11-26T18:00:00+00:00"
    assert ines.read(f"/shoot-days/{made['id']}") == made
    assert ines.read("/shoot-days")["shoot_days"] == [made]


def test_what_is_not_known_of_a_day_is_null(ines, main):
    made = ines.made("/shoot-days", **a_day(main))
    for field in ("latitude_e7", "longitude_e7", "inside", "wind_dm_s", "temperature_dc"):
        assert made[field] is None


def test_a_night_belongs_to_the_day_of_its_call(ines, main):
    night = a_day(main, call="18:00", wrap="05:00", wrap_day="2026-11-27")
    made = ines.made("/shoot-days", **night)
    assert (made["day"], made["wrap"]) == ("2026-11-26", "2026-11-27T05:00:00+00:00")


def test_the_day_is_that_of_the_pools_zone(house, ines, main):
    """23:30 UTC of 30 June is 00:30 of 1 July in London, which keeps summer time then (tzdata)."""
    body = a_day(main) | {"call": "2026-06-30T23:30:00Z", "wrap": "2026-07-01T09:00:00Z"}
    made = ines.made("/shoot-days", **body)
    assert (made["day"], made["call"]) == ("2026-07-01", "2026-07-01T00:30:00+01:00")


def test_a_moved_call_moves_the_day(ines, main):
    made = ines.made("/shoot-days", **a_day(main))
    moved = a_day(main, day="2026-11-28")
    now = ines.changed(f"/shoot-days/{made['id']}", call=moved["call"], wrap=moved["wrap"])
    assert (now["day"], now["number"]) == ("2026-11-28", 9)


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"wrap": {"day": "2026-11-26", "time": "06:00"}}, "#/wrap"),
        ({"wrap": {"day": "2026-11-25", "time": "05:00"}}, "#/wrap"),
        ({"wrap": {"day": "2026-12-26", "time": "18:00"}}, "#/wrap"),
        ({"call": "2026-11-26T06:00:00"}, "#/call"),
        ({"call": "2026-11-26 06:00:00Z"}, "#/call"),
        ({"call": {"day": "2026-11-26"}}, "#/call"),
        ({"call": {"day": "2027-03-28", "time": "01:30"}}, "#/call"),
        ({"latitude_e7": 1}, "#/longitude_e7"),
        ({"longitude_e7": 1}, "#/latitude_e7"),
        ({"latitude_e7": 910_000_000, "longitude_e7": 0}, "#/latitude_e7"),
        ({"latitude_e7": 51.7352, "longitude_e7": 0}, "#/latitude_e7"),
        ({"radios": -1}, "#/radios"),
        ({"number": 10_000}, "#/number"),
        ({"mute": "yes"}, "#/mute"),
        ({"notes": "x" * 4001}, "#/notes"),
        ({"day": "2026-11-26"}, "#/day"),
        ({"unit_id": "0" * 13}, "#/unit_id"),
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_a_day_that_breaks_a_rule_is_refused_by_its_place(ines, main, change, pointer):
    refusal(ines.post("/shoot-days", a_day(main) | change), 422, pointer)
    assert ines.read("/shoot-days")["shoot_days"] == []


def test_a_units_dates_numbers_and_hours_do_not_come_twice(house, ines, main):
    night = a_day(main, number=8, day="2026-11-25", call="18:00", wrap="05:00")
    night["wrap"]["day"] = "2026-11-26"
    ines.made("/shoot-days", **night)
    refusal(ines.post("/shoot-days", a_day(main, number=8)), 422, "#/number")
    same_date = a_day(main, day="2026-11-25", call="06:00", wrap="09:00")
    assert "day 8" in refusal(ines.post("/shoot-days", same_date), 422, "#/call")
    into_the_night = a_day(main, call="04:59")
    assert "runs into" in refusal(ines.post("/shoot-days", into_the_night), 422, "#/call")
    day = ines.made("/shoot-days", **a_day(main, call="05:00"))
    refusal(ines.patch(f"/shoot-days/{day['id']}", {"number": 8}), 422, "#/number")
    other = text_id(house.world.units["second"])
    ines.made("/shoot-days", **a_day(other, number=8))


def test_days_are_listed_by_unit_and_dates(house, ines, main):
    second = text_id(house.world.units["second"])
    for number, day in enumerate(("2026-11-26", "2026-11-27", "2026-11-28")):
        ines.made("/shoot-days", **a_day(main, day, number))
    ines.made("/shoot-days", **a_day(second, "2026-11-27", 1))

    def days(query):
        return [day["number"] for day in ines.read(f"/shoot-days?{query}")["shoot_days"]]

    assert days(f"unit={main}") == [0, 1, 2]
    assert days(f"unit={main}&from=2026-11-27") == [1, 2]
    assert days(f"unit={main}&to=2026-11-27") == [0, 1]
    assert days("from=2026-11-27&to=2026-11-27") == [1, 1]
    assert days(f"unit={'0' * 13}") == []
    refusal(ines.get("/shoot-days?from=tomorrow"), 422)
    refusal(ines.get("/shoot-days?form=2026-11-27"), 422)


def test_a_mixer_changes_the_days_of_own_units_alone(house, ines, main):
    second = text_id(house.world.units["second"])
    mixer = house.visitor(Role.MIXER, "second")
    own = mixer.made("/shoot-days", **a_day(second))
    assert mixer.changed(f"/shoot-days/{own['id']}", radios=8)["radios"] == 8
    assert "own units" in refusal(mixer.post("/shoot-days", a_day(main)), 403)
    other = ines.made("/shoot-days", **a_day(main))
    refusal(mixer.patch(f"/shoot-days/{other['id']}", {"radios": 8}), 403)
    refusal(mixer.patch(f"/shoot-days/{own['id']}", {"unit_id": main}), 422, "#/unit_id")
    assistant = house.visitor(Role.ASSISTANT, "second")
    refusal(assistant.post("/shoot-days", a_day(second, "2026-11-30")), 403)


def test_another_pools_days_are_not_there(house, ines, main):
    stranger = house.another().coordinator
    day = ines.made("/shoot-days", **a_day(main))
    refusal(stranger.get(f"/shoot-days/{day['id']}"), 404)
    refusal(stranger.patch(f"/shoot-days/{day['id']}", {"radios": 1}), 404)
    refusal(stranger.post("/shoot-days", a_day(main)), 422, "#/unit_id")


def test_a_change_needs_the_version_that_was_read(ines, main):
    day = ines.made("/shoot-days", **a_day(main))
    path = f"/shoot-days/{day['id']}"
    refusal(ines.patch(path, {"radios": 1}, match=""), 428)
    assert ines.patch(path, {"radios": 1}, match=1).json["version"] == 2
    refusal(ines.patch(path, {"radios": 2}, match=1), 412)


def test_the_same_key_makes_one_day(ines, main):
    first, again = (ines.post("/shoot-days", a_day(main), key='"d1"') for _ in range(2))
    assert (again.status_code, again.json) == (201, first.json)
    assert len(ines.read("/shoot-days")["shoot_days"]) == 1
    refusal(ines.post("/shoot-days", a_day(main, number=10), key='"d1"'), 422)


def test_the_journal_tells_what_a_day_was_before(ines, main):
    day = ines.made("/shoot-days", **a_day(main))
    ines.changed(f"/shoot-days/{day['id']}", radios=7, notes="Somebody is ill")
    *_, changed = ines.read(f"/journal?subject=shoot_day:{day['id']}")["entries"]
    assert changed["before"] == {"radios": 0, "not_shown": ["notes"]}
    assert changed["after"] == {"radios": 7, "not_shown": ["notes"]}
