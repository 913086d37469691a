"""What is free: per local day or per shoot day, and hour by hour for one day, with who has it."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

import numpy as np

from crossload.domain.availability import Figures, Ints, Stocked, hours_of, measure
from crossload.domain.idle import classes_of, idle, used
from crossload.domain.window import Id, Instant, Window
from crossload.domain.zones import day_window, days_between, local_day
from crossload.storage.figures import Columns, DayRow
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Invalid, NotFound
from crossload.usecases.freshness import Tag
from crossload.usecases.holders import holders_on
from crossload.usecases.holds import Holds
from crossload.usecases.idling import as_arrays
from crossload.usecases.names import Names
from crossload.usecases.recorded import look_at
from crossload.usecases.transaction import read

Told = dict[str, Any]

MOST_DAYS = 366
USUAL_DAYS = 9

FIGURES = (
    "free", "if_pencils_fall", "booked", "pencilled", "out", "overdue", "out_of_service",
)  # fmt: skip
"""The figures of a cell, by the names that answers have."""


class Per(StrEnum):
    DAY = "day"
    SHOOT_DAY = "shoot_day"


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which days and which kit; what is None or empty is not narrowed."""

    first: date | None = None
    last: date | None = None
    per: Per = Per.DAY
    unit: Id | None = None
    kit_types: tuple[Id, ...] = ()
    category: str | None = None


@dataclass(frozen=True, slots=True)
class UnitDay:
    unit: Id
    name: str
    number: int


@dataclass(frozen=True, slots=True)
class Day:
    """A local day from its first instant to its last, or a shoot day from call to wrap."""

    date: date
    window: Window
    number: int | None
    unit_days: tuple[UnitDay, ...]

    @property
    def label(self) -> str:
        """How people name it: Thu 26 Nov, or day 9, Thu 26 Nov."""
        text = f"{_WEEKDAYS[self.date.weekday()]} {self.date.day} {_MONTHS[self.date.month - 1]}"
        return text if self.number is None else f"day {self.number}, {text}"


_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Availability:
    """Figures of kit types × days; `idle` is an array like each of them."""

    as_of: Instant
    first: date
    last: date
    days: tuple[Day, ...]
    kit: tuple[Stocked, ...]
    figures: Figures
    idle: Ints
    tag: Tag


def availability(actor: Actor, chosen: Chosen, *, now: Instant) -> Availability:
    """What is free of each kit type on each day. Invalid for days that make no range."""
    actor.must("read")
    with read(actor.pool) as stores:
        return _Look(stores, now).days(chosen)


def hours(actor: Actor, kit_type: Id, day: date, *, now: Instant) -> tuple[Told, Tag]:
    """What is free of one kit type in each hour of a local day, and who has it that day."""
    actor.must("read")
    with read(actor.pool) as stores:
        return _Look(stores, now).hours(kit_type, day)


