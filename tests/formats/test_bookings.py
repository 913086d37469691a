"""The demo's table of bookings: one row a line, days by number."""

from datetime import time

import pytest

from crossload.domain.booking import BookingState
from crossload.domain.booking_list import DayTime, ListedBooking, ListedLine
from crossload.formats.bookings import COLUMNS, parse_day_time, read_bookings
from crossload.formats.cells import plain

HEADER = (
    "Booking,Unit,State,From day,From time,To day,To time,Purpose,Pencil until,"
    "Kit,Quantity,Tag,Out,Back,Tags out,With"
)


def a_table(*lines: str):
    return read_bookings("\n".join((HEADER, *lines)).encode())


def said(found) -> list[tuple[int, str, str]]:
    return [(problem.row, problem.column, problem.reason) for problem in found.problems]


def test_no_header_means_two_columns():
    meanings: dict[str, str] = {}
    for column in COLUMNS:
        for header in (column.label, *column.synonyms):
            assert meanings.setdefault(plain(header), column.field) == column.field


def test_rows_of_one_booking_are_its_lines():
    found = a_table(
        "B1,Main,confirmed,8,,10,,crowd,,Pack,2,,7 18:30,,P1 P2,Joss",
        "B1,Main,,8,,10,,,,Pouch,2,,,,,",
        "B2,Second,pencilled,9,07:00,9,02:30 next day,,10 12:00,Long arm,1,LA02,,,,",
    )
    assert found.problems == ()
    first, second = found.bookings
    assert first == ListedBooking(
        "B1",
        "Main",
        BookingState.CONFIRMED,
        8,
        10,
        purpose="crowd",
        lines=(
            ListedLine("Pack", 2, out=DayTime(7, time(18, 30)), pieces=("P1", "P2"), person="Joss"),
            ListedLine("Pouch", 2),
        ),
    )
    assert (second.from_time, second.to_time, second.to_next_day) == (time(7), time(2, 30), True)
    assert second.pencil_expires == DayTime(10, time(12))
    assert second.lines == (ListedLine("Long arm", 1, "LA02"),)
    assert [line.row for line in first.lines] == [2, 3]


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("7 18:30", DayTime(7, time(18, 30))),
        ("D12 7:00 pm", DayTime(12, time(19))),
        ("12 02:30 next day", DayTime(12, time(2, 30), next_day=True)),
    ],
)
def test_a_day_and_a_time_are_read_together(text, at):
    assert parse_day_time(text) == at


@pytest.mark.parametrize("text", ["18:30", "7", "7 25:00", "seven 18:30", "7 18:30 tomorrow"])
def test_a_day_and_a_time_that_are_none_are_refused(text):
    with pytest.raises(ValueError, match=r"write it like|no such time"):
        parse_day_time(text)


@pytest.mark.parametrize(
    ("lines", "problem"),
    [
        (["B1,Main,maybe,8,,9,,,,Pack,1,,,,,"], (2, "State")),
        (["B1,Main,confirmed,9,,8,,,,Pack,1,,,,,"], (2, "To day")),
        (["B1,Main,confirmed,8,,9,,,9 08:00,Pack,1,,,,,"], (2, "Pencil until")),
        (["B1,Main,confirmed,8,,9,,,,Pack,0,,,,,"], (2, "Quantity")),
        (["B1,Main,confirmed,8,,9,,,,Pack,2,P1,,,,"], (2, "Quantity")),
        (["B1,Main,confirmed,8,,9,,,,Pack,1,,7 18:00,,P1 P2,"], (2, "Tags out")),
        (["B1,Main,confirmed,8,,9,,,,Pack,1,,,9 18:00,,"], (2, "Out")),
        (["B1,Main,confirmed,8,,9,,,,,1,,,,,"], (2, "Kit")),
        (["B1,Main,confirmed,8,,9,,,,Pack,1,,,,,", "B1,Second,,8,,9,,,,Pouch,1,,,,,"], (3, "Unit")),
    ],
)
def test_a_fault_is_told_and_its_booking_left_out(lines, problem):
    found = a_table(*lines, "B9,Main,confirmed,8,,9,,,,Pack,1,,,,,")
    assert [(p.row, p.column) for p in found.problems] == [problem]
    assert [booking.reference for booking in found.bookings] == ["B9"]


def test_rows_of_one_booking_must_follow_each_other():
    line = "{},Main,confirmed,8,,9,,,,Pack,1,,,,,"
    found = a_table(line.format("B1"), line.format("B2"), line.format("B1"))
    assert said(found) == [(4, "Booking", "stands on row 2 already, and not right above")]
