"""Shoot days brought in: by unit and number, all or nothing, on both databases."""

from datetime import time

import pytest

from crossload.domain.lists.merged import Kind
from crossload.domain.shoot import Unit, UnitKind
from crossload.domain.zones import load_zone, wall_to_instant
from crossload.storage.ids import new_id
from crossload.usecases.errors import Forbidden, Invalid
from crossload.usecases.imports import import_shoot_days
from crossload.usecases.transaction import read, write
from tables import a_fixture, a_sample, a_table, everything
from worlds import NOW

HEAD = "Unit,Date,Day,Call,Wrap"
LONDON = load_zone("Europe/London")


def bring_in(world, content, **more):
    done = import_shoot_days(world.coordinator, content, **{"dry_run": False, "now": NOW} | more)
    assert done.problems == (), done.problems
    return done


def refused(world, content) -> list[tuple[int, str, str]]:
    """Row, column and reason of each problem of a list that must change nothing."""
    before = everything()
    done = import_shoot_days(world.coordinator, content, dry_run=False, now=NOW)
    assert done.problems
    assert everything() == before
    return [(problem.row, problem.column, problem.reason) for problem in done.problems]


def days(world, unit="main") -> dict:
    """A unit's days by their numbers."""
    with read(world.pool) as stores:
        return {day.number: day for day in stores.shoot_days.all(unit=world.units[unit])}


def test_a_dry_run_says_what_is_new_and_writes_nothing(world):
    before = everything()
    done = bring_in(world, a_fixture("shoot-days.csv"), dry_run=True)
    assert everything() == before
    assert done.counts == {"new": 28, "changed": 0, "same": 0}
    assert done.changes[0].name == "main, day 1"
    assert done.changes[0].fields["call"] == (None, "2026-11-16T09:00:00+00:00")


def test_days_are_brought_in_with_all_that_is_said_of_them(world):
    bring_in(world, a_fixture("shoot-days.csv"))
    day = days(world)[8]
    assert day.day.isoformat() == "2026-11-25"
    assert (day.location, day.inside, day.mute) == ("Quay Lane", False, False)
    assert (day.latitude_e7, day.longitude_e7) == (517_352_000, 9_124_000)
    assert (day.wind_dm_s, day.temperature_dc) == (70, 60)
    assert (day.radios, day.booms, day.listeners, day.pre_rig_s) == (9, 2, 10, 45 * 60)
    assert day.notes == "crowd from 16:00"


def test_a_night_belongs_to_the_day_of_its_call(world):
    bring_in(world, a_fixture("shoot-days.csv"))
    night = days(world)[11]
    assert night.day.isoformat() == "2026-11-30"
    assert night.wrap_s - night.call_s == 11 * 3600 + 1800


def test_the_same_table_again_changes_nothing_and_writes_nothing(world):
    bring_in(world, a_fixture("shoot-days.csv"))
    before = everything()
    assert bring_in(world, a_fixture("shoot-days.csv")).counts["same"] == 28
    assert everything() == before


def test_local_dates_other_headers_and_units_behind_numbers(world):
    bring_in(world, a_sample("shoot-days-local.csv"))
    second = days(world, "second")
    assert (second[9].wind_dm_s, second[9].temperature_dc, second[9].pre_rig_s) == (95, 55, 3600)
    assert second[10].inside is True
    assert days(world, "splinter")[12].wrap_s > days(world, "splinter")[12].call_s


def test_a_table_of_faults_names_rows_and_brings_none_of_it_in(world):
    rows = {row for row, _, _ in refused(world, a_sample("shoot-days-faults.csv"))}
    assert len(rows) >= 6


def test_a_changed_wrap_shows_before_and_after_as_wall_times(world):
    bring_in(world, a_table(HEAD, "main,2026-07-01,1,07:00,19:00"))
    done = bring_in(world, a_table(HEAD, "Main,1/7/2026,1,07:00,20:30"))
    ((change),) = done.changes
    assert change.kind is Kind.CHANGED
    assert change.fields == {"wrap": ("2026-07-01T19:00:00+01:00", "2026-07-01T20:30:00+01:00")}


def test_a_field_without_a_column_stays(world):
    head = f"{HEAD},Location,Notes,Radios"
    bring_in(world, a_table(head, "main,2026-07-01,1,07:00,19:00,Chapel,cold,6"))
    bring_in(world, a_table(HEAD, "main,2026-07-01,1,08:00,19:00"))
    day = days(world)[1]
    assert (day.location, day.notes, day.radios) == ("Chapel", "cold", 6)


