"""What is recorded of some kit types and can still matter, read in one transaction."""

from collections import defaultdict
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from crossload.domain.booking import Ask, BookingState
from crossload.domain.claims import Claim, Stock
from crossload.domain.custody import Custody
from crossload.domain.holdings import About, Asked, HeldLine, Recorded, claims_beside
from crossload.domain.judge import at_risk
from crossload.domain.kit import PIECE_BY_PIECE, KitType, Tracking
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases.clockwork import Clockwork


@dataclass(frozen=True, slots=True)
class World:
    """What is recorded of some kit types, as read in one transaction."""

    kit: Mapping[Id, KitType]
    stock: dict[Id, Stock]
    recorded: dict[Id, Recorded]
    clockwork: Clockwork
    revision: int

    def claims(
        self, kit_type: Id, counts: Callable[[HeldLine], bool], without: Id | None = None
    ) -> list[Claim]:
        """The claims on a kit type: lines for which `counts` holds, and the facts.

        What is out on the booking `without` is left to the ask that stands in its place.
        """
        return self.claims_beside(kit_type, counts, without, ())[0]

    def claims_beside(
        self,
        kit_type: Id,
        counts: Callable[[HeldLine], bool],
        without: Id | None,
        asked: Sequence[Asked],
    ) -> tuple[list[Claim], list[list[Claim]]]:
        """`claims`, and those of what is asked for, fitted to one another where kit goes straight."""
        recorded = self.recorded[kit_type]
        out = tuple(c for c in recorded.out if without is None or c.booking != without)
        kept = Recorded(tuple(filter(counts, recorded.lines)), out, recorded.service)
        clockwork = self.clockwork
        return claims_beside(kept, clockwork.free_after(self.kit), asked, clockwork.late)

    def fallen(
        self, kit_type: Id, claims: Sequence[Claim], *, limit_s: float
    ) -> list[tuple[HeldLine, int]]:
        """The lines that fall short among claims on a kit type, each with by how many; their order."""
        short: dict[Id, tuple[HeldLine, int]] = {}
        for risk in at_risk(self.stock[kit_type], claims, limit_s=limit_s):
            if held := held_by(claims[risk.index]):
                _, before = short.get(held.line, (held, 0))
                short[held.line] = (held, before + risk.by)
        return list(short.values())


def look(
    stores: Stores, kit_types: Iterable[Id], now: Instant, since: Instant, ask: Ask | None = None
) -> World:
    """Read what can matter from `since` on. Unknown kit types are left out.

    With an ask, of counted kit only what meets its lines is read: pieces may have to be named, and
    then lines matter that meet it through others; a count is a sum at each instant.
    """
    return look_at(Clockwork(stores, now), stores.kit_types.some(kit_types), since, ask)


def look_at(
    clockwork: Clockwork,
    kit: Mapping[Id, KitType],
    since: Instant,
    ask: Ask | None = None,
    facts: Sequence[Id] | None = None,
) -> World:
    """`look` at kit types that are read already; `facts` are the only ones with any, if known."""
    stores, now, ids = clockwork.stores, clockwork.now, list(kit)
    lines, out, service = defaultdict(list), defaultdict(list), defaultdict(list)
    facts = ids if facts is None else facts
    for custody in stores.custodies.out(facts) if facts else ():
        out[custody.kit_type].append(custody)
    tied = [held for held in _tied(stores, ask) if held.kit_type in kit] if ask else []
    found = _held(clockwork, kit, min(since, now), ask, tied)
    late = lines_of(stores, chain.from_iterable(out.values()), kit)
    for held in {held.line: held for held in [*found, *late, *tied]}.values():
        if kit[held.kit_type].tracking is not Tracking.CONSUMABLE or held.end > now:
            lines[held.kit_type].append(held)
    for window in stores.custodies.services(facts, min(since, now), FOREVER + 1) if facts else ():
        service[window.kit_type].append(window)
    pieces = stores.items.ids_of([id for id in ids if kit[id].tracking in PIECE_BY_PIECE])
    stock = {
        id: Stock(len(pieces[id]), tuple(pieces[id])) if id in pieces else Stock(kit[id].count)
        for id in ids
    }
    recorded = {id: Recorded(tuple(lines[id]), tuple(out[id]), tuple(service[id])) for id in ids}
    return World(kit, stock, recorded, clockwork, stores.header.revision)


def lines_of(stores: Stores, out: Iterable[Custody], kit_types: Container[Id]) -> list[HeldLine]:
    """Live lines that kit is out on, however long ago their time was, and who takes over from them."""
    lines = sorted({custody.line for custody in out if custody.line is not None})
    found = stores.held.straight(lines) if lines else []
    return [held for held in found if held.kit_type in kit_types]


def _tied(stores: Stores, ask: Ask) -> list[HeldLine]:
    """Lines that hand kit on to the ask's, that share the giver with it, or that take over from it."""
    ties = [id for line in ask.lines for id in (line.line, line.straight_from) if id is not None]
    return stores.held.straight(ties) if ties else []


def _held(
    clockwork: Clockwork,
    kit: Mapping[Id, KitType],
    since: Instant,
    ask: Ask | None,
    tied: Sequence[HeldLine],
) -> list[HeldLine]:
    stores = clockwork.stores
    if ask is None:
        return stores.held.lines(list(kit), since)
    spans = [
        clockwork.occupied(ask.window, kit[line.kit_type], line.prep_s, line.check_in_s)
        for line in ask.lines
        if line.kit_type in kit
    ]
    if not spans:
        return []
    spans += [held.occupied for held in tied]
    start, end = min(span.start for span in spans), max(span.end for span in spans)
    counted = [id for id in kit if kit[id].tracking is Tracking.COUNT]
    others = [id for id in kit if id not in counted]
    met = stores.held.lines(counted, start, end, counted=True) if counted else []
    return met + stores.held.lines(others, min(start, since)) if others else met


def held_by_unit(
    stores: Stores, unit: Id, window: Window, *, without: Id | None = None
) -> dict[Id, int]:
    """What a unit has confirmed throughout a window, by kit type, beside one booking."""
    held: dict[Id, int] = defaultdict(int)
    for booking in stores.bookings.page(
        unit=unit, state=BookingState.CONFIRMED, since=window.start, until=window.end
    ):
        for line in booking.lines:
            if (
                line.state is BookingState.CONFIRMED
                and booking.id != without
                and line.window.start <= window.start
                and line.window.end >= window.end
            ):
                held[line.kit_type] += line.quantity
    return held


def about_of(claim: Claim) -> About:
    """Whose a claim is: those that a world makes always say so."""
    assert isinstance(claim.about, About)
    return claim.about


def held_by(claim: Claim) -> HeldLine | None:
    """The line that a claim is of, if it is of one."""
    return claim.about.held if isinstance(claim.about, About) else None


def is_confirmed(held: HeldLine) -> bool:
    return held.state is BookingState.CONFIRMED


def is_pencilled(held: HeldLine) -> bool:
    return held.state is BookingState.PENCILLED
