"""Kit that goes straight from one unit's line to another's, with no house between.

The line that takes over begins to occupy where the other's window ends, so that the two are one
hold: of what is handed on no check-in counts, and the same pieces serve both.
"""

from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from dataclasses import replace

from crossload.domain.claims import Claim
from crossload.domain.window import Id, Instant, Window

IsLate = Callable[[Claim, Claim], Instant | None]
"""Until when a giver's claim keeps kit that the taker's should have by then; None if it does not."""


def handed_on(
    giving: Iterable[Claim],
    taking: Iterable[Claim],
    taker: Id,
    *,
    is_late: IsLate,
    wanted: Collection[Id] = (),
) -> tuple[list[Claim], list[Claim]]:
    """The claims of a line that hands on and of one that takes over, fitted to each other.

    What is handed on is held until the taker holds it, or for longer where it is late. In time, a
    piece that one names the other names too, and where neither does both get one `strand`. Pieces
    that others want by name are the last to be handed on. What the taker wants beyond what the
    giver has stays as it was.
    """
    left = [one for claim in giving for one in _singly(claim)]
    left.sort(key=lambda claim: not set(wanted).isdisjoint(claim.items))
    gave: list[Claim] = []
    took: list[Claim] = []
    for claim in (one for whole in taking for one in _singly(whole)):
        rest = claim
        while rest.quantity and (giver := _giver(left, rest)):
            left.remove(giver)
            some = min(rest.quantity, giver.quantity)
            if some < giver.quantity:
                left.append(replace(giver, quantity=giver.quantity - some))
            strand = claim.strand or (taker, len(took))
            part, got = _fitted(giver, rest, some, strand, is_late(giver, claim))
            gave += [part] if part else []
            took.append(got)
            rest = replace(rest, quantity=rest.quantity - some)
        took += [rest] if rest.quantity else []
    return [*left, *gave], took


def _singly(claim: Claim) -> Sequence[Claim]:
    """A claim that names pieces as one for each of them."""
    if len(claim.items) < 2:
        return [claim]
    return [replace(claim, quantity=1, items=(item,)) for item in claim.items]


def _giver(left: Sequence[Claim], taking: Claim) -> Claim | None:
    """Which of the giver's claims the taker's is served from: that of its piece, or one of any."""
    if not taking.items:
        return next(iter(left), None)
    named = (claim for claim in left if claim.items == taking.items)
    return next(named, None) or next((claim for claim in left if not claim.items), None)


def _fitted(
    giver: Claim, taking: Claim, some: int, strand: Hashable, late: Instant | None
) -> tuple[Claim | None, Claim]:
    """So many of a giver's claim, and of the taker's what they become; None when handed on already."""
    got = replace(taking, quantity=some)
    until = taking.window.start if late is None else late
    if until <= giver.window.start:
        return None, got
    part = replace(giver, quantity=some, window=Window(giver.window.start, until))
    if late is not None:
        return part, got
    if giver.items:
        return part, replace(got, items=giver.items)
    if not got.items:
        return replace(part, strand=strand), replace(got, strand=strand)
    return (part if _is_fact(got) else replace(part, items=got.items)), got


def _is_fact(claim: Claim) -> bool:
    """What is asked for has no rank either, but is nobody's yet."""
    return claim.rank == 0 and claim.about is not None
