"""Shoot days: a table of each unit's working days to values, and back."""

from collections.abc import Iterable
from decimal import Decimal
from functools import partial
from typing import Any

from crossload.domain.shoot_day_list import ShootDayList, ShootDayRow
from crossload.formats.cells import (
    parse_date,
    parse_span,
    parse_text,
    parse_time,
    parse_word,
    span_cell,
)
from crossload.formats.columns import Column, Sheet, SheetRow, no_two
from crossload.formats.grid import Cell
from crossload.formats.numerals import parse_degrees_e7, parse_tenths, parse_whole
from crossload.formats.tables import Encoding, Kind, read_table, write_table

COLUMNS = (
    Column("unit", "Unit", ("shooting unit", "team", "crew"), needed=True),
    Column("day", "Date", ("shoot date", "date of call", "calendar date"), needed=True),
    Column("number", "Day", ("day number", "day no", "shoot day", "number"), needed=True),
    Column("call", "Call", ("unit call", "call time", "start"), needed=True),
    Column("wrap", "Wrap", ("unit wrap", "wrap time", "end", "estimated wrap"), needed=True),
    Column("location", "Location", ("place", "where", "set", "unit base")),
    Column("coordinates", "Coordinates", ("position", "lat long", "lat lon", "latitude longitude")),
    Column("latitude_e7", "Latitude", ("lat", "latitude deg", "north")),
    Column("longitude_e7", "Longitude", ("long", "lon", "lng", "longitude deg", "east")),
    Column("inside", "Inside or outside", ("inside outside", "int ext", "in or out")),
    Column("wind_dm_s", "Wind (m/s)", ("wind", "wind speed", "wind speed m s")),
    Column("temperature_dc", "Temperature (°C)", ("temperature", "temp", "temp c", "degrees c")),
    Column("radios", "Radios", ("radio count", "no of radios", "radios in use")),
    Column("booms", "Booms", ("boom count", "no of booms", "booms in use")),
    Column("listeners", "Listeners", ("listening", "no of listeners", "listening receivers")),
    Column("sound", "Sound or mute", ("sound", "sound mute", "sync or mute", "mute")),
    Column("pre_rig_s", "Pre-rig (min)", ("pre rig", "prerig", "pre rig minutes")),
    Column("strike_s", "Strike (min)", ("strike", "strike time", "strike minutes")),
    Column("notes", "Notes", ("note", "remarks", "comments")),
)

_INSIDE = {
    **dict.fromkeys(("inside", "int", "interior", "in", "stage", "studio"), True),
    **dict.fromkeys(("outside", "ext", "exterior", "out"), False),
}
_MUTE = {
    **dict.fromkeys(("mute", "mos", "no sound", "without sound"), True),
    **dict.fromkeys(("sound", "sync", "with sound"), False),
}
_NOT_WRITTEN = ("coordinates",)

_parse_inside = partial(parse_word, words=_INSIDE, such="inside or outside, or leave it empty")
_parse_mute = partial(parse_word, words=_MUTE, such="sound or mute")
_parse_count = partial(parse_whole, high=10_000)
_parse_latitude = partial(parse_degrees_e7, limit=90)
_parse_wind = partial(parse_tenths, units=("m/s",), low=0, high=100)
_parse_temperature = partial(parse_tenths, units=("°c", "c", "°"), low=-90, high=70)
_parse_longitude = partial(parse_degrees_e7, limit=180)


def read_shoot_days(content: bytes, *, encoding: Encoding = "utf-8") -> ShootDayList:
    """Read shoot days, CSV or XLSX. Every row that is wrong is in `problems`, by number and reason.

    Times are local wall times; a wrap before its call is on the next day. Columns that are not
    known are not read. TableRefused where the file is not a table.
    """
    table = read_table(content, encoding=encoding)
    sheet = Sheet(table, COLUMNS)
    found: list[tuple[SheetRow, ShootDayRow]] = []
    for row in sheet.rows() if sheet.usable else ():
        day = _shoot_day(row)
        if day is not None:
            found.append((row, day))
    _check_days(found)
    rows = tuple(day for row, day in found if row.sound)
    return ShootDayList(rows, sheet.in_order(), sheet.known_headers(), table.left_out)


def _shoot_day(row: SheetRow) -> ShootDayRow | None:
    unit = row.must("unit", parse_text)
    day = row.must("day", parse_date)
    number = row.must("number", partial(parse_whole, high=9999))
    call = row.must("call", parse_time)
    wrap = row.must("wrap", parse_time)
    if call is not None and call == wrap:
        row.problem("wrap", "is the same as the call: a day with no length")
    rest = _what_it_is_like(row) | _what_is_in_use(row)
    if unit is None or day is None or number is None or call is None or wrap is None:
        return None
    return ShootDayRow(unit, day, number, call, wrap, row=row.number, **rest)


