"""How a booking stands: what depends on the clock and on others."""

from collections.abc import Iterable, Mapping
from typing import Any

from crossload.domain.booking import Booking, BookingState
from crossload.domain.custody import Custody
from crossload.domain.kit import Condition, Item
from crossload.domain.window import FOREVER, Id, Instant
from crossload.storage.stores import Stores
from crossload.usecases import telling
from crossload.usecases.actor import Actor
from crossload.usecases.granting import asked_again, the_booking
from crossload.usecases.judging import FULL_S, Answer, judge_in
from crossload.usecases.names import Names
from crossload.usecases.queueing import place
from crossload.usecases.recorded import is_confirmed, look
from crossload.usecases.transaction import read

Told = dict[str, Any]


def standing(actor: Actor, id: Id, *, now: Instant) -> Told:
    """Risk, a pencil's place and what stands in its way, and what is out, late, back and missing."""
    actor.must("read")
    with read(actor.pool) as stores:
        found = the_booking(stores, id)
        short = _short_by(stores, found, now)
        places, queue = _queue(stores, found, now)
        lines = [
            {
                "id": line.id,
                "short_by": short.get(line.id, 0),
                "place": places.get(line.kit_type),
                "used": line.gone,
                **whereabouts,
            }
            for line, whereabouts in zip(found.lines, _of_lines(stores, found, now), strict=True)
        ]
        last = max(places.values(), default=None)
        return {"risk": any(short.values()), "place": last, "lines": lines, **queue}


def _of_lines(stores: Stores, found: Booking, now: Instant) -> Iterable[Told]:
    """Line by line, what of it is out, late, back and missing."""
    went = stores.custodies.of_lines([line.id for line in found.lines])
    lost = {c.item for some in went.values() for c in some if c.item and _is_lost(c)}
    items = stores.items.some(lost) if lost else {}
    return (_whereabouts(went[line.id], items, now) for line in found.lines)


def _whereabouts(went: list[Custody], items: Mapping[Id, Item], now: Instant) -> dict[str, int]:
    """How many of a line are out (due or overdue), are back, or went missing.

    What came back as lost is missing; a piece of which that is no longer said has turned up.
    """
    out = [custody for custody in went if custody.back_at is None]
    gone = [
        custody
        for custody in went
        if _is_lost(custody)
        and (custody.item is None or items[custody.item].condition is Condition.LOST)
    ]
    missing = sum(custody.quantity for custody in gone)
    all_out = sum(custody.quantity for custody in out)
    overdue = sum(custody.quantity for custody in out if custody.is_overdue(now))
    return {
        "out": all_out,
        "due": all_out - overdue,
        "overdue": overdue,
        "back": sum(custody.quantity for custody in went) - all_out - missing,
        "missing": missing,
    }


def _is_lost(custody: Custody) -> bool:
    return custody.back_at is not None and custody.condition is Condition.LOST


def _short_by(stores: Stores, found: Booking, now: Instant) -> dict[Id, int]:
    """How many each line of a booking lacks beside what is confirmed."""
    if found.state is not BookingState.CONFIRMED:
        return {}
    world = look(stores, (line.kit_type for line in found.lines), now, now)
    return {
        held.line: by
        for kit_type in world.kit
        for held, by in world.fallen(kit_type, world.claims(kit_type, is_confirmed), limit_s=FULL_S)
        if held.booking == found.id
    }


def _queue(stores: Stores, found: Booking, now: Instant) -> tuple[dict[Id, int], Told]:
    """A pencil's places by kit type, and how it would be judged if it were confirmed now."""
    if found.state is not BookingState.PENCILLED or found.window.end <= now:
        return {}, {"can_confirm": None, "short": []}
    ask, rank = asked_again(found), max((line.rank for line in found.lines), default=FOREVER)
    kit_types = {line.kit_type for line in ask.lines}
    world = look(stores, kit_types, now, ask.window.start, ask)
    judged = judge_in(world, ask, without=found.id, rank=rank)
    places = {verdict.kit.id: place(world, verdict, rank) for verdict in judged.types}
    return places, {
        "can_confirm": all(verdict.answer is Answer.YES for verdict in judged.types),
        "short": telling.shortages(Names(stores), judged, now),
    }
