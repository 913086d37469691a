"""Whether a booking can be granted, over what is recorded: read, weighed, and said line by line."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from crossload.domain.booking import Ask, BookingState, Wanted
from crossload.domain.claims import Claim, Stock, Verdict, Why
from crossload.domain.holdings import About, HeldLine, Recorded, claims
from crossload.domain.judge import judge as weigh
from crossload.domain.judge import largest
from crossload.domain.kit import KitType, Tracking
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Invalid

QUICK_S = 0.02
"""How long a search for names may hold the pool's lock; past it the search goes on outside."""

FULL_S = 2.0


class Answer(StrEnum):
    YES = "yes"
    PART = "part"
    BEHIND_PENCIL = "behind_pencil"
    SHORT = "short"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class TypeVerdict:
    """The judges' words on all lines of one kit type: beside confirmed, then beside all.

    `lines` says for each of `asks` which line it is of; a line with pieces of its own has two.
    """

    kit: KitType
    lines: tuple[int, ...]
    asks: tuple[Claim, ...]
    confirmed: Verdict
    all: Verdict
    claims: tuple[Claim, ...] = ()
    pencils: tuple[Claim, ...] = ()

    @property
    def answer(self) -> Answer:
        if not self.confirmed.fits:
            undecided = self.confirmed.why is Why.UNDECIDED
            return Answer.UNDECIDED if undecided else Answer.SHORT
        return Answer.YES if self.all.fits else Answer.BEHIND_PENCIL


@dataclass(frozen=True, slots=True)
class Judged:
    """The answer to a whole ask. `granted` is how much of each line, in order, a yes gives."""

    ask: Ask
    answer: Answer
    types: tuple[TypeVerdict, ...]
    granted: tuple[int, ...]
    revision: int
    witness: dict[int, tuple[Id, ...]] = field(default_factory=dict)

    def of(self, line: int) -> TypeVerdict:
        return next(verdict for verdict in self.types if line in verdict.lines)

    @property
    def grants(self) -> bool:
        return self.answer in (Answer.YES, Answer.PART)


@dataclass(frozen=True, slots=True)
class World:
    """What is recorded of some kit types, as read in one transaction."""

    kit: dict[Id, KitType]
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
        recorded = self.recorded[kit_type]
        out = tuple(c for c in recorded.out if without is None or c.booking != without)
        kept = Recorded(tuple(filter(counts, recorded.lines)), out, recorded.service)
        return claims(kept, self.clockwork.free_after(self.kit))


def look(
    stores: Stores, kit_types: Iterable[Id], now: Instant, since: Instant, ask: Ask | None = None
) -> World:
    """Read what can matter from `since` on. Unknown kit types are left out.

    With an ask, of counted kit only what meets its lines is read: pieces may have to be named, and
    then lines matter that meet it through others; a count is a sum at each instant.
    """
    kit = stores.kit_types.some(kit_types)
    ids = list(kit)
    clockwork = Clockwork(stores, now)
    lines, out, service = defaultdict(list), defaultdict(list), defaultdict(list)
    for custody in stores.custodies.out(ids):
        out[custody.kit_type].append(custody)
    found = _held(stores, kit, clockwork, min(since, now), ask)
    late = stores.bookings.held_out(list(out)) if out else []
    for held in {held.line: held for held in [*found, *late]}.values():
        if kit[held.kit_type].tracking is not Tracking.CONSUMABLE or held.end > now:
            lines[held.kit_type].append(held)
    for window in stores.custodies.services(ids, min(since, now), FOREVER + 1):
        service[window.kit_type].append(window)
    pieces = stores.items.ids_of(
        [id for id in ids if kit[id].tracking in (Tracking.SERIAL, Tracking.FREQUENCY)]
    )
    stock = {
        id: Stock(len(pieces[id]), tuple(pieces[id])) if id in pieces else Stock(kit[id].count)
        for id in ids
    }
    recorded = {id: Recorded(tuple(lines[id]), tuple(out[id]), tuple(service[id])) for id in ids}
    return World(kit, stock, recorded, clockwork, stores.header.revision)


