"""Kit that goes straight from one unit's line to another's, with no house between.

The line that takes over begins to occupy where the other's window ends, so that the two are one
hold: of what is handed on no check-in counts, and the same pieces serve both.
"""

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import replace

from crossload.domain.claims import Claim
from crossload.domain.window import Id, Instant, Window


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
