"""The board: today and the days around it, what waits for an answer, what goes out and comes back."""

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from crossload.domain.booking import Booking, BookingState, Line
from crossload.domain.claims import Claim
from crossload.domain.custody import Custody
from crossload.domain.holdings import HeldLine
from crossload.domain.judge import at_risk
from crossload.domain.kit import Tracking
from crossload.domain.returns import expectation_changes_at
from crossload.domain.shoot import ShootDay
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.domain.zones import day_window, local_day
from crossload.storage.stores import Stores
from crossload.usecases import reminders
from crossload.usecases.actor import Actor
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.freshness import Tag
from crossload.usecases.handovers import collect_by
from crossload.usecases.names import Names
from crossload.usecases.recorded import World, held_by, look
from crossload.usecases.telling import holders_at
from crossload.usecases.transaction import read

Told = dict[str, Any]
AHEAD_S = 36 * 3600
"""Going out and coming back are shown for a day and a half, and to the end of the strip."""

RISK_S = 0.25
"""How long the search for names may take for one kit type while the board is drawn."""


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

    def draw(self, first: date | None, days: int) -> tuple[Told, Tag]:
        first = first or self.today - timedelta(days=2)
        span = [first + timedelta(days=step) for step in range(days)]
        window = Window(day_window(span[0], self.zone).start, day_window(span[-1], self.zone).end)
        shoot_days = self.stores.shoot_days.between(window.start, window.end)
        self.until = max(self.now + AHEAD_S, window.end)
        world = look(self.stores, self.names.kit, self.now, self.now)
        decide = [*self._overdue(), *self._short(world)]
        coming, next_reminder = self._reminders()
        until = self._next_change(shoot_days, next_reminder)
        told = {
            "as_of": self.now,
            "today": self.today,
            "next_change_at": until,
            "strip": [self._day(day, shoot_days, decide) for day in span],
            "decide": sorted(decide, key=lambda one: (one["start"], one["key"])),
            "going_out": self._going_out(),
            "coming_back": self._coming_back(),
            "reminders": coming,
            "counts": self._counts(),
        }
        return told, Tag(self.stores.header.revision, until)

    def _reminders(self) -> tuple[list[Told], Instant]:
        return reminders.of_board(self.stores, self.names, self.now)

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
                and window.start <= self.clockwork.expected(custody) < window.end
            ),
            "short": sum(1 for one in starting if one["kind"] == "clash"),
            "at_risk": len({o["booking_id"] for o in starting if o["kind"] == "at_risk"}),
        }

    def _unit_day(self, unit: Any, day: ShootDay | None) -> Told:
        return {
            "unit_id": unit.id,
            "unit": unit.name,
            "number": day.number if day else None,
            "working": day is not None,
            "call": day.call_s if day else None,
            "wrap": day.wrap_s if day else None,
            "location": day.location if day else None,
        }

    def _overdue(self) -> list[Told]:
        """What is late, by unit and kit type."""
        late: dict[tuple[Id, Id], list[Custody]] = defaultdict(list)
        for custody in self.out:
            if custody.is_overdue(self.now):
                late[custody.unit, custody.kit_type].append(custody)
        return [self._late(*of, some) for of, some in late.items()]

    def _late(self, unit: Id, kit_type: Id, some: list[Custody]) -> Told:
        first = min(some, key=lambda custody: custody.due_at)
        person, phone = self.names.contact(unit)
        told = self._decision("overdue", f"overdue/{unit}/{kit_type}", kit_type, unit)
        return told | {
            "booking_id": first.booking,
            "quantity": sum(custody.quantity for custody in some),
            "start": first.due_at,
            "end": max(self.clockwork.expected(custody) for custody in some),
            "promised_at": _promised(some),
            "late_s": self.now - first.due_at,
            "tags": self.names.tags(custody.item for custody in some if custody.item),
            "holder_person": first.person or person,
            "phone": phone,
        }

    def _decision(self, kind: str, key: str, kit_type: Id, unit: Id) -> Told:
        return {
            "kind": kind,
            "key": key,
            "booking_id": None,
            "unit_id": unit,
            "unit": self.names.unit(unit),
            "kit_type_id": kit_type,
            "kit_type": self.names.kit[kit_type].name,
            "quantity": 0,
            "short_by": 0,
            "start": self.now,
            "end": self.now,
            "behind": [],
            "promised_at": None,
            "late_s": None,
            "tags": [],
            "holder_person": None,
            "phone": None,
        }

    def _short(self, world: World) -> list[Told]:
        """Bookings at risk beside what is confirmed, and pencils that clash."""
        told: list[Told] = []
        for kit_type in world.kit:
            if not world.recorded[kit_type].lines:
                continue
            confirmed = world.claims(kit_type, _is_confirmed)
            risky = self._fallen(world, kit_type, confirmed)
            everything = world.claims(kit_type, lambda held: True)
            clashing = {}
            if len(everything) > len(confirmed):
                clashing = self._fallen(world, kit_type, _pencils_last(everything))
            for line, (held, by) in risky.items():
                told.append(self._shortage("at_risk", held, by, confirmed))
                clashing.pop(line, None)
            told += [
                self._shortage("clash", held, by, everything)
                for held, by in clashing.values()
                if held.state is BookingState.PENCILLED
            ]
        return told

    def _fallen(
        self, world: World, kit_type: Id, claims: list[Claim]
    ) -> dict[Id, tuple[HeldLine, int]]:
        fallen: dict[Id, tuple[HeldLine, int]] = {}
        for risk in at_risk(world.stock[kit_type], claims, limit_s=RISK_S):
            held = held_by(claims[risk.index])
            if held and held.end > self.now:
                _, before = fallen.get(held.line, (held, 0))
                fallen[held.line] = (held, before + risk.by)
        return fallen

    def _shortage(self, kind: str, held: HeldLine, by: int, claims: list[Claim]) -> Told:
        told = self._decision(kind, f"{kind}/{held.line}", held.kit_type, held.unit)
        others = [c for c in claims if c.window.overlaps(held.occupied) and held_by(c) != held]
        kit = self.names.kit[held.kit_type]
        behind = holders_at(self.names, kit, others, self.now, held.start)
        return told | {
            "booking_id": held.booking,
            "quantity": held.quantity,
            "short_by": by,
            "start": held.start,
            "end": held.end,
            "behind": behind[:12],
        }

    def _going_out(self) -> list[Told]:
        told = [one for booking in self._starting if (one := self._to_go_out(booking))]
        return sorted(told, key=lambda one: (one["at"], one["start"]))

    def _to_go_out(self, booking: Booking) -> Told | None:
        """What of a booking has still to go out; None when nothing has."""
        went = {line.id: self._went(line) for line in booking.lines}
        lines = self._carried(booking)
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
            "boxes": self._boxes({line.kit_type for line in lines}),
            "state": "part_out" if any(went.values()) else "prepare",
            "purpose": booking.purpose,
        }

    def _carried(self, booking: Booking) -> list[Line]:
        return [
            line
            for line in booking.lines
            if line.quantity and self.names.kit[line.kit_type].tracking is not Tracking.FREQUENCY
        ]

    def _went(self, line: Line) -> int:
        """How many of a line ever went out."""
        return line.gone + sum(custody.quantity for custody in self._ever_out[line.id])

    @cached_property
    def _ever_out(self) -> dict[Id, list[Custody]]:
        lines = [line.id for booking in self._starting for line in booking.lines]
        return self.stores.custodies.of_lines(lines)

    def _boxes(self, kit_types: set[Id]) -> list[str]:
        numbers = {
            self._box_numbers[item.home_box]
            for item in self.names.items.values()
            if item.kit_type in kit_types and item.home_box in self._box_numbers
        }
        return sorted(numbers, key=lambda number: (len(number), number))

    @cached_property
    def _box_numbers(self) -> dict[Id | None, str]:
        return {box.id: box.number for box in self.stores.boxes.all()}

    def _coming_back(self) -> list[Told]:
        """What is out, when it is expected; then what has still to go out before it comes back."""
        soon: dict[tuple[Id, Instant, bool], list[Custody]] = defaultdict(list)
        for custody in self.out:
            expected = self.clockwork.expected(custody)
            if expected <= self.until:
                soon[custody.unit, expected, custody.is_overdue(self.now)].append(custody)
        told = [self._return(*of, some) for of, some in soon.items()]
        for booking in self._starting:
            if booking.window.end <= self.until and (kit := self._still_here(booking)):
                told.append(self._to_come(booking.unit, booking.window.end, kit, booking.id))
        return sorted(told, key=lambda one: (one["at"], one["unit"]))

    def _still_here(self, booking: Booking) -> dict[Id, int]:
        """What of a booking goes out and comes back again."""
        kit: dict[Id, int] = defaultdict(int)
        for line in self._carried(booking):
            left = line.quantity - self._went(line)
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
        return told | {"out": True, "late": late, "due_at": due, "promised_at": _promised(some)}

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


def _promised(some: list[Custody]) -> Instant | None:
    """What the holder said last of when it comes back."""
    return max((c.promised_at for c in some if c.promised_at is not None), default=None)


def _is_confirmed(held: HeldLine) -> bool:
    return held.state is BookingState.CONFIRMED


def _pencils_last(claims: list[Claim]) -> list[Claim]:
    """A pencil falls before what is confirmed, whenever each was granted."""
    later = 1 + max(claim.rank for claim in claims)
    return [
        replace(claim, rank=claim.rank + later)
        if (held := held_by(claim)) and held.state is BookingState.PENCILLED
        else claim
        for claim in claims
    ]