def _held(
    stores: Stores, kit: dict[Id, KitType], clockwork: Clockwork, since: Instant, ask: Ask | None
) -> list[HeldLine]:
    if ask is None:
        return stores.bookings.held(list(kit), since)
    spans = [
        clockwork.occupied(ask.window, kit[line.kit_type], line.prep_s, line.check_in_s)
        for line in ask.lines
        if line.kit_type in kit
    ]
    if not spans:
        return []
    start, end = min(span.start for span in spans), max(span.end for span in spans)
    counted = [id for id in kit if kit[id].tracking is Tracking.COUNT]
    others = [id for id in kit if id not in counted]
    met = stores.bookings.held(counted, start, end) if counted else []
    return met + stores.bookings.held(others, min(start, since)) if others else met


def judge(
    stores: Stores,
    ask: Ask,
    now: Instant,
    *,
    without: Id | None = None,
    rank: int | None = None,
    limit_s: float = FULL_S,
) -> Judged:
    """Judge a booking as asked for, against what is recorded; writes nothing.

    `without` leaves one booking out: the one that is being changed. Pencils of the asker's own
    unit, and those ranked after `rank`, do not stand in the way. Raises Invalid for a line whose
    kit type or item this pool does not have.
    """
    kit_types = {line.kit_type for line in ask.lines}
    world = look(stores, kit_types, now, ask.window.start, ask)
    return judge_in(world, stores, ask, without=without, rank=rank, limit_s=limit_s)


def judge_in(
    world: World,
    stores: Stores,
    ask: Ask,
    *,
    without: Id | None = None,
    rank: int | None = None,
    limit_s: float = FULL_S,
) -> Judged:
    """`judge` over a world that was read before."""
    _check(world, ask)
    by_type: dict[Id, list[tuple[int, Claim]]] = defaultdict(list)
    for index, line in enumerate(ask.lines):
        by_type[line.kit_type].extend((index, claim) for claim in _claims_of(world, ask, line))

    def confirmed(held: HeldLine) -> bool:
        return held.booking != without and held.state is BookingState.CONFIRMED

    def in_the_way(held: HeldLine) -> bool:
        return (
            held.booking != without
            and held.state is BookingState.PENCILLED
            and held.unit != ask.unit
            and (rank is None or held.rank < rank)
        )

    types: list[TypeVerdict] = []
    witness: dict[int, tuple[Id, ...]] = defaultdict(tuple)
    granted = [line.quantity for line in ask.lines]
    for kit_type, pairs in by_type.items():
        indexes, asks = tuple(index for index, _ in pairs), tuple(claim for _, claim in pairs)
        stock = world.stock[kit_type]
        standing = world.claims(kit_type, confirmed, without)
        everything = world.claims(kit_type, lambda h: confirmed(h) or in_the_way(h), without)
        pencils = tuple(filter(_pencilled, everything))
        told = world.kit[kit_type].tracking is Tracking.FREQUENCY
        beside = weigh(stock, standing, asks, limit_s=limit_s, named=told)
        both = beside
        if pencils:
            both = weigh(stock, everything, asks, limit_s=limit_s, named=told)
        types.append(
            TypeVerdict(world.kit[kit_type], indexes, asks, beside, both, tuple(standing), pencils)
        )
        decisive, beside_these = (
            (beside, standing) if _pencil_is_enough(ask) else (both, everything)
        )
        # A pencil gets pieces that no earlier pencil has, as long as there are such.
        named = both if both.fits else decisive
        for index, pieces in zip(indexes, named.witness or (), strict=False):
            witness[index] += pieces
        if ask.accept_part and not decisive.fits:
            parts = _parts(stock, beside_these, asks)
            for index in set(indexes):
                granted[index] = sum(n for i, n in zip(indexes, parts, strict=True) if i == index)
    answer = _answer(ask, types, granted)
    return Judged(ask, answer, tuple(types), tuple(granted), world.revision, dict(witness))