def _what_it_is_like(row: SheetRow) -> dict[str, Any]:
    latitude, longitude = _position(row)
    return {
        "location": row.read("location", parse_text, ""),
        "latitude_e7": latitude,
        "longitude_e7": longitude,
        "inside": row.read("inside", _parse_inside, None),
        "wind_dm_s": row.read("wind_dm_s", _parse_wind, None),
        "temperature_dc": row.read("temperature_dc", _parse_temperature, None),
        "notes": str(row.text("notes")),
    }


def _what_is_in_use(row: SheetRow) -> dict[str, Any]:
    return {
        "radios": row.read("radios", _parse_count, 0),
        "booms": row.read("booms", _parse_count, 0),
        "listeners": row.read("listeners", _parse_count, 0),
        "mute": row.read("sound", _parse_mute, False),
        "pre_rig_s": row.read("pre_rig_s", parse_span, 0),
        "strike_s": row.read("strike_s", parse_span, 0),
    }


def _position(row: SheetRow) -> tuple[int | None, int | None]:
    """Latitude and longitude, from two columns or from one that holds both."""
    latitude = row.read("latitude_e7", _parse_latitude, None)
    longitude = row.read("longitude_e7", _parse_longitude, None)
    both = row.text("coordinates")
    if both:
        parts = [part.strip() for part in both.replace(";", ",").split(",")]
        if len(parts) != 2:
            row.problem("coordinates", "are not two numbers: write them like 51.7352, 0.9124")
        else:
            latitude = row.read("coordinates", lambda _: _parse_latitude(parts[0]), latitude)
            longitude = row.read("coordinates", lambda _: _parse_longitude(parts[1]), longitude)
    if row.sound and (latitude is None) != (longitude is None):
        row.problem("latitude_e7", "needs both latitude and longitude, or neither")
    return latitude, longitude


def _check_days(found: list[tuple[SheetRow, ShootDayRow]]) -> None:
    """Note a unit's day or number that stands twice, and days that run into each other."""
    no_two(((f"{day.day} of {day.unit}", row) for row, day in found), "day", "the unit's date")
    no_two(((f"{day.number} of {day.unit}", row) for row, day in found), "number", "the unit's day")
    latest: dict[str, tuple[SheetRow, ShootDayRow]] = {}
    for row, day in sorted(found, key=lambda each: each[1].wall_times()):
        before = latest.get(day.unit.casefold())
        latest[day.unit.casefold()] = (row, day)
        if before is None or day.day == before[1].day:
            continue
        if day.wall_times()[0] < before[1].wall_times()[1]:
            row.problem("call", f"is before the wrap of the day on row {before[0].number}")


def write_shoot_days(rows: Iterable[ShootDayRow], kind: Kind = "csv") -> bytes:
    """Write shoot days as CSV or XLSX; `read_shoot_days` gives equal rows back."""
    columns = [column for column in COLUMNS if column.field not in _NOT_WRITTEN]
    lines: list[list[Cell]] = [[column.label for column in columns]]
    for row in rows:
        cells = _cells(row)
        lines.append([cells[column.field] for column in columns])
    return write_table(lines, kind, name="Shoot days")


def _cells(row: ShootDayRow) -> dict[str, Cell]:
    where = {None: None, True: "inside", False: "outside"}
    return {
        "unit": row.unit,
        "day": row.day.isoformat(),
        "number": row.number,
        "call": row.call.isoformat("seconds" if row.call.second else "minutes"),
        "wrap": row.wrap.isoformat("seconds" if row.wrap.second else "minutes"),
        "location": row.location,
        "latitude_e7": _scaled(row.latitude_e7, 7),
        "longitude_e7": _scaled(row.longitude_e7, 7),
        "inside": where[row.inside],
        "wind_dm_s": _scaled(row.wind_dm_s, 1),
        "temperature_dc": _scaled(row.temperature_dc, 1),
        "radios": row.radios,
        "booms": row.booms,
        "listeners": row.listeners,
        "sound": "mute" if row.mute else "sound",
        "pre_rig_s": span_cell(row.pre_rig_s),
        "strike_s": span_cell(row.strike_s),
        "notes": row.notes,
    }


def _scaled(value: int | None, places: int) -> Decimal | None:
    return None if value is None else Decimal(value).scaleb(-places)
