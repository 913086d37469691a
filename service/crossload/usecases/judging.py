"""Whether a booking can be granted, over what is recorded: read, weighed, and said line by line."""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from crossload.domain.booking import Ask, BookingState, Wanted
from crossload.domain.capacity import least_free
from crossload.domain.claims import Claim, Stock, Verdict, Why
from crossload.domain.holdings import Asked, HeldLine
from crossload.domain.judge import judge as weigh
from crossload.domain.judge import largest
from crossload.domain.kit import KitType, Tracking
from crossload.domain.window import Id, Instant
from crossload.storage.known import Known
from crossload.storage.stores import Stores
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Invalid
from crossload.usecases.recorded import World, held_by, is_confirmed, is_pencilled, look_at
from crossload.usecases.straight import Slot, out_on, slots_of

QUICK_S = 0.02
"""How long a search for names may hold the pool's lock; past it the search goes on outside."""

FULL_S = 2.0
"""The limit past which an ask is undecided, unless somebody waits for less."""


class Answer(StrEnum):
    """What a whole ask is told."""

    YES = "yes"
    PART = "part"
    BEHIND_PENCIL = "behind_pencil"
    SHORT = "short"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class TypeVerdict:
    """The judges' words on all lines of one kit type: beside confirmed, then beside all.

    `lines` says for each of `asks` which line it is of; a line with pieces of its own has two.
    `all_lines` says so for the asks beside all, where pencils may want kit from the same giver.
    """

    kit: KitType
    lines: tuple[int, ...]
    asks: tuple[Claim, ...]
    confirmed: Verdict
    all: Verdict
    all_lines: tuple[int, ...] = ()
    claims: tuple[Claim, ...] = ()
    pencils: tuple[Claim, ...] = ()

    @property
    def standing(self) -> list[Claim]:
        """Everything that the asks were judged beside."""
        return [*self.claims, *self.pencils]

    @property
    def answer(self) -> Answer:
        """What the lines of this kit type would be told if they were the whole ask."""
        if not self.confirmed.fits:
            undecided = self.confirmed.why is Why.UNDECIDED
            return Answer.UNDECIDED if undecided else Answer.SHORT
        return Answer.YES if self.all.fits else Answer.BEHIND_PENCIL


@dataclass(frozen=True, slots=True)
class Judged:
    """The answer to a whole ask. `granted` is how much of each line, in order, a yes gives.

    `slots` are what each line occupies, and the line that it takes over from.
    """

    ask: Ask
    answer: Answer
    types: tuple[TypeVerdict, ...]
    granted: tuple[int, ...]
    revision: int
    slots: tuple[Slot, ...] = ()
    witness: dict[int, tuple[Id, ...]] = field(default_factory=dict)

    def of(self, line: int) -> TypeVerdict:
        """The verdict that has the line with this index."""
        return next(verdict for verdict in self.types if line in verdict.lines)

    @property
    def grants(self) -> bool:
        """Whether anything is granted: all of it, or a part where the asker accepts one."""
        return self.answer in (Answer.YES, Answer.PART)


def judge(
    stores: Stores,
    ask: Ask,
    now: Instant,
    *,
    without: Id | None = None,
    rank: int | None = None,
    limit_s: float = FULL_S,
    known: Known | None = None,
) -> Judged:
    """Judge a booking as asked for, against what is recorded; writes nothing.

    `known` is what was read of the ask already. `without` leaves one booking out: the one that is
    being changed. Pencils of the asker's own unit, and those ranked after `rank`, do not stand in
    the way. Raises Invalid for a line whose kit type or item this pool does not have.
    """
    known = known or stores.known(ask, now)
    world = look_at(Clockwork(stores, now), known.kit, ask.window.start, ask, known.facts)
    return judge_in(world, ask, without=without, rank=rank, limit_s=limit_s)


def judge_in(
    world: World,
    ask: Ask,
    *,
    without: Id | None = None,
    rank: int | None = None,
    limit_s: float = FULL_S,
) -> Judged:
    """`judge` over a world that was read before."""
    _check(world, ask)
    slots = slots_of(world, ask, without=without)
    by_type: dict[Id, list[tuple[int, Asked]]] = defaultdict(list)
    for index, (line, slot) in enumerate(zip(ask.lines, slots, strict=True)):
        by_type[line.kit_type].append((index, _asked(world, ask, line, slot)))
    types: list[TypeVerdict] = []
    witness: dict[int, tuple[Id, ...]] = defaultdict(tuple)
    granted = [line.quantity for line in ask.lines]
    for kit_type, pairs in by_type.items():
        verdict = _weigh(world, ask, kit_type, pairs, without, rank, limit_s)
        types.append(verdict)
        enough = _pencil_is_enough(ask)
        decisive = verdict.confirmed if enough else verdict.all
        # A pencil gets pieces that no earlier pencil has, as long as there are such.
        beside_all = verdict.all.fits or not enough
        named = verdict.all if beside_all else verdict.confirmed
        lines = verdict.all_lines if beside_all else verdict.lines
        for index, pieces in zip(lines, named.witness or (), strict=False):
            witness[index] += pieces
        if ask.accept_part and not decisive.fits:
            standing = [*verdict.claims, *(() if enough else verdict.pencils)]
            parts = _parts(world.stock[kit_type], standing, verdict.asks)
            granted = _with_parts(granted, verdict.lines, parts)
    answer = _answer(ask, types, granted)
    return Judged(
        ask, answer, tuple(types), tuple(granted), world.revision, tuple(slots), dict(witness)
    )


