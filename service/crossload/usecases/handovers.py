"""Where the kit of a booking is, when and where it is handed over, and by whom."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from crossload.domain.booking import LIVE, Booking, Line
from crossload.domain.capacity import least_free
from crossload.domain.holdings import HeldLine
from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.names import Names
from crossload.usecases.recorded import is_confirmed, look_at

Told = dict[str, Any]


def handover(names: Names, one: Booking, now: Instant) -> Told:
    """Where the kit is, when and where it is handed over, and whom to ask for."""
    clockwork = Clockwork(names.stores, now)
    at = collect_by(clockwork, one.window.start - names.units[one.unit].way_s)
    live = [each for each in one.lines if each.state in LIVE and each.quantity]
    carried = [e for e in live if names.kit[e.kit_type].tracking is not Tracking.FREQUENCY]
    givers = _givers(names, carried)
    handed = [each for each in carried if each.straight_from in givers]
    fetched = [each for each in carried if each not in handed]
    there = _in_the_house(names, clockwork, fetched, at) if at >= now else []
    elsewhere = [each for each in fetched if each not in there]
    pieces = [names.items[p] for each in live for p in each.pieces if p in names.items]
    return {
        "pickups": [
            *_from_units(names, handed, givers),
            *(
                _pickup(names, clockwork, lines, when)
                for lines, when in ((there, at), (elsewhere, None))
                if lines
            ),
        ],
        "hand_on": _hand_on(names, one),
        "frequencies": [
            {"frequency_hz": piece.frequency_hz, "label": f"{piece.frequency_hz / 1e6:.3f}"}
            for piece in pieces
            if piece.frequency_hz
        ],
    }


def _givers(names: Names, lines: Sequence[Line]) -> dict[Id, HeldLine]:
    """The confirmed lines that these take over from."""
    ids = [each.straight_from for each in lines if each.straight_from is not None]
    found = names.stores.held.straight(ids) if ids else []
    return {held.line: held for held in found if held.line in ids and is_confirmed(held)}


def _from_units(
    names: Names, lines: Sequence[Line], givers: Mapping[Id, HeldLine]
) -> Iterator[Told]:
    """What comes straight from other units, by unit and time: at their wrap, where they are then."""
    by_giver: dict[tuple[Id, Instant], list[Line]] = defaultdict(list)
    for line in lines:
        giver = givers[line.straight_from or Id(0)]
        by_giver[giver.unit, giver.end].append(line)
    for (unit, at), some in sorted(by_giver.items(), key=lambda pair: pair[0][1]):
        person, phone = names.contact(unit)
        yield {
            "at": at,
            "place": _place_at(names, unit, at),
            "from": "unit",
            "unit": names.unit(unit),
            "ask_for": person,
            "phone": phone,
            "open_until": None,
            "lines": [_to_collect(names, each) for each in some],
            "note": None,
        }


def straight(names: Names, line: Id | None) -> Told | None:
    """From whom, when and where kit is taken over that comes straight from this line."""
    found = names.stores.held.straight([line]) if line is not None else []
    for held in found:
        if held.line == line:
            place = _place_at(names, held.unit, held.end)
            return {"unit": names.unit(held.unit), "at": held.end, "place": place}
    return None


def _hand_on(names: Names, one: Booking) -> list[Told]:
    """What of this booking other units take over straight, and whom to call."""
    own = {line.id for line in one.lines if line.state in LIVE}
    found = names.stores.held.straight(sorted(own)) if own else []
    takers: dict[tuple[Id, Id], list[HeldLine]] = defaultdict(list)
    for held in found:
        if held.straight_from in own and is_confirmed(held):
            takers[held.booking, held.unit].append(held)
    return [
        {
            "at": one.window.end,
            "place": _place_at(names, one.unit, one.window.end),
            "unit": names.unit(unit),
            "ask_for": names.contact(unit)[0],
            "phone": names.contact(unit)[1],
            "lines": [
                {
                    "kit_type_id": held.kit_type,
                    "name": names.kit[held.kit_type].name,
                    "quantity": held.quantity,
                    "boxes": [],
                    "tags": names.tags(held.pieces),
                }
                for held in some
            ],
        }
        for (_, unit), some in takers.items()
    ]


def _place_at(names: Names, unit: Id, at: Instant) -> str:
    """Where a unit is at an instant: its location on the shoot day then, else its base."""
    days = names.stores.shoot_days.between(at - 1, at + 1, unit)
    location = next((day.location for day in days if day.location), "")
    return location or names.units[unit].base or names.house


def collect_by(clockwork: Clockwork, by: Instant) -> Instant:
    """When kit that is needed by then is fetched: then, or when the house closed last before."""
    return by if clockwork.hours.is_open(by) else clockwork.hours.last_open_before(by)


def _in_the_house(
    names: Names, clockwork: Clockwork, lines: Sequence[Line], at: Instant
) -> list[Line]:
    """The lines whose kit can be fetched at an instant: it is there from then on till they begin.

    Kit that another unit has until this one begins is free, and not in the house the evening before.
    """
    wanted: dict[Id, int] = defaultdict(int)
    for line in lines:
        wanted[line.kit_type] += line.quantity
    world = look_at(clockwork, {id: names.kit[id] for id in wanted}, at)

    def is_there(line: Line) -> bool:
        if at >= line.occupied.start:
            return True
        claims = world.claims(line.kit_type, lambda held: _is_of_another(held, line), line.booking)
        span = Window(at, line.occupied.start)
        return least_free(world.stock[line.kit_type], claims, span) >= wanted[line.kit_type]

    return [line for line in lines if is_there(line)]


def _is_of_another(held: HeldLine, line: Line) -> bool:
    return is_confirmed(held) and held.booking != line.booking


def _pickup(names: Names, clockwork: Clockwork, lines: Sequence[Line], at: Instant | None) -> Told:
    """Lines that are fetched together; with no time to do so nobody hands them over."""
    person, phone = names.contact(None)
    return {
        "at": at,
        "place": names.house,
        "from": "house",
        "unit": None,
        "ask_for": person,
        "phone": phone,
        "open_until": clockwork.hours.closes_at(at) if at is not None else None,
        "lines": [_to_collect(names, each) for each in lines],
        "note": None if at is not None else "free, nobody to bring it",
    }


def _to_collect(names: Names, one: Line) -> Told:
    return {
        "kit_type_id": one.kit_type,
        "name": names.kit[one.kit_type].name,
        "quantity": one.quantity,
        "boxes": names.boxes_with([one.kit_type]),
        "tags": names.tags([one.item] if one.item is not None else one.pieces),
    }
