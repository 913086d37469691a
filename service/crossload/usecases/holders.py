"""Who has kit of one type on one day, with whom to call."""

from collections.abc import Hashable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from crossload.domain.availability import Stocked
from crossload.domain.booking import Booking, BookingState
from crossload.domain.claims import Claim, Stock
from crossload.domain.holdings import About, Ground
from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases.granting import asked_again
from crossload.usecases.idling import tell_idle
from crossload.usecases.judging import judge_in, place
from crossload.usecases.names import Names
from crossload.usecases.recorded import World, look
from crossload.usecases.telling import holders_of

Told = dict[str, Any]
SEARCH_S = 0.25
"""How long the search for names may take for one pencil's place in the queue."""


def holders_on(stores: Stores, kit: Stocked, day: date, window: Window, now: Instant) -> list[Told]:
    """Everybody who has some of the kit type in the window of a day, in order of their start.

    One entry a booking's line; what is out beside all lines by unit, person and time; one an
    out-of-service window.
    """
    world = look(stores, [kit.id], now, min(window.start, now))
    parts: dict[Hashable, list[Claim]] = {}
    for claim in world.claims(kit.id, lambda held: True):
        if claim.window.overlaps(window) and _is_there(claim, world.stock[kit.id]):
            parts.setdefault(_whose(claim), []).append(claim)
    names = Names(stores)
    pencils = {about.booking for about in map(_about, parts.values()) if _is_pencil(about)}
    bookings = stores.bookings.some(id for id in pencils if id is not None)
    found = []
    for part in parts.values():
        about = _about(part)
        told = _holder(names, part, now)
        if _is_pencil(about) and about.booking is not None:
            booking = bookings[about.booking]
            told["expires_at"] = booking.pencil_expires_at
            told["place"] = _place(stores, world, booking, kit.id, now)
        found.append(told)
    found.sort(key=lambda told: (told["start"], told["booking_id"] or 0))
    if kit.tracking is not Tracking.CONSUMABLE:
        tell_idle(stores, found, kit.category, day, window)
    return found


def _is_there(claim: Claim, stock: Stock) -> bool:
    """A fact about a retired piece takes nothing from the stock."""
    return claim.rank > 0 or set(claim.items) <= set(stock.items)


def _about(part: Sequence[Claim]) -> About:
    about = part[0].about
    assert isinstance(about, About)
    return about


def _is_pencil(about: About) -> bool:
    return about.held is not None and about.held.state is BookingState.PENCILLED


def _whose(claim: Claim) -> Hashable:
    about = _about([claim])
    if about.held is not None:
        return about.held.line
    if about.custody is not None:
        custody = about.custody
        return custody.booking, custody.unit, custody.person, claim.window
    return about.service.id if about.service else None


def _holder(names: Names, part: Sequence[Claim], now: Instant) -> Told:
    (told,) = holders_of(names, part, now)
    out = [about.custody for about in (_about([claim]) for claim in part) if about.custody]
    told |= {"place": None, "overdue": any(one.is_overdue(now) for one in out)}
    told["out"] = sum(claim.quantity for claim in part if _about([claim]).custody)
    if _about(part).ground is not Ground.SERVICE and told["phone"] is None:
        person, told["phone"] = names.contact(None)
        told["person"] = told["person"] or person
    return told


def _place(
    stores: Stores, world: World, booking: Booking, kit_type: Id, now: Instant
) -> int | None:
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