def _weigh(
    world: World,
    ask: Ask,
    kit_type: Id,
    pairs: Sequence[tuple[int, Asked]],
    without: Id | None,
    rank: int | None,
    limit_s: float,
) -> TypeVerdict:
    """The judges' words on one kit type; `pairs` are its lines, each with its place in the ask."""
    kit, stock = world.kit[kit_type], world.stock[kit_type]
    lines, asked = [index for index, _ in pairs], [each for _, each in pairs]

    def beside(counts: Callable[[HeldLine], bool]) -> tuple[list[Claim], list[int], list[Claim]]:
        standing, claims = world.claims_beside(kit_type, counts, without, asked)
        of = [index for index, some in zip(lines, claims, strict=True) for _ in some]
        return standing, of, [claim for some in claims for claim in some]

    def judged(standing: Sequence[Claim], asks: Sequence[Claim]) -> Verdict:
        told = kit.tracking is Tracking.FREQUENCY
        return weigh(stock, standing, asks, limit_s=limit_s, named=told)

    standing, of, asks = beside(lambda held: is_confirmed(held) and held.booking != without)
    confirmed = judged(standing, asks)
    found = TypeVerdict(
        kit, tuple(of), tuple(asks), confirmed, confirmed, tuple(of), tuple(standing)
    )
    counts = _counting(ask, without, rank)
    if any(is_pencilled(held) and counts(held) for held in world.recorded[kit_type].lines):
        everything, of, asks = beside(counts)
        pencils = tuple(filter(_pencilled, everything))
        both = judged(everything, asks)
        return replace(found, all=both, all_lines=tuple(of), pencils=pencils)
    return found


def _counting(ask: Ask, without: Id | None, rank: int | None) -> Callable[[HeldLine], bool]:
    """Which lines an ask is judged beside: what is confirmed, and pencils of others before it."""

    def counts(held: HeldLine) -> bool:
        if held.booking == without:
            return False
        before = rank is None or held.rank < rank
        return is_confirmed(held) or (held.unit != ask.unit and before)

    return counts


def free_throughout(world: World, ask: Ask, *, without: Id | None = None) -> dict[Id, int]:
    """How many of each kit type are free throughout the ask's window, beside others' pencils too."""
    counts = _counting(ask, without, None)
    return {
        id: least_free(
            world.stock[id],
            world.claims(id, counts, without),
            world.clockwork.occupied(ask.window, kit),
        )
        for id, kit in world.kit.items()
    }


def _with_parts(granted: Sequence[int], lines: Sequence[int], parts: Sequence[int]) -> list[int]:
    """What each line is granted, when of these lines only so much is to be had."""
    found = list(granted)
    for index in set(lines):
        found[index] = sum(part for line, part in zip(lines, parts, strict=True) if line == index)
    return found


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


def _pencilled(claim: Claim) -> bool:
    held = held_by(claim)
    return held is not None and is_pencilled(held)


def _asked(world: World, ask: Ask, line: Wanted, slot: Slot) -> Asked:
    """What a line would hold: the pieces that are its own already, and so many of any."""
    occupied = slot.occupied
    own = ((line.item,) if line.item is not None else line.pieces)[: line.quantity]
    rest = line.quantity - line.gone - len(own)
    claims = [Claim(occupied, len(own), own)] if own else []
    if slot.straight_from is None:
        some = [Claim(occupied, rest)] if rest or not own else []
        return Asked((*claims, *some), ask.window, line.line)
    out = 0 if line.line is None else out_on(world, line.kit_type, line.line)
    if line.item is not None:
        taking, claims = ([], claims) if out else (claims, [])
    else:
        there = min(rest, max(0, out - len(own)))
        claims += [Claim(occupied, there)] if there else []
        taking = [Claim(occupied, rest - there)] if rest > there else []
    return Asked(tuple(claims), ask.window, line.line, slot.straight_from, tuple(taking))


def _parts(stock: Stock, standing: Sequence[Claim], asks: Sequence[Claim]) -> list[int]:
    """Line by line, in order, the largest quantity that fits beside what the earlier ones got."""
    got: list[Claim] = list(standing)
    quantities = []
    for ask in asks:
        quantity = largest(stock, got, ask)
        quantities.append(quantity)
        if quantity:
            items = ask.items if quantity == len(ask.items) else ()
            got.append(replace(ask, quantity=quantity, items=items))
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
