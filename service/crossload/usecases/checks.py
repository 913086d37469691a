"""What must hold in a live database, and what of it does not."""

from collections.abc import Iterable, Iterator

from crossload.domain import ids
from crossload.domain.booking import LIVE, Booking
from crossload.domain.claims import Claim, Why
from crossload.domain.holdings import HeldLine, Recorded, claims
from crossload.domain.judge import at_risk
from crossload.domain.kit import Condition, Tracking
from crossload.domain.window import Id, Instant
from crossload.storage.journals import Entry
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.names import Names
from crossload.usecases.recorded import World, held_by, is_confirmed, look_at
from crossload.usecases.transaction import read

LIMIT_S = 5.0


def check(actor: Actor, *, now: Instant) -> list[str]:
    """A sentence for each thing that is broken; an empty list when all that must hold does.

    A shortage that a later fact explains (out of service, lost, late, fewer of it, retired, a longer
    check-in) is at risk, not broken.
    """
    actor.must("read")
    with read(actor.pool) as stores:
        names, bookings = Names(stores), stores.bookings.page()
        return [
            *_shortages(names, now),
            *_custody(names, bookings),
            *_states(names, bookings),
            *_hand_overs(names, bookings),
        ]


def _shortages(names: Names, now: Instant) -> Iterator[str]:
    """No grant made a shortage: with the facts left out, what is confirmed can be served."""
    world = look_at(Clockwork(names.stores, now), names.kit, now)
    for kit_type, kit in names.kit.items():
        granted = _granted(world, kit_type)
        for risk in at_risk(world.stock[kit_type], granted, limit_s=LIMIT_S):
            held = held_by(granted[risk.index])
            if held is None or risk.why is Why.UNDECIDED:
                continue
            if _is_explained(names.stores, world, held):
                continue
            yield (
                f"booking {ids.to_text(held.booking)} lacks {risk.by} of {kit.name}"
                " and no fact explains it"
            )


def _is_explained(stores: Stores, world: World, held: HeldLine) -> bool:
    """Whether a fact that was recorded after a line was granted left less of its kit, or for longer.

    Of lines that cannot all be served the last granted falls: one that was granted after the fact
    was judged with it.
    """
    of_it = [held.kit_type, *stores.items.ever_of(held.kit_type), stores.pool]
    used_up = world.kit[held.kit_type].tracking is Tracking.CONSUMABLE
    return any(_takes_away(entry, used_up) for entry in stores.journal.since(held.rank, of_it))


def _takes_away(entry: Entry, used_up: bool) -> bool:
    before, after = entry.before or {}, entry.after or {}
    match entry.subject_kind, entry.verb:
        case "kit_type", "changed":
            return bool(before.get("count", 0) > after.get("count", before.get("count", 0)))
        case "kit_type", "out":
            return used_up and after.get("booking") is None
        case "item", "marked":
            return bool(after.get("condition") == Condition.RETIRED)
        case "pool", "changed":
            return "recounted" in after
    return entry.verb == "recounted"


def _granted(world: World, kit_type: Id) -> list[Claim]:
    """The claims of confirmed lines alone, as granted: facts may lengthen or break them later.

    A fact that was recorded before a line was granted was judged with it; without the facts the
    lines must fit all the more.
    """
    lines = tuple(filter(is_confirmed, world.recorded[kit_type].lines))
    return claims(Recorded(lines), lambda custody, _: custody.due_at)


def _custody(names: Names, bookings: Iterable[Booking]) -> Iterator[str]:
    """One piece is in one place, and what is out on a line is no more than the line has."""
    seen: set[Id] = set()
    on_line: dict[Id, int] = {}
    for custody in names.stores.custodies.out():
        kit = names.kit[custody.kit_type]
        if custody.item is not None:
            if custody.item in seen:
                yield f"{kit.name} {names.tags([custody.item])} is out twice"
            seen.add(custody.item)
            if names.items[custody.item].condition is Condition.RETIRED:
                yield f"{kit.name} {names.tags([custody.item])} is retired and out"
        if custody.line is not None:
            on_line[custody.line] = on_line.get(custody.line, 0) + custody.quantity
        if custody.out_at >= custody.due_at:
            yield f"custody {ids.to_text(custody.id)} was due before it went out"
    for booking in bookings:
        for line in booking.lines:
            if line.state in LIVE and on_line.get(line.id, 0) + line.gone > line.quantity:
                yield (
                    f"booking {ids.to_text(booking.id)} has more of"
                    f" {names.kit[line.kit_type].name} out than it holds"
                )


def _states(names: Names, bookings: Iterable[Booking]) -> Iterator[str]:
    """A line claims kit only while its booking does; fixed pieces are of the line's kit type."""
    for booking in bookings:
        for line in booking.lines:
            if line.state in LIVE and line.state is not booking.state:
                yield f"booking {ids.to_text(booking.id)} is {booking.state}, a line {line.state}"
            if len(line.pieces) > line.quantity and line.state in LIVE:
                yield f"booking {ids.to_text(booking.id)} has more pieces than its line"
            for piece in (*line.pieces, *((line.item,) if line.item else ())):
                if piece not in names.items or names.items[piece].kit_type != line.kit_type:
                    yield f"booking {ids.to_text(booking.id)} names a piece of another kit type"


def _hand_overs(names: Names, bookings: Iterable[Booking]) -> Iterator[str]:
    """What goes straight from one unit to another is held by the one from where the other ends."""
    lines = {line.id: line for booking in bookings for line in booking.lines}
    for line in lines.values():
        giver = lines.get(line.straight_from or line.id)
        if giver is None or giver is line or not {line.state, giver.state} <= set(LIVE):
            continue
        if line.occupied.start != giver.window.end:
            yield (
                f"booking {ids.to_text(line.booking)} takes {names.kit[line.kit_type].name} over"
                f" from booking {ids.to_text(giver.booking)}, and not from where that one ends"
            )
