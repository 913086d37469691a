"""Kit that goes straight from one unit's line to another's, with no house between.

The line that takes over begins to occupy where the other's window ends, so that the two are one
hold: of what is handed on no check-in counts, and the same pieces serve both.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain

from crossload.domain.claims import Claim
from crossload.domain.window import Id, Instant, Window

IsToCome = Callable[[Claim], bool]
"""Whether what a line claims can still be taken over: it is not out on it, nor its own."""

LateBy = Callable[[Claim, Instant], Instant | None]
"""Until when the kit of a giver's claim is away, if that is past then."""

Key = Hashable
"""A line's id, or the place of a line that is asked for anew."""


@dataclass(slots=True)
class Own:
    """The claims of one line: those `left` with it and those `handed` on to another."""

    window: Window
    straight_from: Key
    left: list[Claim]
    handed: list[Claim] = field(default_factory=list)

    @property
    def span(self) -> Window:
        """All that they hold."""
        windows = [claim.window for claim in (*self.left, *self.handed)]
        return Window(min(w.start for w in windows), max(w.end for w in windows))

    def follow(self, end: Instant, is_to_come: IsToCome) -> None:
        """Take over from `end` on what was to be taken over at another time."""
        self.left = [
            replace(claim, window=Window(end, claim.window.end)) if is_to_come(claim) else claim
            for claim in self.left
        ]


def hand_on(
    of: Mapping[Key, Own], beside: Sequence[Claim], is_to_come: IsToCome, late_by: LateBy
) -> None:
    """Fit the claims of lines that take over and of those that they take from to each other.

    The last in time first, for who takes over may hand on too. `beside` are claims of no line.
    """
    takers = [
        (key, own, of[own.straight_from])
        for key, own in of.items()
        if own.left and own.straight_from in of
    ]
    if not takers:
        return
    if any(claim.items for claim in chain(beside, *(own.left for own in of.values()))):
        for own in {id(own): own for _, *pair in takers for own in pair}.values():
            own.left = list(by_piece(own.left))
    takers.sort(key=lambda tie: (-tie[1].span.start, tie[1].window.start, tie[1].window.end))
    for key, taker, giver in takers:
        coming = filter(is_to_come, (*taker.left, *taker.handed))
        if giver.left and any(claim.window.start == giver.window.end for claim in coming):
            others = (own for own in of.values() if own is not taker and own is not giver)
            more = chain(beside, *((*own.left, *own.handed) for own in others))
            _last(giver.left, _named_in(taker.span, more))
            _fit(key, taker, giver, is_to_come, late_by)


def _named_in(span: Window, claims: Iterable[Claim]) -> set[Id]:
    return {item for claim in claims if claim.window.overlaps(span) for item in claim.items}


def _last(claims: list[Claim], wanted: set[Id]) -> None:
    """Put those last that name pieces which others want by name: they are the last to be handed on."""
    claims.sort(key=lambda claim: not wanted.isdisjoint(claim.items))


def _fit(key: Key, taker: Own, giver: Own, is_to_come: IsToCome, late_by: LateBy) -> None:
    for claims in (taker.handed, taker.left):
        fresh = [claim for claim in claims if not is_to_come(claim)]
        for some, wanting in paired(giver.left, filter(is_to_come, claims)):
            if some is None:
                fresh.append(wanting)
                continue
            late, strand = late_by(some, taker.window.start), (key, len(giver.handed))
            part, got = fitted(some, wanting, giver.window.end, late, strand)
            giver.handed.append(part)
            fresh.append(got)
        claims[:] = fresh


def by_piece(claims: Iterable[Claim]) -> Iterator[Claim]:
    """The claims, as one for each piece: names are then handed on one by one."""
    for claim in claims:
        if claim.quantity < 2:
            yield claim
        elif claim.items:
            yield from (replace(claim, quantity=1, items=(item,)) for item in claim.items)
        else:
            yield from (replace(claim, quantity=1) for _ in range(claim.quantity))


def paired(left: list[Claim], taking: Iterable[Claim]) -> Iterator[tuple[Claim | None, Claim]]:
    """For each part of what is taken over, the part of equal quantity that it is taken from.

    Takes from `left`, and leaves there what nobody takes. A named piece is taken from the claim
    that names it, else from one of any; None where there is no such claim left.
    """
    for claim in taking:
        wanted = claim.quantity
        while wanted and (index := _giver(left, claim)) is not None:
            giver = left.pop(index)
            some = min(wanted, giver.quantity)
            if some < giver.quantity:
                left.insert(index, replace(giver, quantity=giver.quantity - some))
            wanted -= some
            yield replace(giver, quantity=some), replace(claim, quantity=some)
        if wanted:
            yield None, replace(claim, quantity=wanted)


def _giver(left: Sequence[Claim], taking: Claim) -> int | None:
    if not taking.items:
        return 0 if left else None
    by_name = (index for index, claim in enumerate(left) if claim.items == taking.items)
    of_any = (index for index, claim in enumerate(left) if not claim.items)
    return next(by_name, next(of_any, None))


def fitted(
    giver: Claim, taker: Claim, at: Instant, late: Instant | None, strand: Hashable
) -> tuple[Claim, Claim]:
    """A pair as it holds its kit: the giver until `at`, where the taker begins, or for longer if late.

    A piece that one of them names, both name. A strand that the taker has already goes on.
    """
    start = giver.window.start
    if late is not None:
        return replace(giver, window=Window(start, late)), taker
    strand, items = taker.strand or strand, giver.items or taker.items
    part = replace(giver, window=Window(start, at), items=items, strand=strand)
    return part, replace(taker, items=items, strand=strand)


def with_names(claims: Iterable[Claim], known: Iterable[Claim]) -> list[Claim]:
    """The claims, each with the pieces that any claim of its strand among the known names."""
    items: dict[Hashable, tuple[Id, ...]] = {
        claim.strand: claim.items for claim in known if claim.strand and claim.items
    }
    return [replace(claim, items=items.get(claim.strand, claim.items)) for claim in claims]
