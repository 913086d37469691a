"""Where the kit of a booking is, when and where it is handed over, and by whom."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from crossload.domain.booking import LIVE, Booking, Handing, Line
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
    handings = names.stores.held.handings(one.window.end - 1, one.id)
    givers = {each.taker: each for each in handings if each.booking == one.id}
    handed = [each for each in carried if each.id in givers]
    fetched = [each for each in carried if each.id not in givers]
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
        "hand_on": _hand_on(names, [each for each in handings if each.from_booking == one.id]),
        "frequencies": [
            {"frequency_hz": piece.frequency_hz, "label": f"{piece.frequency_hz / 1e6:.3f}"}
            for piece in pieces
            if piece.frequency_hz
        ],
    }


def _from_units(
    names: Names, lines: Sequence[Line], givers: Mapping[Id, Handing]
) -> Iterator[Told]:
    """What comes straight from other units, by unit and time: at their wrap, where they are then."""
    by_giver: dict[tuple[Instant, Id], list[Line]] = defaultdict(list)
    for line in lines:
        by_giver[givers[line.id].at, givers[line.id].from_unit].append(line)
    for (at, unit), some in sorted(by_giver.items()):
        collected = [_listed(names, e.kit_type, e.quantity, pieces=_pieces(e)) for e in some]
        yield {
            "from": "unit",
            "open_until": None,
            "note": None,
            **_meeting(names, unit, unit, at),
            "lines": collected,
        }


def _hand_on(names: Names, handings: Sequence[Handing]) -> list[Told]:
    """What of a booking other units take over straight, and whom to call."""
    takers: dict[tuple[Id, Id], list[Handing]] = defaultdict(list)
    for each in handings:
        takers[each.booking, each.unit].append(each)
    return [
        _meeting(names, some[0].from_unit, unit, some[0].at)
        | {"lines": [_listed(names, each.kit_type, each.quantity) for each in some]}
        for (_, unit), some in takers.items()
    ]


def _listed(
    names: Names,
    kit_type: Id,
    quantity: int,
    *,
    boxes: Iterable[str] = (),
    pieces: Iterable[Id] = (),
) -> Told:
    """One row of what changes hands."""
    return {
        "kit_type_id": kit_type,
        "name": names.kit[kit_type].name,
        "quantity": quantity,
        "boxes": list(boxes),
        "tags": names.tags(pieces),
    }


def _pieces(line: Line) -> tuple[Id, ...]:
    """The pieces that are known of a line."""
    return line.pieces if line.item is None else (line.item,)


def _meeting(names: Names, giver: Id, other: Id, at: Instant) -> Told:
    """When and where a unit hands on, and whom to ask for at the other one."""
    person, phone = names.contact(other)
    place = _place_at(names, giver, at)
    return {
        "at": at, "place": place, "unit": names.unit(other), "ask_for": person, "phone": phone
    }  # fmt: skip


def from_whom(names: Names, line: Id | None) -> Told | None:
    """From whom, when and where kit is taken over that comes straight from this line."""
    found = names.stores.held.straight([line]) if line is not None else []
    for held in found:
        if held.line == line:
            place = _place_at(names, held.unit, held.end)
            return {"unit": names.unit(held.unit), "at": held.end, "place": place}
    return None


_DAY_S = 16 * 3600
"""A unit is still where it wrapped, or was called, so many hours before."""


def _place_at(names: Names, unit: Id, at: Instant) -> str:
    """Where a unit is at an instant: the location of its shoot day then or last, else its base."""
    days = names.stores.shoot_days.between(at - _DAY_S, at + 1, unit)
    location = next((day.location for day in reversed(days) if day.location), "")
    return location or names.units[unit].base or names.units[unit].name


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
        "lines": [
            _listed(
                names,
                each.kit_type,
                each.quantity,
                boxes=names.boxes_with([each.kit_type]),
                pieces=_pieces(each),
            )
            for each in lines
        ],
        "note": None if at is not None else "free, nobody to bring it",
    }
