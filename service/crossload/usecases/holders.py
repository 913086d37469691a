"""Who has kit: in a refusal, on the board, on one day; with whom to call."""

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from crossload.domain.availability import Stocked
from crossload.domain.booking import Booking
from crossload.domain.claims import Claim, Stock
from crossload.domain.holdings import Ground
from crossload.domain.idle import ShootDays
from crossload.domain.kit import KitType, Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.domain.zones import day_window, load_zone, local_day
from crossload.usecases.granting import asked_again
from crossload.usecases.idling import shoot_days_on, tell_idle
from crossload.usecases.judging import judge_in
from crossload.usecases.names import Names
from crossload.usecases.queueing import place
from crossload.usecases.recorded import World, about_of, held_by, is_pencilled

Told = dict[str, Any]
SEARCH_S = 0.25
"""How long the search for names may take for one pencil's place in the queue."""


class Holders:
    """Who has kit, told at one instant. `claims` are all that will be told of, read for at once."""

    def __init__(self, names: Names, claims: Iterable[Claim], now: Instant):
        self.names, self.now = names, now
        self.zone = load_zone(names.stores.header.zone)
        self._shoot_days: dict[date, ShootDays] = {}
        lines = [held for claim in claims if (held := held_by(claim))]
        pencils = {held.booking for held in lines if is_pencilled(held)}
        self.pencils = names.stores.bookings.some(pencils) if pencils else {}

    def around(self, kit: KitType, claims: Iterable[Claim], at: Instant) -> list[Told]:
        """One entry a line, whatever parts of it are out; out of service taken together.

        Idle is what is so on the local day of `at`, or today.
        """
        found = [self.holder(part) for part in _parts(claims, _whose)]
        day = local_day(max(at, self.now), self.zone)
        self.tell_idle(kit, found, day, day_window(day, self.zone))
        return found

    def holder(self, part: Sequence[Claim]) -> Told:
        """Whoever all these claims are of. Nothing is told as idle yet: that is of a day."""
        about, window = about_of(part[0]), part[0].window
        out = [(claim.quantity, about_of(claim).custody) for claim in part]
        away = [(quantity, custody) for quantity, custody in out if custody]
        told: Told = {
            "booking_id": about.booking,
            "unit_id": None,
            "unit": None,
            "state": "out_of_service" if about.ground is Ground.SERVICE else "out",
            "quantity": sum(claim.quantity for claim in part),
            "start": window.start,
            "end": max(claim.window.end for claim in part),
            "out": sum(quantity for quantity, _ in away),
            "overdue": any(custody.is_overdue(self.now) for _, custody in away),
            "idle": 0,
            "tags": self.names.tags(item for claim in part for item in claim.items),
            "person": None,
            "phone": None,
            "expires_at": None,
        }
        if held := about.held:
            told |= {"state": held.state, "start": held.start, "end": held.end}
            told |= self._unit(held.unit)
            if held.booking in self.pencils:
                told["expires_at"] = self.pencils[held.booking].pencil_expires_at
        elif custody := about.custody:
            told |= self._unit(custody.unit)
            told["person"] = custody.person or told["person"]
        elif about.service:
            told["reason"] = about.service.reason
        return told

    def _unit(self, unit: Id) -> Told:
        person, phone = self.names.contact(unit)
        return {"unit_id": unit, "unit": self.names.unit(unit), "person": person, "phone": phone}

    def tell_idle(
        self, kit: KitType | Stocked, found: Sequence[Told], day: date, window: Window
    ) -> None:
        """Set `idle` of holders of a kit type on a local day; nobody has idle consumables."""
        if kit.tracking is Tracking.CONSUMABLE:
            return
        if day not in self._shoot_days:
            self._shoot_days[day] = shoot_days_on(self.names.stores, day, window)
        tell_idle(self._shoot_days[day], found, kit.category, day, window)


def holders_on(
    names: Names, world: World, kit: Stocked, day: date, window: Window, now: Instant
) -> list[Told]:
    """Everybody who has some of the kit type in the window of a day, in order of their start.

    One entry a booking's line; what is out beside all lines by unit, person and time; one an
    out-of-service window. A pencil has its `place` in the queue.
    """
    claims = [
        claim
        for claim in world.claims(kit.id, lambda held: True)
        if claim.window.overlaps(window) and _is_there(claim, world.stock[kit.id])
    ]
    holders = Holders(names, claims, now)
    found = []
    for part in _parts(claims, _whose_window):
        told: Told = {"place": None, **holders.holder(part)}
        held = held_by(part[0])
        if held and is_pencilled(held):
            told["place"] = _place(world, holders.pencils[held.booking], kit.id, now)
        if told["state"] != "out_of_service" and told["phone"] is None:
            person, told["phone"] = names.contact(None)
            told["person"] = told["person"] or person
        found.append(told)
    found.sort(key=lambda told: (told["start"], told["booking_id"] or 0))
    holders.tell_idle(kit, found, day, window)
    return found


def _is_there(claim: Claim, stock: Stock) -> bool:
    """A fact about a retired piece takes nothing from the stock."""
    return claim.rank > 0 or set(claim.items) <= set(stock.items)


def _parts(
    claims: Iterable[Claim], whose: Callable[[Claim], Hashable]
) -> Iterable[Sequence[Claim]]:
    """The claims of each holder, in the order of their first ones."""
    parts: dict[Hashable, list[Claim]] = {}
    for claim in claims:
        parts.setdefault(whose(claim), []).append(claim)
    return parts.values()


def _whose(claim: Claim) -> Hashable:
    about = about_of(claim)
    if about.held is not None:
        return about.held.line
    if about.custody is not None:
        return about.custody.booking, about.custody.unit, about.custody.person, claim.window
    return claim.window


def _whose_window(claim: Claim) -> Hashable:
    """`_whose`, with each out-of-service window by itself."""
    service = about_of(claim).service
    return service.id if service else _whose(claim)


def _place(world: World, booking: Booking, kit_type: Id, now: Instant) -> int | None:
    """The pencil's place in the queue for this kit type; None once its time is over."""
    ask = asked_again(booking)
    lines = tuple(line for line in ask.lines if line.kit_type == kit_type)
    named = {line.item for line in lines if line.item is not None}
    if booking.window.end <= now or not named <= set(world.stock[kit_type].items):
        return None
    rank = max(line.rank for line in booking.lines)
    asked = replace(ask, lines=lines)
    judged = judge_in(world, asked, without=booking.id, rank=rank, limit_s=SEARCH_S)
    return place(world, judged.types[0], rank)
