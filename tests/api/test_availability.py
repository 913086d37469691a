"""Availability over HTTP: the days as JSON and CSV, the hours of one day, and what is kept of them."""

import csv
import io

import pytest

from asking import problem
from crossload.domain import ids
from crossload.domain.booking import BookingState
from crossload.usecases import bookings
from worlds import DAY, HOUR, NOW, a_world, an_ask

DAYS, HOURS = "/api/v1/availability", "/api/v1/availability/hours"
FIGURES = (
    "capacity", "free", "if_pencils_fall", "booked", "pencilled", "out", "overdue",
    "out_of_service", "idle",
)  # fmt: skip


@pytest.fixture
def reader(signed_in):
    return signed_in("supervisor")


@pytest.fixture
def kit(world):
    """Eight, of which main has five tomorrow (NOW is Wednesday 2026-11-25 at 10:00)."""
    made = world.a_kit_type(count=8, name='Stand, "tall"', category="stand")
    ask = an_ask(world, "main", (made, 5), start=DAY, end=DAY + 4 * HOUR)
    bookings.book(world.coordinator, ask, now=NOW)
    pencil = an_ask(
        world, "splinter", (made, 2), start=DAY, end=DAY + HOUR, state=BookingState.PENCILLED
    )
    bookings.book(world.coordinator, pencil, now=NOW)
    return made


def asked(reader, query="from=2026-11-25&to=2026-11-27", **more):
    answer = reader.get(f"{DAYS}?{query}", **more)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return answer


def figures(cell):
    return {name: cell[name] for name in FIGURES}


NOTHING = dict.fromkeys(FIGURES, 0) | {"capacity": 8, "free": 8, "if_pencils_fall": 8}


def test_each_day_of_each_kit_type_has_its_figures(kit, reader):
    told = asked(reader).get_json()
    assert (told["from"], told["to"]) == ("2026-11-25", "2026-11-27")
    assert [day["date"] for day in told["days"]] == ["2026-11-25", "2026-11-26", "2026-11-27"]
    (row,) = told["kit_types"]
    assert (row["id"], row["name"], row["category"]) == (ids.to_text(kit.id), kit.name, "stand")
    assert (row["tracking"], row["capacity"]) == ("count", 8)
    assert [cell["date"] for cell in row["cells"]] == [day["date"] for day in told["days"]]
    first, second, third = row["cells"]
    assert figures(first) == figures(third) == NOTHING
    assert figures(second) == NOTHING | {
        "free": 1, "if_pencils_fall": 3, "booked": 5, "pencilled": 2, "idle": 5,
    }  # fmt: skip
    assert second["at"] == "2026-11-26T10:00:00+00:00"


def test_days_begin_and_end_with_the_local_day_over_a_clock_change(kit, reader):
    # IANA tz rules EU: 2026-10-25 has 25 hours in London, 2026-03-29 has 23.
    told = asked(reader, "from=2026-10-25&to=2026-10-25").get_json()["days"][0]
    assert (told["start"], told["end"]) == (
        "2026-10-25T00:00:00+01:00",
        "2026-10-26T00:00:00+00:00",
    )


def test_csv_has_a_row_for_each_kit_type_and_day_with_the_same_figures(world, kit, reader):
    world.a_kit_type(count=2, name="=1+1", category="clamp")
    told = asked(reader).get_json()
    answer = asked(reader, headers={"Accept": "text/csv"})
    assert answer.content_type == "text/csv; charset=utf-8"
    assert answer.headers["Content-Disposition"] == (
        'attachment; filename="availability-2026-11-25.csv"'
    )
    rows = list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))
    expected = [
        {"kit_type": row["name"], "category": row["category"]}
        | {name: str(cell[name]) for name in ("date", "at", *FIGURES)}
        for row in told["kit_types"]
        for cell in row["cells"]
    ]
    formula = [row.pop("kit_type") for row in rows if row["category"] == "clamp"]
    assert formula == ["'=1+1"] * 3  # OWASP, "CSV Injection": it is no formula in a spreadsheet
    assert [row | {"kit_type": row.get("kit_type", "=1+1")} for row in rows] == expected


