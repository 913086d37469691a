"""Whether a yes can be kept: a check of its witness, written apart from the search for it."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace

from crossload.domain.capacity import count
from crossload.domain.claims import Claim, Stock, Verdict
from crossload.domain.judge.asks import clash, groups_to_name
from crossload.domain.judge.groups import claims_around
from crossload.domain.judge.standing import are_apart
from crossload.domain.window import Id, Window, merged

Seats = dict[Id, list[Window]]
"""The windows in which each piece is taken."""


def keeps(stock: Stock, claims: Sequence[Claim], asks: Sequence[Claim], verdict: Verdict) -> bool:
    """Whether the verdict is a yes that can be kept beside these claims; it searches nothing.

    The claims may be others than the verdict was found beside: claims that have gone do no harm,
    and with ones that its witness does not name the answer is no, judge anew. Where the verdict
    lets claims fall they must be the very same claims, for what else may fall is not known.
    """
    if not verdict.fits or count(stock, claims, asks).short or clash(stock, claims, asks):
        return False
    asks = [replace(ask) for ask in asks]  # told from claims, and from one another, by identity
    groups = groups_to_name(stock, claims, asks)
    if not groups:
        return True
    if verdict.witness is None or not _serves(stock, asks, verdict.witness):
        return False
    if any(len(pieces) < claim.quantity for claim, pieces in verdict.beside):
        return _keeps_the_rest(stock, claims, asks, verdict)
    named: dict[Claim, list[tuple[Id, ...]]] = defaultdict(list)
    for claim, pieces in verdict.beside:
        named[claim].append(pieces)
    ours = {id(ask) for ask in asks}
    seats: Seats = defaultdict(list)
    for group in groups:
        for claim in group.members:
            if id(claim) in ours:
                continue
            if not named[claim] or not _serves(stock, [claim], [named[claim][-1]]):
                return False
            _seat(seats, claim, named[claim].pop())
    _seat_asks(seats, asks, verdict.witness)
    return _fits_around(seats, [claim for claim in claims if claim.items])


def _keeps_the_rest(
    stock: Stock, claims: Sequence[Claim], asks: Sequence[Claim], verdict: Verdict
) -> bool:
    """Whether asks and what is left of the claims have their own pieces throughout."""
    around = claims_around(claims, asks)
    if Counter(around) != Counter(claim for claim, _ in verdict.beside):
        return False
    seats: Seats = defaultdict(list)
    facts: list[Claim] = []
    for claim, pieces in verdict.beside:
        if not set(pieces) <= set(claim.items or stock.items) or len(set(pieces)) < len(pieces):
            return False
        if claim.rank == 0 and claim.items:
            facts.append(claim)
        else:
            _seat(seats, claim, pieces)
    _seat_asks(seats, asks, verdict.witness or ())
    return _fits_around(seats, facts)


def _serves(stock: Stock, claims: Sequence[Claim], pieces: Sequence[tuple[Id, ...]]) -> bool:
    """Whether each claim is given as many pieces as it wants, known, no piece twice, as named."""
    return len(pieces) == len(claims) and all(
        len(given) == len(set(given)) == claim.quantity
        and set(given) <= set(claim.items or stock.items)
        for claim, given in zip(claims, pieces, strict=True)
    )


def _seat(seats: Seats, claim: Claim, pieces: Sequence[Id]) -> None:
    for piece in pieces:
        seats[piece].append(claim.window)


def _seat_asks(seats: Seats, asks: Sequence[Claim], witness: Sequence[tuple[Id, ...]]) -> None:
    for ask, pieces in zip(asks, witness, strict=True):
        _seat(seats, ask, pieces)


def _fits_around(seats: Seats, fixed: Sequence[Claim]) -> bool:
    """Whether each piece is in one place at a time, named windows counted once where they agree.

    Named windows that overlap are no matter here: facts made them so, not the ask.
    """
    taken: Seats = defaultdict(list)
    for claim in fixed:
        _seat(taken, claim, claim.items)
    return all(are_apart([*merged(taken[piece]), *windows]) for piece, windows in seats.items())
