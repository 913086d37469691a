"""The demo's bookings: one row a line, shoot days by number, local times, kit by name."""

import re
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from crossload.domain.booking import BookingState
from crossload.domain.booking_list import DayTime, ListedBooking, ListedBookings, ListedLine
from crossload.domain.instants import shown
from crossload.domain.names import one_line
from crossload.formats.cells import parse_text, parse_time, parse_word
from crossload.formats.columns import Column, Sheet, SheetRow
from crossload.formats.numerals import parse_whole
from crossload.formats.tables import Encoding, read_table

COLUMNS = (
    Column("reference", "Booking", ("booking no", "ref", "reference"), needed=True),
    Column("unit", "Unit", ("shooting unit", "for", "for unit"), needed=True),
    Column("state", "State", ("status", "pencilled or confirmed", "how sure"), needed=True),
    Column("from_number", "From day", ("from", "first day", "day"), needed=True),
    Column("from_time", "From time", ("at", "from hour", "start time")),
    Column("to_number", "To day", ("to", "last day", "until day"), needed=True),
    Column("to_time", "To time", ("until", "to hour", "end time")),
    Column("purpose", "Purpose", ("what for", "why", "reason")),
    Column("who_pays", "Who pays", ("paid by", "payer", "charge to")),
    Column("order_number", "Order number", ("order no", "order", "purchase order")),
    Column("pencil_expires", "Pencil until", ("pencil lapses", "lapses", "answer by")),
    Column("kit_type", "Kit", ("kit type", "what", "item"), needed=True),
    Column("quantity", "Quantity", ("qty", "how many", "pieces"), needed=True),
    Column("tag", "Tag", ("named item", "asset no", "which one")),
    Column("out", "Out", ("went out", "out at", "gone")),
    Column("back", "Back", ("came back", "back at", "returned")),
    Column("pieces", "Tags out", ("tags", "which went", "pieces out")),
    Column("person", "With", ("with whom", "who has it", "held by")),
)

_STATES = {
    **dict.fromkeys(("confirmed", "confirm", "firm"), BookingState.CONFIRMED),
    **dict.fromkeys(("pencilled", "pencil", "pencilled in"), BookingState.PENCILLED),
}
_DAY_TIME = re.compile(r"D?\s*(\d{1,4})\s+(\S+(?:\s*[ap]m)?)(\s+next day)?", re.IGNORECASE)
_NEXT_DAY = re.compile(r"(.*\S)\s+next day", re.IGNORECASE)

_parse_state = partial(parse_word, words=_STATES, such="confirmed or pencilled")
_parse_day_number = partial(parse_whole, high=9999)


def parse_day_time(text: str) -> DayTime:
    """`7 18:30`, `D7 18:30`, or `7 02:30 next day` for the night after the day of that number."""
    match = _DAY_TIME.fullmatch(one_line(text))
    if match is None:
        raise ValueError(f"{shown(text)} is not a day and a time: write it like 7 18:30")
    return DayTime(int(match[1]), parse_time(match[2]), bool(match[3]))


@dataclass(slots=True)
class _Entry:
    """A booking on the way in: the cells of its first row, and its lines."""

    row: SheetRow
    cells: dict[str, Any]
    sound: bool = True
    lines: list[ListedLine] = field(default_factory=list)


def read_bookings(content: bytes, *, encoding: Encoding = "utf-8") -> ListedBookings:
    """Read bookings, one row a line; rows of one booking follow each other.

    What is the booking's own stands on its first row and may stand on the others. Every row that
    is wrong is in `problems`; bookings with such a row are left out. TableRefused where the file
    is not a table. Whether units, days and kit exist is for whoever brings them in.
    """
    sheet = Sheet(read_table(content, encoding=encoding), COLUMNS)
    entries: dict[str, _Entry] = {}
    last = ""
    for row in sheet.rows() if sheet.usable else ():
        reference = row.must("reference", parse_text) or ""
        key = reference.casefold()
        if key not in entries:
            entries[key] = _Entry(row, _booking_cells(row, reference))
        elif key != last:
            earlier = entries[key].row.number
            row.problem("reference", f"stands on row {earlier} already, and not right above")
        else:
            _check_same(row, entries[key])
        entry, last = entries[key], key
        line = _line(row)
        if line:
            entry.lines.append(line)
        entry.sound = entry.sound and row.sound
    bookings = (_booking(entry) for entry in entries.values() if entry.sound)
    return ListedBookings(tuple(bookings), sheet.in_order())


def _booking_cells(row: SheetRow, reference: str) -> dict[str, Any]:
    to_time, to_next_day = row.read("to_time", _time_of_end, (None, False))
    state = row.must("state", _parse_state)
    expires = row.read("pencil_expires", parse_day_time, None)
    if expires and state is BookingState.CONFIRMED:
        row.problem("pencil_expires", "is for a pencilled booking, and this one is confirmed")
    numbers = [row.must(name, _parse_day_number) for name in ("from_number", "to_number")]
    if None not in numbers and numbers[0] > numbers[1]:  # type: ignore[operator]
        row.problem("to_number", "is before the day that the booking begins on")
    return {
        "reference": reference,
        "unit": row.must("unit", parse_text),
        "state": state,
        "from_number": numbers[0],
        "to_number": numbers[1],
        "from_time": row.read("from_time", parse_time, None),
        "to_time": to_time,
        "to_next_day": to_next_day,
        "purpose": row.read("purpose", parse_text, ""),
        "who_pays": row.read("who_pays", parse_text, ""),
        "order_number": row.read("order_number", parse_text, ""),
        "pencil_expires": expires,
    }


def _time_of_end(text: str) -> tuple[Any, bool]:
    match = _NEXT_DAY.fullmatch(one_line(text))
    return parse_time(match[1] if match else text), match is not None


def _check_same(row: SheetRow, entry: _Entry) -> None:
    """Note what the row says of its booking against the first row."""
    for column in COLUMNS[1:11]:
        said = row.text(column.field)
        if said and said != entry.row.text(column.field):
            row.problem(column.field, f"{shown(said)} is not what row {entry.row.number} says")


def _line(row: SheetRow) -> ListedLine | None:
    kit_type = row.must("kit_type", parse_text)
    quantity = row.must("quantity", partial(parse_whole, low=1))
    tag = row.read("tag", parse_text, "")
    if tag and quantity not in (None, 1):
        row.problem("quantity", f"is {quantity}, and a named item is one")
    pieces = tuple(re.findall(r"[^;,\s]+", row.text("pieces")))
    if quantity is not None and len(pieces) > quantity:
        row.problem("pieces", f"are {len(pieces)}, more than the line has")
    out, back = (row.read(name, parse_day_time, None) for name in ("out", "back"))
    if (back or pieces) and not out:
        row.problem("out", "is empty, and the row says that something went out")
    if kit_type is None or quantity is None:
        return None
    person = row.read("person", parse_text, "")
    return ListedLine(kit_type, quantity, tag, out, back, pieces, person, row.number)


def _booking(entry: _Entry) -> ListedBooking:
    return ListedBooking(**entry.cells, lines=tuple(entry.lines), row=entry.row.number)