def test_days_that_all_move_on_by_one_keep_what_hangs_on_them(world):
    rows = [f"main,2026-07-{day:02},{day},07:00,19:00" for day in range(1, 6)]
    bring_in(world, a_table(HEAD, *rows))
    before = days(world)
    moved = [f"main,2026-07-{day + 1:02},{day},07:00,19:00" for day in range(1, 6)]
    assert bring_in(world, a_table(HEAD, *moved)).counts == {"new": 0, "changed": 5, "same": 0}
    after = days(world)
    assert {n: day.id for n, day in after.items()} == {n: day.id for n, day in before.items()}
    assert [day.day.day for day in after.values()] == [2, 3, 4, 5, 6]


def test_two_days_can_change_places(world):
    bring_in(world, a_table(HEAD, "main,2026-07-01,1,07:00,19:00", "main,2026-07-02,2,07:00,19:00"))
    bring_in(world, a_table(HEAD, "main,2026-07-02,1,07:00,19:00", "main,2026-07-01,2,07:00,19:00"))
    assert {number: day.day.day for number, day in days(world).items()} == {1: 2, 2: 1}


def test_a_day_that_gets_another_number_on_its_date_is_the_same_day(world):
    bring_in(world, a_table(HEAD, "main,2026-07-01,1,07:00,19:00"))
    (before,) = days(world).values()
    bring_in(world, a_table(HEAD, "main,2026-07-01,7,07:00,19:00"))
    assert days(world)[7].id == before.id


def test_a_day_cannot_move_onto_a_date_whose_day_stays(world):
    bring_in(world, a_table(HEAD, "main,2026-07-01,1,07:00,19:00", "main,2026-07-02,2,07:00,19:00"))
    ((row, column, reason),) = refused(world, a_table(HEAD, "main,2026-07-02,1,20:00,23:00"))
    assert (row, column) == (2, "Date")
    assert "day 2" in reason


def test_a_day_cannot_run_into_the_call_of_one_that_stays(world):
    bring_in(world, a_table(HEAD, "main,2026-07-02,2,05:00,19:00"))
    ((row, _, reason),) = refused(world, a_table(HEAD, "main,2026-07-01,1,18:00,06:00"))
    assert row == 2
    assert "day 2" in reason
    bring_in(world, a_table(HEAD, "main,2026-07-01,1,18:00,05:00"))


def test_a_unit_that_is_not_there_is_named_with_those_that_are(world):
    ((row, column, reason),) = refused(world, a_table(HEAD, "Third,2026-07-01,1,07:00,19:00"))
    assert (row, column) == (2, "Unit")
    assert all(word in reason for word in ("Third", "main", "second", "splinter"))


def test_a_unit_s_name_that_two_productions_have_must_say_which(world):
    production = new_id()
    with write(world.pool, NOW) as stores:
        stores.productions.add(type(stores.productions.all()[0])(production, "Saltmarsh"))
        stores.units.add(Unit(new_id(), production, "main", UnitKind.MAIN))
    ((_, _, reason),) = refused(world, a_table(HEAD, "main,2026-07-01,1,07:00,19:00"))
    assert "Saltmarsh / main" in reason
    bring_in(world, a_table(HEAD, "saltmarsh / main,2026-07-01,1,07:00,19:00"))
    assert days(world) == {}


@pytest.mark.parametrize("column", ["Call", "Wrap"])
def test_a_time_that_the_clocks_leave_out_is_refused(world, column):
    # 29 March 2026: Europe/London goes from 01:00 to 02:00 (IANA tzdata).
    row = "01:30,12:00" if column == "Call" else "00:10,01:30"
    ((_, found, reason),) = refused(world, a_table(HEAD, f"main,2026-03-29,1,{row}"))
    assert found == column
    assert "does not exist" in reason


def test_a_time_that_comes_twice_widens_the_day(world):
    # 25 October 2026: 01:30 comes at +01:00 and again at +00:00.
    bring_in(world, a_table(HEAD, "main,2026-10-25,1,01:30,09:00", "main,2026-10-24,2,20:00,01:15"))
    found = days(world)
    assert found[1].call_s == wall_to_instant(found[1].day, time(1, 30), LONDON, edge="start")
    assert found[2].wrap_s - found[2].call_s == (5 * 60 + 15 + 60) * 60


@pytest.mark.parametrize("content", [b"", b"\x00", "Unit".encode("utf-16")])
def test_bytes_that_are_no_table_are_refused_with_a_sentence(world, content):
    with pytest.raises(Invalid, match=r"\w+ \w+"):
        import_shoot_days(world.coordinator, content, dry_run=False, now=NOW)


def test_only_a_coordinator_brings_tables_in(world):
    with pytest.raises(Forbidden):
        import_shoot_days(world.mixer("main"), a_fixture("shoot-days.csv"), dry_run=True, now=NOW)
