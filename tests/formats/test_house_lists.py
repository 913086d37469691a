"""People, and what is out of service, as tables."""

from datetime import date, time

import pytest

from crossload.domain.house_lists import OutOfServiceRow, PersonRow
from crossload.domain.kit import Condition
from crossload.domain.people import Role
from crossload.formats.house_lists import read_out_of_service, read_people


def test_people_are_read_with_their_role_in_the_service():
    people = read_people(
        b"Name,Job,Unit,Mobile,Login,Role\n"
        b"Joss,assistant,Main,07700 900111,joss,assistant\nNell,,Main,,,\n"
    )
    assert people.problems == ()
    assert people.rows == (
        PersonRow("Joss", "assistant", "Main", "07700 900111", "joss", Role.ASSISTANT),
        PersonRow("Nell", unit="Main"),
    )


@pytest.mark.parametrize(
    ("line", "column"),
    [
        ("Joss,joss,boss", "Role"),
        ("Joss,joss,wall", "Role"),
        ("Joss,joss,", "Role"),
        ("Joss,,mixer", "Login"),
        (",joss,mixer", "Name"),
        ("Wyn,ines,mixer", "Login"),
    ],
)
def test_a_fault_of_a_person_is_told(line, column):
    people = read_people(f"Name,Login,Role\nInes,INES,coordinator\n{line}\n".encode())
    assert {(p.row, p.column) for p in people.problems} == {(3, column)}
    assert [person.name for person in people.rows] == ["Ines"]


def test_what_is_out_of_service_has_a_window_or_lasts_until_further_notice():
    found = read_out_of_service(
        b"Kit,Asset no,Qty,From,Until,Condition,Reason\n"
        b"Pack,PL24,,20/11/2026 10:00,,in repair,no output\n"
        b"AA,,8,24/11/2026,4 Dec 2026 18:00,,tired\n"
    )
    assert found.problems == ()
    assert found.rows == (
        OutOfServiceRow(
            *("Pack", "PL24", 1, date(2026, 11, 20), time(10)),
            condition=Condition.IN_REPAIR,
            reason="no output",
        ),
        OutOfServiceRow(
            *("AA", "", 8, date(2026, 11, 24), time(0), date(2026, 12, 4), time(18)),
            reason="tired",
        ),
    )


@pytest.mark.parametrize(
    ("line", "column"),
    [
        ("Pack,P1,2,20/11/2026,", "Qty"),
        ("Pack,,0,20/11/2026,", "Qty"),
        ("Pack,P1,,20/11/2026,20/11/2026 00:00", "Until"),
        ("Pack,P1,,,", "From"),
        (",P1,,20/11/2026,", "Kit"),
    ],
)
def test_a_fault_of_what_is_out_of_service_is_told(line, column):
    found = read_out_of_service(f"Kit,Tag,Qty,From,Until\n{line}\n".encode())
    assert [(p.row, p.column) for p in found.problems] == [(2, column)]
    assert found.rows == ()