def test_shoot_days_are_those_of_one_unit_from_call_to_wrap(world, kit, reader):
    world.a_shoot_day("second", NOW + DAY + 2 * HOUR, NOW + DAY + 6 * HOUR, number=9)
    second = ids.to_text(world.units["second"])
    told = asked(reader, f"from=2026-11-25&to=2026-11-27&per=shoot_day&unit={second}").get_json()
    (day,) = told["days"]
    assert (day["date"], day["start"]) == ("2026-11-26", "2026-11-26T12:00:00+00:00")
    assert [(each["unit"], each["number"]) for each in day["unit_days"]] == [("second", 9)]
    ((cell,),) = [row["cells"] for row in told["kit_types"]]
    assert (cell["free"], cell["booked"]) == (3, 5)  # the pencil is over by the call


def test_kit_is_narrowed_by_type_and_by_category(world, kit, reader):
    other = world.a_kit_type(count=1, category="clamp")

    def names(query):
        return [row["name"] for row in asked(reader, query).get_json()["kit_types"]]

    assert names("category=clamp") == [other.name]
    assert names(f"kit_type={ids.to_text(kit.id)}") == [kit.name]
    both = f"kit_type={ids.to_text(kit.id)}&kit_type={ids.to_text(other.id)}"
    assert names(both) == [other.name, kit.name]
    assert names("category=none such") == []


def test_what_has_not_changed_is_not_sent_again_and_csv_is_another_thing(world, kit, reader, clock):
    first = asked(reader)
    tag = {"If-None-Match": first.headers["ETag"]}
    assert reader.get(f"{DAYS}?from=2026-11-25&to=2026-11-27", headers=tag).status_code == 304
    as_csv = tag | {"Accept": "text/csv"}
    assert reader.get(f"{DAYS}?from=2026-11-25&to=2026-11-27", headers=as_csv).status_code == 200
    bookings.book(world.coordinator, an_ask(world, "main", (kit, 1)), now=NOW)
    after = reader.get(f"{DAYS}?from=2026-11-25&to=2026-11-27", headers=tag)
    assert after.status_code == 200
    clock.later(DAY)
    assert reader.get(DAYS, headers={"If-None-Match": after.headers["ETag"]}).status_code == 200


@pytest.mark.parametrize(
    ("query", "named"),
    [
        ("from=2026-11-27&to=2026-11-26", "#/to"),
        ("from=2026-01-01&to=2027-01-03", "#/to"),
        ("from=2026-13-01", "from"),
        ("per=week", "per"),
        ("per=shoot_day", "#/unit"),
        ("surprise=1", "surprise"),
    ],
)
def test_days_that_make_no_sense_are_refused_by_name(kit, reader, query, named):
    told = problem(reader.get(f"{DAYS}?{query}"), 422, "invalid")
    (error,) = told["errors"]
    assert named in (error.get("pointer"), error.get("parameter"))


def test_it_comes_as_json_or_csv_and_as_nothing_else(kit, reader):
    problem(reader.get(DAYS, headers={"Accept": "image/png"}), 406, "not-acceptable")


def test_each_hour_of_a_day_has_its_figures_and_the_day_its_holders(world, kit, reader):
    world.a_person("Main Hand", "assistant", "07700 900111", unit="main")
    told = reader.get(f"{HOURS}?kit_type={ids.to_text(kit.id)}&date=2026-11-26").get_json()
    assert [hour["free"] for hour in told["hours"]] == [8] * 10 + [1] + [3] * 3 + [8] * 10
    assert told["hours"][10]["start"] == "2026-11-26T10:00:00+00:00"
    assert [(each["unit"], each["state"], each["quantity"]) for each in told["holders"]] == [
        ("main", "confirmed", 5),
        ("splinter", "pencilled", 2),
    ]
    first, second = told["holders"]
    assert (first["phone"], first["idle"], first["place"]) == ("07700 900111", 5, None)
    assert (second["idle"], second["place"]) == (0, 1)


@pytest.mark.parametrize(("day", "hours"), [("2026-10-25", 25), ("2027-03-28", 23)])
def test_a_day_of_a_clock_change_has_as_many_hours_as_it_lasts(kit, reader, day, hours):
    # IANA tz rules EU.
    told = reader.get(f"{HOURS}?kit_type={ids.to_text(kit.id)}&date={day}").get_json()
    assert len(told["hours"]) == hours
    assert told["hours"][0]["start"].startswith(f"{day}T00:00:00")


def test_another_pools_kit_and_units_are_not_there(kit, signed_in):
    stranger = signed_in("coordinator", of=a_world())
    own = ids.to_text(kit.id)
    problem(stranger.get(f"{DAYS}?kit_type={own}"), 404, "not-found")
    problem(stranger.get(f"{HOURS}?kit_type={own}&date=2026-11-26"), 404, "not-found")
    assert asked(stranger).get_json()["kit_types"] == []