def _answer(ask: Ask, types: Sequence[TypeVerdict], granted: Sequence[int]) -> Answer:
    answers = {verdict.answer for verdict in types}
    if _pencil_is_enough(ask):
        answers.discard(Answer.BEHIND_PENCIL)
    if answers <= {Answer.YES}:
        return Answer.YES
    if ask.accept_part and any(granted):
        return Answer.PART
    for answer in (Answer.SHORT, Answer.UNDECIDED):
        if answer in answers:
            return answer
    return Answer.BEHIND_PENCIL


def _pencil_is_enough(ask: Ask) -> bool:
    """A pencil queues behind pencils, and a coordinator may pass them by: neither waits for them."""
    return ask.state is BookingState.PENCILLED or ask.override_pencils


def held_by(claim: Claim) -> HeldLine | None:
    """The line that a claim is of, if it is of one."""
    return claim.about.held if isinstance(claim.about, About) else None


def _pencilled(claim: Claim) -> bool:
    held = held_by(claim)
    return held is not None and held.state is BookingState.PENCILLED


def _claims_of(world: World, ask: Ask, line: Wanted) -> list[Claim]:
    """What a line would hold: the pieces that are its own already, and so many of any."""
    kit = world.kit[line.kit_type]
    occupied = world.clockwork.occupied(ask.window, kit, line.prep_s, line.check_in_s)
    own = ((line.item,) if line.item is not None else line.pieces)[: line.quantity]
    rest = line.quantity - len(own)
    return [
        claim for claim in (Claim(occupied, len(own), own), Claim(occupied, rest)) if claim.quantity
    ]


def _parts(stock: Stock, standing: Sequence[Claim], asks: Sequence[Claim]) -> list[int]:
    """Line by line, in order, the largest quantity that fits beside what the earlier ones got."""
    got: list[Claim] = list(standing)
    quantities = []
    for ask in asks:
        quantity = largest(stock, got, ask)
        quantities.append(quantity)
        if quantity:
            got.append(Claim(ask.window, quantity, ask.items if quantity == len(ask.items) else ()))
    return quantities


def _check(world: World, ask: Ask) -> None:
    wrong: list[tuple[str, str]] = []
    for index, line in enumerate(ask.lines):
        where = f"/lines/{index}"
        if line.kit_type not in world.kit:
            wrong.append((f"{where}/kit_type_id", "this pool has no such kit type"))
        elif line.item is not None and line.item not in world.stock[line.kit_type].items:
            wrong.append((f"{where}/item_id", "this piece is not of that kit type, or is retired"))
    named = [line.item for line in ask.lines if line.item is not None]
    if len(named) != len(set(named)):
        wrong.append(("/lines", "a piece is named twice"))
    if wrong:
        raise Invalid(wrong)


def place(world: World, verdict: TypeVerdict, rank: int) -> int:
    """A pencil's place: 1 + the earlier pencils, in order, that must go before its lines fit.

    `verdict` is of the pencil itself, judged without it; pencils of its own unit do not count.
    """
    held = [(claim, held_by(claim)) for claim in verdict.pencils]
    earlier = sorted({(h.rank, h.booking) for _, h in held if h and h.rank < rank})
    stock = world.stock[verdict.kit.id]
    for gone in range(len(earlier) + 1):
        staying = {booking for _, booking in earlier[gone:]}
        beside = [claim for claim, h in held if h and h.booking in staying]
        if weigh(stock, [*verdict.claims, *beside], verdict.asks).fits:
            return 1 + gone
    return 1 + len(earlier)


def window_of(verdict: TypeVerdict) -> Window:
    """All that the lines of one type would occupy."""
    return Window(
        min(a.window.start for a in verdict.asks), max(a.window.end for a in verdict.asks)
    )
