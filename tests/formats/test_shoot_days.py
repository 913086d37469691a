"""Shoot days as a table: local dates and times, nights, and the same table out."""

from datetime import date, datetime, time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crossload.domain.shoot_day_list import ShootDayRow
from crossload.formats.cells import plain
from crossload.formats.shoot_days import COLUMNS, read_shoot_days, write_shoot_days

SAMPLES = Path(__file__).parents[2] / "fixtures" / "samples"
HEADER = "Unit,Date,Day,Call,Wrap"


def a_list(*lines: str):
    return read_shoot_days("\n".join(lines).encode())


def said(days) -> list[tuple[int, str, str]]:
    return [(problem.row, problem.column, problem.reason) for problem in days.problems]


def test_no_header_means_two_columns_and_every_column_has_three_other_names():
    meanings: dict[str, str] = {}
    for column in COLUMNS:
        assert len(set(column.synonyms)) >= 3, column.field
        for header in (column.label, *column.synonyms):
            assert meanings.setdefault(plain(header), column.field) == column.field


def test_a_local_table_is_read_in_its_own_words():
    days = read_shoot_days((SAMPLES / "shoot-days-local.csv").read_bytes())
    assert days.problems == ()
    first, second, third = days.rows
    assert first == ShootDayRow(
        unit="Second",
        day=date(2026, 11, 26),
        number=9,
        call=time(7, 30),
        wrap=time(19),
        location="Salt flats, north sluice",
        latitude_e7=517_481_000,
        longitude_e7=9_377_000,
        inside=False,
        wind_dm_s=95,
        temperature_dc=55,
        radios=4,
        booms=1,
        listeners=6,
        mute=False,
        pre_rig_s=3600,
        strike_s=1800,
        notes="boats",
    )
    assert (second.call, second.wrap, second.inside, second.mute) == (time(7), time(20), True, True)
    assert (second.temperature_dc, second.pre_rig_s) == (-20, 2700)
    assert (third.call, third.wrap) == (time(19), time(2, 30))


def test_a_wrap_before_its_call_is_on_the_next_day_and_the_day_is_that_of_the_call():
    (night,) = a_list(HEADER, "Main,31/12/2026,12,16:00,03:00").rows
    assert night.day == date(2026, 12, 31)
    assert night.wrap_day == date(2027, 1, 1)
    assert night.wall_times() == (datetime(2026, 12, 31, 16), datetime(2027, 1, 1, 3))  # noqa: DTZ001
    (late,) = a_list(HEADER, "Main,31/12/2026,12,16:00,00:00").rows
    assert late.wrap_day == date(2027, 1, 1)
    (long,) = a_list(HEADER, "Main,31/12/2026,12,06:00,23:59").rows
    assert long.wrap_day == date(2026, 12, 31)


def test_every_fault_is_told_by_row_column_and_reason():
    days = read_shoot_days((SAMPLES / "shoot-days-faults.csv").read_bytes())
    assert said(days) == [
        (2, "Date", "11/25/2026 has month 25: the day comes first, 26/11/2026"),
        (3, "Call", "7 is not a time of day: write it like 06:00"),
        (4, "Wrap", "is the same as the call: a day with no length"),
        (
            *(4, "Inside or outside"),
            "both is not known here: write inside or outside, or leave it empty",
        ),
        (4, "Wind (m/s)", "11 kt is in another unit: give it in m/s"),
        (5, "Latitude", "needs both latitude and longitude, or neither"),
        (5, "Radios", "-8 is negative: give 0 or more"),
        (6, "Date", "the unit's date 30/11/2026 stands on row 5 already"),
        (7, "Day", "the unit's day 11 stands on row 5 already"),
        (7, "Call", "is before the wrap of the day on row 6"),
        (8, "Unit", "is empty: every row needs it"),
        (8, "Wrap", "is empty: every row needs it"),
    ]
    assert days.rows == ()


def test_units_may_share_dates_and_numbers_and_days_may_touch():
    days = a_list(
        HEADER,
        "Main,30/11/2026,11,16:00,04:00",
        "Main,01/12/2026,12,04:00,12:00",
        "Second,30/11/2026,11,16:00,04:00",
    )
    assert days.problems == ()
    assert len(days.rows) == 3


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("51.7", "two numbers"),
        ("51.7, 0.9, 3", "two numbers"),
        ("95, 0.9", "more than 90"),
        ("51.7, 181", "more than 180"),
    ],
)
def test_a_position_that_is_none_is_refused(cell, words):
    days = a_list(f"{HEADER},Coordinates", f'Main,30/11/2026,1,08:00,18:00,"{cell}"')
    assert [(p.row, p.column) for p in days.problems] == [(2, "Coordinates")]
    assert words in days.problems[0].reason


def test_a_table_without_the_needed_headers_is_told_which():
    days = a_list("Unit,Date,Call,Wrap,Radios", "Main,30/11/2026,08:00,18:00,4")
    assert [(p.row, p.column) for p in days.problems] == [(1, "")]
    assert "Day, day number" in days.problems[0].reason


lines = st.text(st.characters(exclude_categories=["C"]), max_size=20).map(
    lambda text: " ".join(text.split())
)
times = st.times().map(lambda at: at.replace(microsecond=0))
counts = st.integers(0, 10_000)
spans = st.integers(0, 86_400)


@st.composite
def shoot_days(draw) -> list[ShootDayRow]:
    """Days of several units, at least two dates apart within a unit, so that no two meet."""
    rows = []
    for unit in draw(st.lists(lines.filter(bool), max_size=2, unique_by=str.casefold)):
        for number in range(draw(st.integers(0, 3))):
            call = draw(times)
            located = draw(st.booleans())
            rows.append(
                ShootDayRow(
                    unit=unit,
                    day=date.fromordinal(739_900 + 2 * number),
                    number=number,
                    call=call,
                    wrap=draw(times.filter(lambda at, call=call: at != call)),
                    location=draw(lines),
                    latitude_e7=draw(st.integers(-9 * 10**8, 9 * 10**8)) if located else None,
                    longitude_e7=draw(st.integers(-18 * 10**8, 18 * 10**8)) if located else None,
                    inside=draw(st.none() | st.booleans()),
                    wind_dm_s=draw(st.none() | st.integers(0, 1000)),
                    temperature_dc=draw(st.none() | st.integers(-900, 700)),
                    radios=draw(counts),
                    booms=draw(counts),
                    listeners=draw(counts),
                    mute=draw(st.booleans()),
                    pre_rig_s=draw(spans),
                    strike_s=draw(spans),
                    notes=draw(lines | st.just("two\nlines")),
                )
            )
    return rows


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@settings(max_examples=60)
@given(rows=shoot_days())
def test_days_that_are_written_read_the_same(kind, rows):
    days = read_shoot_days(write_shoot_days(rows, kind))
    assert days.problems == ()
    assert list(days.rows) == rows
