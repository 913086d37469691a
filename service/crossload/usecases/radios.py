"""A radio asked for as one thing: pack, way, lavalier, batteries, pouch, frequency together."""

from typing import Any

from crossload.domain import outfit
from crossload.domain.booking import LIVE, Ask, Booking
from crossload.domain.kit import KitType
from crossload.domain.shoot import ShootDay
from crossload.domain.window import Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.booked import window as checked_window
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Invalid
from crossload.usecases.granting import LONGEST_S, default_window
from crossload.usecases.judging import free_throughout
from crossload.usecases.names import Names
from crossload.usecases.recorded import held_by_unit, look_at
from crossload.usecases.transaction import read

Told = dict[str, Any]
ROLES = {"receiver": "way"}


def propose(
    actor: Actor,
    *,
    unit: Id,
    quantity: int,
    now: Instant,
    start: Instant | None = None,
    end: Instant | None = None,
    range_: str = "",
    pack: Id | None = None,
    booking: Id | None = None,
) -> Told:
    """What so many radios would be for a unit: lines to open and change, and what it holds.

    The pack is the one asked for, else of the range asked for: the one that the unit holds most of
    then, else one of its last ask, else the one with most free. `booking` is one that is being
    changed: what it holds is not held beside it.
    """
    actor.must("book", unit)
    with read(actor.pool) as stores:
        there = stores.units.get(unit)
        if there is None:
            raise Invalid([("/unit", "this pool has no such unit")])
        names = Names(stores)
        span = _span(stores, unit, start, end, now)
        held = held_by_unit(stores, unit, span, without=booking)
        last = _last_ask(stores, unit, names)
        free = _free(names, unit, span, now)
        main = _pack(names, free, range_, pack, held, last)
        spare = outfit.spare_ways(main, held, names.kit)
        parts = outfit.parts(main, quantity, names.kit, free, spare)
        packs = outfit.Part(main, quantity, _packs(names))
        return {
            "unit_id": unit,
            "unit": there.name,
            "window": _told_window(stores, unit, span),
            "held": _held(names, held),
            "quantity": quantity,
            "lines": [_line(part, free) for part in (packs, *parts)],
            "last_ask": _told_last(names, last),
            "days": [_day(day) for day in _coming(stores, unit, now)],
        }


def _span(
    stores: Stores, unit: Id, start: Instant | None, end: Instant | None, now: Instant
) -> Window:
    if start is None and end is None:
        return default_window(stores, unit, now)
    if start is None or end is None:
        raise Invalid([("/start", "give both start and end, or neither")])
    return checked_window(start, end)


def _free(names: Names, unit: Id, span: Window, now: Instant) -> dict[Id, int]:
    """How many of each kit type that goes into a radio are free throughout the window."""
    packs = [kit for kit in names.kit.values() if kit.category == outfit.PACK]
    categories = {outfit.PACK, *(need.category for kit in packs for need in kit.goes_with)}
    parts = {id: kit for id, kit in names.kit.items() if kit.category in categories}
    world = look_at(Clockwork(names.stores, now), parts, min(now, span.start))
    return free_throughout(world, Ask(unit, span, ()))


def _packs(names: Names) -> tuple[KitType, ...]:
    packs = (kit for kit in names.kit.values() if kit.category == outfit.PACK and kit.goes_with)
    return tuple(sorted(packs, key=lambda kit: kit.name))


def _pack(
    names: Names,
    free: dict[Id, int],
    range_: str,
    pack: Id | None,
    held: dict[Id, int],
    last: Booking | None,
) -> KitType:
    packs = [kit for kit in _packs(names) if not range_ or kit.traits.get("range") == range_]
    if pack is not None:
        packs = [kit for kit in packs if kit.id == pack]
    if not packs:
        raise Invalid([("/range", "this pool has no pack of that kind")])
    before = {line.kit_type for line in last.lines} if last else set()
    return min(
        packs, key=lambda kit: (-held.get(kit.id, 0), kit.id not in before, -free[kit.id], kit.name)
    )


def _last_ask(stores: Stores, unit: Id, names: Names) -> Booking | None:
    """The unit's last booking that had packs in it and stands."""
    for booking in stores.bookings.latest_of(unit):
        if booking.state in LIVE and any(
            names.kit[line.kit_type].category == outfit.PACK for line in booking.lines
        ):
            return booking
    return None


def _told_last(names: Names, last: Booking | None) -> Told | None:
    if last is None:
        return None
    packs = [line for line in last.lines if names.kit[line.kit_type].category == outfit.PACK]
    return {
        "booking_id": last.id,
        "quantity": sum(line.quantity for line in packs),
        "start": last.window.start,
        "end": last.window.end,
        "lines": [
            {
                "kit_type_id": line.kit_type,
                "name": names.kit[line.kit_type].name,
                "quantity": line.quantity,
            }
            for line in last.lines
            if line.quantity and line.item is None
        ],
    }


def _held(names: Names, held: dict[Id, int]) -> Told:
    packs = sum(n for id, n in held.items() if names.kit[id].category == outfit.PACK)
    return {"radios": packs, "ways": sum(names.kit[id].ways * n for id, n in held.items())}


def _line(part: outfit.Part, free: dict[Id, int]) -> Told:
    return {
        "role": ROLES.get(part.kit.category, part.kit.category),
        "kit_type_id": part.kit.id,
        "name": part.kit.name,
        "ways": part.kit.ways,
        "quantity": part.quantity,
        "free": free.get(part.kit.id, 0),
        "choices": [
            {"kit_type_id": kit.id, "name": kit.name, "ways": kit.ways, "free": free.get(kit.id, 0)}
            for kit in part.choices
        ],
    }


def _told_window(stores: Stores, unit: Id, span: Window) -> Told:
    days = stores.shoot_days.between(span.start, span.end, unit)
    shoot_day = _day(days[0]) if days else None
    return {"start": span.start, "end": span.end, "shoot_day": shoot_day}


def _coming(stores: Stores, unit: Id, now: Instant) -> list[ShootDay]:
    return stores.shoot_days.between(now, now + LONGEST_S, unit)[:20]


def _day(day: ShootDay) -> Told:
    return {
        "date": day.day,
        "number": day.number,
        "call": day.call_s,
        "wrap": day.wrap_s,
        "location": day.location,
    }
