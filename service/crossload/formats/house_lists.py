"""People, and kit out of service: two small tables of a house."""

from datetime import date, time
from functools import partial

from crossload.domain.house_lists import (
    OutOfServiceList,
    OutOfServiceRow,
    PeopleList,
    PersonRow,
)
from crossload.domain.names import one_line
from crossload.domain.people import Role
from crossload.formats.cells import parse_date, parse_text, parse_time, parse_word
from crossload.formats.columns import Column, Sheet, SheetRow, no_two
from crossload.formats.kit_columns import CONDITIONS
from crossload.formats.numerals import parse_whole
from crossload.formats.tables import Encoding, read_table

PEOPLE_COLUMNS = (
    Column("name", "Name", ("person", "who", "full name"), needed=True),
    Column("job", "Job", ("department", "position", "does")),
    Column("unit", "Unit", ("shooting unit", "team", "with")),
    Column("phone", "Telephone", ("phone", "mobile", "tel", "number")),
    Column("login", "Sign-in name", ("login", "user", "user name", "sign in")),
    Column("role", "Role", ("may", "role in the service", "rights")),
)

OUT_OF_SERVICE_COLUMNS = (
    Column("kit_type", "Kit type", ("kit", "what", "item"), needed=True),
    Column("tag", "Tag", ("asset no", "asset", "which one")),
    Column("quantity", "Quantity", ("qty", "how many", "pieces")),
    Column("from", "From", ("since", "out from", "start"), needed=True),
    Column("until", "Until", ("to", "expected back", "end")),
    Column("condition", "Condition", ("state", "status", "shape")),
    Column("reason", "Reason", ("why", "fault", "notes")),
)

_ROLES = {str(role): role for role in Role if role is not Role.WALL}


def read_people(content: bytes, *, encoding: Encoding = "utf-8") -> PeopleList:
    """Read people, CSV or XLSX; a sign-in name needs a role, and a role a sign-in name."""
    sheet = Sheet(read_table(content, encoding=encoding), PEOPLE_COLUMNS)
    rows = [(row, _person(row)) for row in (sheet.rows() if sheet.usable else ())]
    no_two(((person.login, row) for row, person in rows), "login", "the sign-in name")
    return PeopleList(tuple(person for row, person in rows if row.sound), sheet.in_order())


def _person(row: SheetRow) -> PersonRow:
    login = row.read("login", parse_text, "")
    role = row.read("role", partial(parse_word, words=_ROLES, such=", ".join(_ROLES)), None)
    if bool(login) != (role is not None):
        row.problem("role" if login else "login", "is empty: sign-in name and role go together")
    return PersonRow(
        name=row.must("name", parse_text) or "",
        job=row.read("job", parse_text, ""),
        unit=row.read("unit", parse_text, ""),
        phone=row.read("phone", parse_text, ""),
        login=login,
        role=role,
        row=row.number,
    )


def read_out_of_service(content: bytes, *, encoding: Encoding = "utf-8") -> OutOfServiceList:
    """Read what is out of service, CSV or XLSX. An empty *until* is until further notice."""
    sheet = Sheet(read_table(content, encoding=encoding), OUT_OF_SERVICE_COLUMNS)
    found = [(row, _out_of_service(row)) for row in (sheet.rows() if sheet.usable else ())]
    rows = tuple(value for row, value in found if value is not None and row.sound)
    return OutOfServiceList(rows, sheet.in_order())


def _out_of_service(row: SheetRow) -> OutOfServiceRow | None:
    kit_type = row.must("kit_type", parse_text)
    start = row.must("from", parse_date_time)
    end = row.read("until", parse_date_time, None)
    tag = row.read("tag", parse_text, "")
    quantity = row.read("quantity", partial(parse_whole, low=1), 1)
    if tag and quantity != 1:
        row.problem("quantity", f"is {quantity}, and a piece with a tag is one")
    if start and end and end <= start:
        row.problem("until", "is not after it begins")
    words = partial(parse_word, words=CONDITIONS, such="suspect, damaged, in repair or lost")
    condition = row.read("condition", words, None)
    if kit_type is None or start is None:
        return None
    day, hour = end or (None, None)
    reason = row.read("reason", parse_text, "")
    return OutOfServiceRow(
        kit_type, tag, quantity, *start, day, hour, condition, reason, row.number
    )


def parse_date_time(text: str) -> tuple[date, time]:
    """A date and a time with a space between, `2026-11-24 09:00`; without a time: midnight."""
    day, _, hour = one_line(text).rpartition(" ")
    if day and ":" in hour:
        return parse_date(day), parse_time(hour)
    return parse_date(text), time()
