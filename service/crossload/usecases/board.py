"""The board: today and the days around it, what waits for an answer, what goes out and comes back."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from crossload.domain.booking import Booking, BookingState, Handing, Line
from crossload.domain.custody import Custody
from crossload.domain.kit import Tracking
from crossload.domain.returns import expectation_changes_at
from crossload.domain.shoot import ShootDay, Unit
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.domain.zones import day_window, local_day
from crossload.storage.stores import Stores
from crossload.usecases import reminders
from crossload.usecases.actor import Actor
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.decisions import Decisions, last_promise
from crossload.usecases.freshness import Tag
from crossload.usecases.handovers import collect_by
from crossload.usecases.names import Names
from crossload.usecases.transaction import read

Told = dict[str, Any]
AHEAD_S = 36 * 3600
"""Going out and coming back are shown for a day and a half, and to the end of the strip."""


def draw(
    actor: Actor, *, now: Instant, first: date | None = None, days: int = 9
) -> tuple[Told, Tag]:
    """The board from `first` (two days ago when None) on, and the tag it stands under."""
    actor.must("read")
    with read(actor.pool) as stores:
        return _Board(stores, now).draw(first, days)


class _Board:
    def __init__(self, stores: Stores, now: Instant):
        self.stores, self.now = stores, now
        self.names = Names(stores)
        self.clockwork = Clockwork(stores, now)
        self.zone = self.clockwork.zone
        self.today = local_day(now, self.zone)
        self.out = stores.custodies.out()
        self.expected = {each.id: self.clockwork.expected(each) for each in self.out}

    def draw(self, first: date | None, days: int) -> tuple[Told, Tag]:
        first = first or self.today - timedelta(days=2)
        span = [first + timedelta(days=step) for step in range(days)]
        window = Window(day_window(span[0], self.zone).start, day_window(span[-1], self.zone).end)
        shoot_days = self.stores.shoot_days.between(window.start, window.end)
        self.until = max(self.now + AHEAD_S, window.end)
        decide = Decisions(self.names, self.clockwork).all(self.out)
        coming, next_reminder = reminders.of_board(self.names, self.now, self._handings)
        until = self._next_change(shoot_days, next_reminder)
        told = {
            "as_of": self.now,
            "today": self.today,
            "next_change_at": until,
            "strip": [self._day(day, shoot_days, decide) for day in span],
            "decide": decide,
            "going_out": self._going_out(),
            "coming_back": self._coming_back(),
            "reminders": coming,
            "counts": self._counts(),
        }
        return told, Tag(self.stores.header.revision, until)

    def _next_change(self, shoot_days: list[ShootDay], next_reminder: Instant) -> Instant:
        """The first instant at which the board is another though nothing was written."""
        edges = [
            next_reminder,
            self.stores.header.next_settle_at,
            day_window(self.today, self.zone).end,
            self.now + 3600,
        ]
        edges += [edge for day in shoot_days for edge in (day.call_s, day.wrap_s)]
        edges += [
            expectation_changes_at(
                c.due_at, c.promised_at, self.clockwork.day_ends(c.unit), self.now, self.zone
            )
            for c in self.out
        ]
        edges += [b.window.start for b in self._starting]
        return min(edge for edge in edges if edge > self.now)

    @cached_property
    def _starting(self) -> list[Booking]:
        bookings = self.stores.bookings.page(
            state=BookingState.CONFIRMED, since=self.now, until=self.until
        )
        return [b for b in bookings if b.window.start > self.now - AHEAD_S]

    def _day(self, day: date, shoot_days: list[ShootDay], decide: list[Told]) -> Told:
        window = day_window(day, self.zone)
        working = {each.unit: each for each in shoot_days if each.day == day}
        units = [unit for unit in self.names.units.values() if unit.ended_at is None]
        starting = [one for one in decide if window.start <= one["start"] < window.end]
        return {
            "date": day,
            "units": [self._unit_day(unit, working.get(unit.id)) for unit in units],
            "late": sum(
                custody.quantity
                for custody in self.out
                if custody.is_overdue(self.now)
                and window.start <= self.expected[custody.id] < window.end
            ),
            "short": sum(1 for one in starting if one["kind"] == "clash"),
            "at_risk": len({o["booking_id"] for o in starting if o["kind"] == "at_risk"}),
        }

    def _unit_day(self, unit: Unit, day: ShootDay | None) -> Told:
        return {
            "unit_id": unit.id,
            "unit": unit.name,
            "number": day.number if day else None,
            "working": day is not None,
            "call": day.call_s if day else None,
            "wrap": day.wrap_s if day else None,
            "location": day.location if day else None,
        }

    def _going_out(self) -> list[Told]:
        told = [one for booking in self._starting if (one := self._to_go_out(booking))]
        return sorted(told, key=lambda one: (one["at"], one["start"]))

    def _to_go_out(self, booking: Booking) -> Told | None:
        """What of a booking has still to go out of the house; None when nothing has."""
        went = {line.id: self._went(line) for line in booking.lines}
        lines = [line for line in self._carried(booking) if line.id not in self._taking]
        left = sum(max(0, line.quantity - went[line.id]) for line in lines)
        if not left:
            return None
        fetch = booking.window.start - self.names.units[booking.unit].way_s
        return {
            "at": collect_by(self.clockwork, fetch),
            "start": booking.window.start,
            "booking_id": booking.id,
            "unit_id": booking.unit,
            "unit": self.names.unit(booking.unit),
            "lines": len(lines),
            "pieces": left,
            "boxes": self.names.boxes_with(line.kit_type for line in lines),
            "state": "part_out" if any(went.values()) else "prepare",
            "purpose": booking.purpose,
        }

    def _carried(self, booking: Booking) -> list[Line]:
        return [
            line
            for line in booking.lines
            if line.quantity and self.names.kit[line.kit_type].tracking is not Tracking.FREQUENCY
        ]

    @cached_property
    def _handings(self) -> list[Handing]:
        return self.stores.held.handings(self.now)

    @cached_property
    def _taking(self) -> set[Id]:
        """Lines whose kit comes straight from another unit, and not out of the house."""
        return {handing.taker for handing in self._handings}

    @cached_property
    def _giving(self) -> dict[Id, int]:
        """How many of a line go straight to other units, and do not come back with it."""
        giving: dict[Id, int] = defaultdict(int)
        for handing in self._handings:
            giving[handing.giver] += handing.quantity
        return giving

    def _went(self, line: Line) -> int:
        """How many of a line ever went out."""
        return line.gone + sum(custody.quantity for custody in self._ever_out[line.id])

    @cached_property
    def _ever_out(self) -> dict[Id, list[Custody]]:
        lines = [line.id for booking in self._starting for line in booking.lines]
        return self.stores.custodies.of_lines(lines)

    def _coming_back(self) -> list[Told]:
        """What is out, when it is expected; then what has still to go out before it comes back."""
        soon: dict[tuple[Id, Instant, bool], list[Custody]] = defaultdict(list)
        for custody in self._to_come_back():
            expected = self.expected[custody.id]
            if expected <= self.until:
                soon[custody.unit, expected, custody.is_overdue(self.now)].append(custody)
        told = [self._return(*of, some) for of, some in soon.items()]
        for booking in self._starting:
            if booking.window.end <= self.until and (kit := self._still_here(booking)):
                told.append(self._to_come(booking.unit, booking.window.end, kit, booking.id))
        return sorted(told, key=lambda one: (one["at"], one["unit"]))

    def _to_come_back(self) -> Iterator[Custody]:
        """What is out, less what is handed on in time."""
        giving: dict[Id | None, int] = {line: n for line, n in self._giving.items()}
        for custody in self.out:
            handed = 0 if custody.is_overdue(self.now) else giving.get(custody.line, 0)
            some = min(handed, custody.quantity)
            if some:
                giving[custody.line] -= some
            if some < custody.quantity:
                yield replace(custody, quantity=custody.quantity - some)

    def _still_here(self, booking: Booking) -> dict[Id, int]:
        """What of a booking goes out and comes back again."""
        kit: dict[Id, int] = defaultdict(int)
        for line in self._carried(booking):
            left = line.quantity - self._went(line) - self._giving.get(line.id, 0)
            if left > 0 and self.names.kit[line.kit_type].tracking is not Tracking.CONSUMABLE:
                kit[line.kit_type] += left
        return kit

    def _return(self, unit: Id, at: Instant, late: bool, some: list[Custody]) -> Told:
        kit: dict[Id, int] = defaultdict(int)
        for custody in some:
            kit[custody.kit_type] += custody.quantity
        booked = {custody.booking for custody in some}
        booking = booked.pop() if len(booked) == 1 else None
        told = self._to_come(unit, min(at, FOREVER - 1), kit, booking)
        due = min(custody.due_at for custody in some)
        return told | {"out": True, "late": late, "due_at": due, "promised_at": last_promise(some)}

    def _to_come(self, unit: Id, at: Instant, kit: dict[Id, int], booking: Id | None) -> Told:
        person, _ = self.names.contact(unit)
        return {
            "at": at,
            "booking_id": booking,
            "unit_id": unit,
            "unit": self.names.unit(unit),
            "pieces": sum(kit.values()),
            "kit": [
                {"kit_type_id": id, "kit_type": self.names.kit[id].name, "quantity": n}
                for id, n in sorted(kit.items(), key=lambda pair: -pair[1])
            ],
            "person": person,
            "out": False,
            "late": False,
            "due_at": at,
            "promised_at": None,
        }

    def _counts(self) -> Told:
        end = day_window(self.today, self.zone).end
        return {
            "out": sum(custody.quantity for custody in self.out),
            "overdue": sum(c.quantity for c in self.out if c.is_overdue(self.now)),
            "due_today": sum(c.quantity for c in self.out if self.now < c.due_at <= end),
        }
