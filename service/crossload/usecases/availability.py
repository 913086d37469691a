"""What is free: per local day or per shoot day, and hour by hour for one day, with who has it."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

import numpy as np

from crossload.domain.availability import Figures, Ints, Kind, Spans, Stocked, hours_of, measure
from crossload.domain.booking import BookingState
from crossload.domain.claims import Claim
from crossload.domain.custody import Custody
from crossload.domain.holdings import About, Ground, Recorded, claims
from crossload.domain.idle import ShootDays, classes_of, idle, used
from crossload.domain.kit import Tracking
from crossload.domain.naming.gaps import gaps_between
from crossload.domain.window import Id, Instant, Window
from crossload.domain.zones import day_window, days_between, local_day
from crossload.storage.figures import Columns, DayRow
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Invalid, NotFound
from crossload.usecases.freshness import Tag
from crossload.usecases.holders import holders_on
from crossload.usecases.transaction import read

Told = dict[str, Any]

MOST_DAYS = 366
USUAL_DAYS = 9


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
        today = local_day(now, self.zone)
        self.changes = {day_window(today, self.zone).end, stores.header.next_settle_at}

    def days(self, chosen: Chosen) -> Availability:
        first, last = self._range(chosen)
        kit = self._kit(chosen)
        rows = self._shoot_days(first, last)
        days = self._days_of(chosen.unit, rows, first, last)
        if chosen.per is Per.SHOOT_DAY:
            days = _shoot_days_of(days, rows, chosen.unit)
        cells = [day.window for day in days]
        spans, held, units = self._holds(kit, cells)
        figures = measure(np.array([each.capacity for each in kit], np.int64), spans, cells)
        shoot_days = ShootDays.of((row[:2] + row[3:]) for row in rows)
        needs = used(shoot_days, units, cells, [day.date for day in days])
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
        spans, _, _ = self._holds(kit, cells)
        figures = measure(np.array([kit[0].capacity], np.int64), spans, cells)
        window = Window(cells[0].start, cells[-1].end)
        told = {
            "kit_type": kit_type,
            "date": day,
            "hours": [
                {"start": cell.start, "end": cell.end, **told}
                for cell, told in zip(cells, _told(figures), strict=True)
            ],
            "holders": holders_on(self.stores, kit[0], day, window, self.now),
        }
        return told, self._tag()

    def _tag(self) -> Tag:
        """What was read holds until something is written or the next of these times passes."""
        until = min(at for at in self.changes if at > self.now)
        return Tag(self.stores.header.revision, until)

    # what was asked for

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

    # what is recorded

    def _holds(self, kit: Sequence[Stocked], cells: Sequence[Window]) -> tuple[Spans, Spans, Ints]:
        """What holds kit in the cells, what units have of it, and those units' ids in order.

        Lines that have nothing out come as columns. The few that have, and what else is a fact,
        go the way of the judges, through `domain.holdings`.
        """
        if not kit or not cells:
            return Spans.of(()), Spans.of(()), np.array([], np.int64)
        span = Window(min(cell.start for cell in cells), max(cell.end for cell in cells))
        row_of = _RowOf(kit)
        ids = [each.id for each in kit]
        consumables = [each.id for each in kit if each.tracking is Tracking.CONSUMABLE]
        if consumables:
            self.changes.add(self.columns.consumables_end(consumables, self.now))
        lines = self.columns.lines(ids, consumables, span, self.now)
        row = row_of(lines.kit_type)
        kind = np.where(lines.pencilled, Kind.PENCILLED, Kind.BOOKED)
        facts, theirs = self._facts(kit, span)
        spans = Spans(row, lines.since, lines.until, lines.quantity, kind).beside(facts)
        has = ~lines.pencilled & ~np.isin(lines.kit_type, consumables)
        held = Spans(row, lines.start, lines.end, lines.quantity, lines.unit).where(has)
        held = held.beside(theirs)
        units = np.unique(held.what)
        return spans, replace(held, what=np.searchsorted(units, held.what)), units

    def _facts(self, kit: Sequence[Stocked], span: Window) -> tuple[Spans, Spans]:
        """Claims that stand on what is out or out of service, and what units have out."""
        free_after = self.clockwork.free_after({each.id: each for each in kit})
        rows = {each.id: row for row, each in enumerate(kit)}
        gone = self.columns.retired_out()
        spans: list[tuple[int, Instant, Instant, int, int]] = []
        theirs: list[tuple[int, Instant, Instant, int, int]] = []
        for kit_type, recorded in self._recorded(list(rows), span):
            row = rows[kit_type]
            for claim in _counted_once(claims(recorded, free_after), gone):
                window = claim.window
                spans.append((row, window.start, window.end, claim.quantity, self._kind(claim)))
                theirs += self._held(row, claim)
        return Spans.of(spans), Spans.of(theirs)

    def _recorded(self, ids: Sequence[Id], span: Window) -> Iterator[tuple[Id, Recorded]]:
        lines, out, service = defaultdict(list), defaultdict(list), defaultdict(list)
        for held in self.stores.bookings.held_out(ids):
            lines[held.kit_type].append(held)
        for custody in self.stores.custodies.out(ids):
            out[custody.kit_type].append(custody)
            self.changes |= {custody.due_at, self.clockwork.expected(custody)}
        for window in self.stores.custodies.services(ids, span.start, span.end):
            service[window.kit_type].append(window)
        for id in {*lines, *out, *service}:
            yield id, Recorded(tuple(lines[id]), tuple(out[id]), tuple(service[id]))

    def _kind(self, claim: Claim) -> Kind:
        about = _about(claim)
        if about.ground is Ground.SERVICE:
            return Kind.OUT_OF_SERVICE
        if about.custody is not None:
            return Kind.OVERDUE if about.custody.is_overdue(self.now) else Kind.OUT
        pencilled = about.held is not None and about.held.state is BookingState.PENCILLED
        return Kind.PENCILLED if pencilled else Kind.BOOKED

    def _held(self, row: int, claim: Claim) -> Iterator[tuple[int, Instant, Instant, int, int]]:
        """What a unit has by a claim: not while it is prepared or checked in at the house."""
        about = _about(claim)
        held, custody = about.held, about.custody
        if custody is not None:
            start, end, unit = *self._away(custody), custody.unit
            if held is not None:
                start, end = min(start, held.start), max(end, held.end)
        elif held is not None and held.state is BookingState.CONFIRMED:
            start, end, unit = held.start, held.end, held.unit
        else:
            return
        start, end = max(start, claim.window.start), min(end, claim.window.end)
        if start < end:
            yield row, start, end, claim.quantity, unit

    def _away(self, custody: Custody) -> tuple[Instant, Instant]:
        return custody.out_at, self.clockwork.expected(custody)


class _RowOf:
    """From ids of kit types to their rows, for a whole column at once."""

    def __init__(self, kit: Sequence[Stocked]):
        ids = np.array([each.id for each in kit], np.int64)
        self.order = np.argsort(ids)
        self.ids = ids[self.order]

    def __call__(self, ids: Ints) -> Ints:
        return self.order[np.searchsorted(self.ids, ids)]


def _counted_once(found: Sequence[Claim], gone: set[Id]) -> Iterator[Claim]:
    """The claims, without facts on pieces that are gone, and what is out only while it is fit.

    A piece that is both out and out of service is one piece less, and out of service.
    """
    unfit: dict[Id, list[Window]] = defaultdict(list)
    for claim in found:
        if _about(claim).ground is Ground.SERVICE:
            for item in claim.items:
                unfit[item].append(claim.window)
    for windows in unfit.values():
        windows.sort()
    for claim in found:
        if claim.rank > 0 or not claim.items:
            yield claim
        elif gone.isdisjoint(claim.items):
            if _about(claim).ground is Ground.SERVICE:
                yield claim
            else:
                for gap in gaps_between(claim.items, unfit, claim.window):
                    yield replace(
                        claim, window=Window(gap.start, gap.end), quantity=1, items=(gap.piece,)
                    )


def _about(claim: Claim) -> About:
    assert isinstance(claim.about, About)
    return claim.about


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
    names = ("free", "if_pencils_fall", "booked", "pencilled", "out", "overdue", "out_of_service")
    for values in zip(*(getattr(figures, name)[0].tolist() for name in names), strict=True):
        yield dict(zip(names, values, strict=True))
