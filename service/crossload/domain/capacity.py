"""Counting: how many pieces are free at every instant, and where an ask lacks some."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from crossload.domain.claims import Claim, Stock, Stretch
from crossload.domain.window import EARLIEST, FOREVER, Id, Instant, Window, merged

ALWAYS = Window(EARLIEST - FOREVER, FOREVER + FOREVER)
"""Wider than any window, whatever prep or check-in it carries."""

Change = tuple[Instant, int]
"""From this instant on so many pieces more are held, or fewer. Sorted, what ends comes before
what starts: windows are half-open, so back to back they never hold a piece twice."""


@dataclass(frozen=True, slots=True)
class Tally:
    """The least that is free over all that the asks occupy, and where they lack some."""

    free: int
    short: tuple[Stretch, ...]


def count(stock: Stock, claims: Iterable[Claim], asks: Sequence[Claim]) -> Tally:
    """Count asks made together beside all claims; nothing is clamped, `free` can be below zero.

    At an instant free = capacity - claims. The stretches are the maximal spans of equal shortage
    within what the asks occupy, in order.
    """
    span = hull(asks)
    changes = held(stock, claims, span)
    if len(asks) == 1:
        free = stock.capacity - peak(changes)
        if free >= asks[0].quantity:
            return Tally(free, ())
    return _tally(stock.capacity, changes, asks)


def least_free(stock: Stock, claims: Iterable[Claim], window: Window) -> int:
    """The least that is free at any instant of the window."""
    return stock.capacity - peak(held(stock, claims, window))


def held(stock: Stock, claims: Iterable[Claim], span: Window) -> list[Change]:
    """What the claims hold within the span, as sorted changes that begin from nothing.

    Facts that name one piece at one instant count once, and those on a piece that is not in the
    stock hold none of it.
    """
    start, end = span.start, span.end
    changes: list[Change] = []
    facts: dict[Id, list[Window]] = defaultdict(list)
    for claim in claims:
        window = claim.window
        if window.start >= end or start >= window.end:
            continue
        if claim.rank == 0 and claim.items and stock.items:
            for item in claim.items:
                facts[item].append(window)
        else:
            changes.append((window.start, claim.quantity))
            if window.end < end:
                changes.append((window.end, -claim.quantity))
    if facts:
        _add_facts(changes, stock, facts)
    changes.sort()
    return changes


def _add_facts(changes: list[Change], stock: Stock, facts: Mapping[Id, Sequence[Window]]) -> None:
    known = set(stock.items)
    for item, windows in facts.items():
        if item in known:
            for window in merged(windows):
                changes.append((window.start, 1))
                changes.append((window.end, -1))


def peak(changes: Sequence[Change]) -> int:
    """The most that sorted changes hold at any instant, and at least nothing."""
    most = level = 0
    for _, change in changes:
        level += change
        most = max(most, level)
    return most


def hull(claims: Sequence[Claim]) -> Window:
    """The shortest window that holds all of theirs."""
    if len(claims) == 1:
        return claims[0].window
    return Window(
        min(claim.window.start for claim in claims), max(claim.window.end for claim in claims)
    )


def _tally(capacity: int, changes: Sequence[Change], asks: Sequence[Claim]) -> Tally:
    span = hull(asks)
    marks: dict[Instant, list[int]] = defaultdict(lambda: [0, 0])
    for at, change in changes:
        marks[min(max(at, span.start), span.end)][0] += change
    for ask in asks:
        marks[ask.window.start][1] += ask.quantity
        marks[ask.window.end][1] -= ask.quantity
    lacking: list[Stretch] = []
    least: int | None = None
    free, asked = capacity, 0
    for at, until in pairwise(sorted(marks)):
        free -= marks[at][0]
        asked += marks[at][1]
        if asked:
            least = free if least is None else min(least, free)
            _lengthen(lacking, at, until, asked - free)
    if least is None:
        raise ValueError("an ask is for one piece or more")
    return Tally(least, tuple(lacking))


def _lengthen(lacking: list[Stretch], at: Instant, until: Instant, by: int) -> None:
    if by <= 0:
        return
    if lacking and lacking[-1].by == by and lacking[-1].window.end == at:
        at = lacking.pop().window.start
    lacking.append(Stretch(Window(at, until), by))


class Profile:
    """What is free of a stock beside all claims, made once to be asked about many windows."""

    def __init__(self, stock: Stock, claims: Iterable[Claim]) -> None:
        self._instants: list[Instant] = [ALWAYS.start]
        self._free: list[int] = [stock.capacity]
        for at, change in held(stock, claims, ALWAYS):
            if at > self._instants[-1]:
                self._instants.append(at)
                self._free.append(self._free[-1])
            self._free[-1] -= change

    def least(self, window: Window) -> int:
        """The least that is free at any instant of the window."""
        first = bisect_right(self._instants, window.start) - 1
        last = bisect_right(self._instants, window.end - 1)
        return min(self._free[first:last])
