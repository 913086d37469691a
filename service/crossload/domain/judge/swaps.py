"""Where an ask would have to change pieces, when it finds none that are free throughout."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from crossload.domain.claims import Claim, Stock, Why
from crossload.domain.judge.asks import check_asks, weigh
from crossload.domain.judge.groups import Group, claims_around, groups_touched
from crossload.domain.judge.standing import serve
from crossload.domain.naming import Stopwatch, Undecided
from crossload.domain.naming.count_model import kinds_of, lay_out
from crossload.domain.naming.gaps import gaps_between
from crossload.domain.naming.solver import Programme, solve
from crossload.domain.window import Instant, Window


def swap_at(
    stock: Stock, claims: Sequence[Claim], ask: Claim, *, limit_s: float = 2.0
) -> tuple[Instant, ...]:
    """The instants at which an ask that fails by names would have to swap pieces to be served.

    They are as few as can be, and of those as late as can be. Only the ask swaps: every claim
    keeps the same pieces throughout. Empty where no swap is needed or none helps (it fails by
    numbers, or names its pieces), and where the limit leaves it undecided.
    """
    check_asks([ask])
    stopwatch = Stopwatch(limit_s)
    if ask.items or weigh(stock, claims, [ask], stopwatch).why is not Why.NAMES:
        return ()
    try:
        parts = serve(stock, claims_around(claims, [ask]), stopwatch)
        served = [part.served for part in parts if part.served]
        found = _fewest(stock, served, replace(ask), stopwatch)
    except Undecided:
        return ()
    split = [replace(ask, window=window) for window in _between(ask.window, found)]
    return found if weigh(stock, claims, split, stopwatch).fits else ()


def _fewest(
    stock: Stock, served: Sequence[Claim], ask: Claim, stopwatch: Stopwatch
) -> tuple[Instant, ...]:
    """Cut the ask into legs wherever something starts, for a swap can be put off until then.

    A leg's count in a kind of gap may differ from the leg's before only where a swap is paid for;
    while it does not differ, the same pieces serve both.
    """
    (group,) = groups_touched(served, [ask])
    others = [claim for claim in group.members if claim is not ask]
    cuts = _cuts(group, others, ask.window)
    legs = _between(ask.window, cuts)
    rows = [(claim.window, claim.quantity, -1) for claim in others]
    rows += [(leg, ask.quantity, number) for number, leg in enumerate(legs)]
    rows.sort()
    windows = [window for window, _, _ in rows]
    kinds = kinds_of(gaps_between(stock.items, group.taken, group.span), windows)
    programme = Programme()
    columns = lay_out(programme, kinds, windows, [quantity for _, quantity, _ in rows])
    leg_of = {index: number for index, (_, _, number) in enumerate(rows) if number >= 0}
    swaps = [programme.column(1, len(cuts) ** 2 + late) for late in range(len(cuts), 0, -1)]
    for row in columns:
        counts = {leg_of[index]: column for index, column in row.items() if index in leg_of}
        _pay_for_swaps(programme, counts, swaps, ask.quantity)
    values = solve(programme, stopwatch) or ()
    return tuple(cut for cut, swap in zip(cuts, swaps, strict=True) if values and values[swap])


def _pay_for_swaps(
    programme: Programme, counts: Mapping[int, int], swaps: Sequence[int], quantity: int
) -> None:
    """Let one kind's count differ between a leg and the next only with the swap between them."""
    for number, swap in enumerate(swaps):
        pair = [
            (counts[leg], sign) for leg, sign in ((number, 1), (number + 1, -1)) if leg in counts
        ]
        if pair:
            programme.at_most(0, [*pair, (swap, -quantity)])
            programme.at_most(0, [*((column, -sign) for column, sign in pair), (swap, -quantity)])


def _cuts(group: Group, others: Sequence[Claim], window: Window) -> tuple[Instant, ...]:
    fixed = [taken for windows in group.fixed.values() for taken in windows]
    starts = {taken.start for taken in fixed} | {claim.window.start for claim in others}
    return tuple(sorted(start for start in starts if window.start < start < window.end))


def _between(window: Window, cuts: Sequence[Instant]) -> list[Window]:
    return [Window(start, end) for start, end in pairwise((window.start, *cuts, window.end))]