class _Look:
    """One look at a pool, at one instant."""

    def __init__(self, stores: Stores, now: Instant):
        self.stores, self.now = stores, now
        self.columns = Columns(stores.pool)
        self.clockwork = Clockwork(stores, now)
        self.zone = self.clockwork.zone
        self.holds = Holds(self.columns, self.clockwork)

    def days(self, chosen: Chosen) -> Availability:
        first, last = self._range(chosen)
        kit = self._kit(chosen)
        rows = self._shoot_days(first, last)
        days = self._days_of(chosen.unit, rows, first, last)
        if chosen.per is Per.SHOOT_DAY:
            days = _shoot_days_of(days, rows, chosen.unit)
        cells = [day.window for day in days]
        spans, held, units = self.holds.of(kit, cells)
        figures = measure(np.array([each.capacity for each in kit], np.int64), spans, cells)
        needs = used(as_arrays(rows), units, cells, [day.date for day in days])
        classes = classes_of(each.category for each in kit)
        unused = idle(figures.at, held, needs, classes, cells)
        return Availability(
            self.now, first, last, tuple(days), tuple(kit), figures, unused, self._tag()
        )

    def hours(self, kit_type: Id, day: date) -> tuple[Told, Tag]:
        kit = self._kit(Chosen(kit_types=(kit_type,)))
        try:
            cells = hours_of(day, self.zone)
        except ValueError as error:
            raise Invalid([("/date", str(error))]) from error
        spans, _, _ = self.holds.of(kit, cells)
        figures = measure(np.array([kit[0].capacity], np.int64), spans, cells)
        window = Window(cells[0].start, cells[-1].end)
        told = {
            "kit_type": kit_type,
            "date": day,
            "hours": [
                {"start": cell.start, "end": cell.end, **told}
                for cell, told in zip(cells, _told(figures), strict=True)
            ],
            "holders": self._holders(kit[0], day, window),
        }
        return told, self._tag()

    def _holders(self, kit: Stocked, day: date, window: Window) -> list[Told]:
        one = self.stores.kit_types.some([kit.id])
        world = look_at(self.clockwork, one, window.start)
        return holders_on(Names(self.stores), world, kit, day, window, self.now)

    def _tag(self) -> Tag:
        """What was read holds until something is written or the next of these times passes."""
        midnight = day_window(local_day(self.now, self.zone), self.zone).end
        changes = {midnight, self.stores.header.next_settle_at, *self.holds.changes}
        until = min(at for at in changes if at > self.now)
        return Tag(self.stores.header.revision, until)

    def _range(self, chosen: Chosen) -> tuple[date, date]:
        first = chosen.first or local_day(self.now, self.zone)
        last = chosen.last or first + timedelta(days=USUAL_DAYS - 1)
        if last < first:
            raise Invalid([("/to", "the last day is before the first: swap from and to")])
        if (last - first).days >= MOST_DAYS:
            raise Invalid([("/to", f"this is more than {MOST_DAYS} days: ask for fewer")])
        return first, last

    def _kit(self, chosen: Chosen) -> list[Stocked]:
        found = self.columns.stock(chosen.kit_types, chosen.category)
        if chosen.category is None and len(found) < len(set(chosen.kit_types)):
            raise NotFound("kit type")
        return sorted(found, key=lambda kit: (kit.category, kit.name.casefold(), kit.id))

    def _shoot_days(self, first: date, last: date) -> list[DayRow]:
        start = day_window(first, self.zone).start
        return self.columns.shoot_days(first, last, Window(start, day_window(last, self.zone).end))

    def _days_of(
        self, unit: Id | None, rows: Sequence[DayRow], first: date, last: date
    ) -> list[Day]:
        names = {each.id: each.name for each in self.stores.units.all()}
        if unit is not None and unit not in names:
            raise NotFound("unit")
        working: dict[int, list[UnitDay]] = defaultdict(list)
        for row in rows:
            if unit in (None, row.unit):
                working[row.day].append(UnitDay(row.unit, names[row.unit], row.number))
        return [
            Day(day, day_window(day, self.zone), None, tuple(working[day.toordinal()]))
            for day in days_between(first, last, self.zone)
        ]


def _shoot_days_of(days: Sequence[Day], rows: Sequence[DayRow], unit: Id | None) -> list[Day]:
    """The unit's shoot days among the days, from call to wrap."""
    if unit is None:
        raise Invalid([("/unit", "say whose shoot days: give a unit, or per=day")])
    mine = {row.day: row for row in rows if row.unit == unit}
    return [
        replace(day, window=Window(row.call, row.wrap), number=row.number)
        for day in days
        if (row := mine.get(day.date.toordinal()))
    ]


def _told(figures: Figures) -> Iterator[Told]:
    """The figures of the one kit type, cell by cell."""
    for values in zip(*(getattr(figures, name)[0].tolist() for name in FIGURES), strict=True):
        yield dict(zip(FIGURES, values, strict=True))
