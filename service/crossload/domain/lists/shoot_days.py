"""A list of shoot days against those of the pool's units, and those as a list again."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from crossload.domain.instants import format_instant, shown
from crossload.domain.lists.merged import Change, Merged, Problems, in_json, taken
from crossload.domain.names import fold
from crossload.domain.row_problem import RowProblem
from crossload.domain.shoot import Production, ShootDay, Unit
from crossload.domain.shoot_day_list import ShootDayList, ShootDayRow
from crossload.domain.window import Id, Instant
from crossload.domain.zones import wall_to_instant

_FIELDS = {
    "location": "location",
    "inside": "inside",
    "wind_dm_s": "wind_dm_s",
    "temperature_dc": "temperature_dc",
    "radios": "radios",
    "booms": "booms",
    "listeners": "listeners",
    "mute": "sound",
    "pre_rig_s": "pre_rig_s",
    "strike_s": "strike_s",
    "notes": "notes",
}
"""Fields of a shoot day, and the columns that speak of them."""

_POSITION = ("latitude_e7", "longitude_e7")


@dataclass(frozen=True, slots=True)
class MergedDays:
    days: Sequence[Merged[ShootDay]]
    problems: tuple[RowProblem, ...]


class UnitNames:
    """Units by the names that people write: bare, or behind their production where two share it."""

    def __init__(self, units: Iterable[Unit], productions: Iterable[Production]):
        names = {production.id: production.name for production in productions}
        self.units = [unit for unit in units if unit.ended_at is None]
        self._full = {unit.id: f"{names[unit.production]} / {unit.name}" for unit in self.units}
        self._by_name: dict[str, list[Unit]] = defaultdict(list)
        for unit in self.units:
            for name in {fold(unit.name), fold(self._full[unit.id])}:
                self._by_name[name].append(unit)

    def find(self, name: str) -> Unit:
        """The unit; ValueError says which there are."""
        found = self._by_name.get(fold(name), [])
        if len(found) == 1:
            return found[0]
        if found:
            full = " and ".join(shown(self._full[unit.id]) for unit in found)
            raise ValueError(f"{shown(name)} could be {full}: write which")
        known = ", ".join(sorted({shown(unit.name) for unit in self.units})) or "none yet"
        raise ValueError(f"{shown(name)} is no unit of this pool: there are {known}")

    def name_of(self, unit: Unit) -> str:
        """The name that finds this unit again."""
        alone = len(self._by_name[fold(unit.name)]) == 1
        return unit.name if alone else self._full[unit.id]


def merge_days(
    found: ShootDayList,
    existing: Collection[ShootDay],
    units: UnitNames,
    zone: ZoneInfo,
    new_id: Callable[[], Id],
) -> MergedDays:
    """Each day of the list. A day is known by its unit and number, else by its unit and date.

    So a day that is moved keeps what hangs on it. Nothing may be written while there are problems.
    """
    problems = Problems(found.headers)
    problems.found |= set(found.problems)
    rows: list[tuple[ShootDayRow, Unit]] = []
    for row in found.rows:
        try:
            rows.append((row, units.find(row.unit)))
        except ValueError as error:
            problems.add(row.row, "unit", str(error))
    known = _match(rows, existing)
    merged = []
    for row, unit in rows:
        before = known.get(row.row)
        value = _as_listed(row, unit, before, found.columns, zone, new_id, problems)
        if value is not None:
            merged.append(Merged(row.row, value, before))
    _check_dates(merged, existing, problems)
    _check_overlaps(merged, existing, problems)
    return MergedDays(merged, problems.in_order())


def _match(
    rows: Iterable[tuple[ShootDayRow, Unit]], existing: Collection[ShootDay]
) -> dict[int, ShootDay]:
    by_number = {(day.unit, day.number): day for day in existing}
    by_date = {(day.unit, day.day): day for day in existing}
    found: dict[int, ShootDay] = {}
    rows = list(rows)
    for row, unit in rows:
        if day := by_number.get((unit.id, row.number)):
            found[row.row] = day
    gone = {day.id for day in found.values()}
    for row, unit in rows:
        day = by_date.get((unit.id, row.day))
        if row.row not in found and day and day.id not in gone:
            found[row.row] = day
            gone.add(day.id)
    return found


def _as_listed(
    row: ShootDayRow,
    unit: Unit,
    before: ShootDay | None,
    columns: frozenset[str],
    zone: ZoneInfo,
    new_id: Callable[[], Id],
    problems: Problems,
) -> ShootDay | None:
    if before and _walls(before, zone) == (row.day, row.call, row.wrap):
        # What a table cannot tell apart, such as the second 01:30 of a night, stays as it is.
        call, wrap = before.call_s, before.wrap_s
    else:
        times = _instants(row, zone, problems)
        if times is None:
            return None
        call, wrap = times
    value = before or ShootDay(new_id(), unit.id, row.day, row.number, call, wrap)
    said: dict[str, Any] = {
        field: taken(getattr(value, field), getattr(row, field))
        for field, column in _FIELDS.items()
        if column in columns
    }
    if columns & {*_POSITION, "coordinates"}:
        said |= {field: getattr(row, field) for field in _POSITION}
    return replace(value, day=row.day, number=row.number, call_s=call, wrap_s=wrap, **said)


def _instants(
    row: ShootDayRow, zone: ZoneInfo, problems: Problems
) -> tuple[Instant, Instant] | None:
    try:
        call = wall_to_instant(row.day, row.call, zone, edge="start")
    except ValueError as error:
        problems.add(row.row, "call", str(error))
        return None
    try:
        wrap = wall_to_instant(row.wrap_day, row.wrap, zone, edge="end")
    except ValueError as error:
        problems.add(row.row, "wrap", str(error))
        return None
    if wrap <= call:
        problems.add(row.row, "wrap", "is not after the call")
        return None
    return call, wrap


def _walls(day: ShootDay, zone: ZoneInfo) -> tuple[date, time, time]:
    call, wrap = (datetime.fromtimestamp(at, zone) for at in (day.call_s, day.wrap_s))
    return day.day, call.time(), wrap.time()


def _check_dates(
    merged: Iterable[Merged[ShootDay]], existing: Iterable[ShootDay], problems: Problems
) -> None:
    """A unit has one shoot day a date; one that the list does not speak of stays where it is."""
    spoken = {each.id for each in merged}
    there = {(day.unit, day.day): day for day in existing if day.id not in spoken}
    for each in merged:
        other = there.get((each.value.unit, each.value.day))
        if other is not None:
            said = f"is day {other.number} of this unit already: list that day as well, to move it"
            problems.add(each.row, "day", said)


def _check_overlaps(
    merged: Sequence[Merged[ShootDay]], existing: Iterable[ShootDay], problems: Problems
) -> None:
    spoken = {each.id for each in merged}
    there: dict[Id, list[ShootDay]] = defaultdict(list)
    for day in existing:
        if day.id not in spoken:
            there[day.unit].append(day)
    for each in merged:
        for other in there[each.value.unit]:
            if each.fields and each.value.window.overlaps(other.window):
                said = f"runs into day {other.number} of this unit, {other.day}, which stays"
                problems.add(each.row, "call", said)


def told_days(
    merged: Iterable[Merged[ShootDay]], units: Mapping[Id, str], zone: ZoneInfo
) -> list[Change]:
    """The changes, in the order of the rows."""
    changes = []
    for each in merged:
        name = f"{units[each.value.unit]}, day {each.value.number}"
        said = {
            field.removesuffix("_s") if field in ("call_s", "wrap_s") else field: (
                _told(field, before, zone),
                _told(field, after, zone),
            )
            for field, (before, after) in each.fields.items()
            if field != "unit"
        }
        changes.append(Change(each.row, "shoot day", each.kind, name, said))
    return changes


def _told(field: str, value: Any, zone: ZoneInfo) -> Any:
    if value is not None and field in ("call_s", "wrap_s"):
        return format_instant(value, zone)
    return in_json(value)


def list_days(
    days: Iterable[ShootDay], units: Mapping[Id, str], zone: ZoneInfo
) -> list[ShootDayRow]:
    """Days as rows, in the order given."""
    rows = []
    for day in days:
        _, call, wrap = _walls(day, zone)
        same = {name: getattr(day, name) for name in (*_FIELDS, *_POSITION)}
        rows.append(ShootDayRow(units[day.unit], day.day, day.number, call, wrap, **same))
    return rows
