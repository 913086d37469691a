"""Completing a naming that lacks some windows: search near each of them, then wider."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from crossload.domain.naming.best_fit import Given
from crossload.domain.naming.count_model import search
from crossload.domain.naming.gaps import Lot, gaps_between
from crossload.domain.naming.stopwatch import Stopwatch, Undecided
from crossload.domain.window import Id, Window, merged

NEAR, WIDER = 24, 3
"""How many windows are searched first, and how many times more after each time in vain."""

GLANCE_S, GLANCE_COLUMNS = 0.3, 30_000
"""All windows at once are named within this or not for long; with more columns it is not tried."""


class _NoNaming(Exception):
    """Some windows near each other cannot be named, so all cannot."""


def complete(
    pieces: Sequence[Id],
    fixed: Mapping[Id, Sequence[Window]],
    lots: Sequence[Lot],
    given: Given,
    stopwatch: Stopwatch,
    near: int = NEAR,
) -> Given | None:
    """Give each lot the pieces it lacks, or None when no naming exists; Undecided at the limit.

    One window at a time: those near it may move, with all others held where they are. If that
    fails, and those near it cannot be named even with no others there, nothing can be named.
    Before the search grows wide, it glances at all at once, which may be lucky.
    """
    try:
        return _Repair(pieces, fixed, lots, given, stopwatch).completed(near)
    except _NoNaming:
        return None


class _Repair:
    """Windows of one piece each, and the piece that each has so far."""

    def __init__(
        self,
        pieces: Sequence[Id],
        fixed: Mapping[Id, Sequence[Window]],
        lots: Sequence[Lot],
        given: Given,
        stopwatch: Stopwatch,
    ) -> None:
        self._pieces, self._fixed, self._lots, self._stopwatch = pieces, fixed, lots, stopwatch
        self._windows: list[Window] = []
        self._seats: list[Id | None] = []
        for lot, held in zip(lots, given, strict=True):
            self._windows += [lot.window] * lot.quantity
            self._seats += [*held, *[None] * (lot.quantity - len(held))]

    def completed(self, near: int) -> Given:
        lacking = [index for index, seat in enumerate(self._seats) if seat is None]
        lacking = [index for index in lacking if not self._seat(index, [near])]
        if lacking and not self._glance():
            for index in lacking:
                self._seat(index, self._wider(near))
        seats = iter(seat for seat in self._seats if seat is not None)
        return [tuple(next(seats) for _ in range(lot.quantity)) for lot in self._lots]

    def _wider(self, near: int) -> Iterator[int]:
        size = near * WIDER
        while size < len(self._windows):
            yield size
            size *= WIDER
        yield len(self._windows)

    def _seat(self, index: int, sizes: Iterable[int]) -> bool:
        """Give one window a piece, moving the windows near it: first so many, then so many."""
        nearest = sorted(range(len(self._windows)), key=lambda other: self._apart(index, other))
        for size in sizes:
            near = nearest[:size]
            if self._move([other for other in near if other == index or self._has_seat(other)]):
                return True
            if size >= len(self._windows):
                raise _NoNaming
            bare = gaps_between(self._pieces, self._fixed, self._span(near))
            if search(bare, self._lots_of(near), self._stopwatch) is None:
                raise _NoNaming
        return False

    def _glance(self) -> bool:
        """Whether all at once are named within the time of a glance."""
        if len(self._windows) * len(self._pieces) > GLANCE_COLUMNS:
            return False
        try:
            everything = range(len(self._windows))
            if self._move(everything, Stopwatch(min(GLANCE_S, self._stopwatch.left_s()))):
                return True
        except Undecided:
            return False
        raise _NoNaming

    def _move(self, indexes: Sequence[int], stopwatch: Stopwatch | None = None) -> bool:
        """Name these windows anew around all others that have a piece, if that can be."""
        gaps = gaps_between(self._pieces, self._taken_beside(indexes), self._span(indexes))
        found = search(gaps, self._lots_of(indexes), stopwatch or self._stopwatch)
        if found is None:
            return False
        for index, (piece,) in zip(indexes, found, strict=True):
            self._seats[index] = piece
        return True

    def _taken_beside(self, indexes: Iterable[int]) -> dict[Id, list[Window]]:
        taken: dict[Id, list[Window]] = defaultdict(list)
        for piece, windows in self._fixed.items():
            taken[piece] += windows
        loose = set(indexes)
        for index, seat in enumerate(self._seats):
            if seat is not None and index not in loose:
                taken[seat].append(self._windows[index])
        return {piece: merged(windows) for piece, windows in taken.items()}

    def _has_seat(self, index: int) -> bool:
        return self._seats[index] is not None

    def _apart(self, index: int, other: int) -> tuple[int, bool]:
        here, there = self._windows[index], self._windows[other]
        return max(0, there.start - here.end, here.start - there.end), other != index

    def _lots_of(self, indexes: Iterable[int]) -> list[Lot]:
        return [Lot(self._windows[index], 1) for index in indexes]

    def _span(self, indexes: Iterable[int]) -> Window:
        windows = [self._windows[index] for index in indexes]
        return Window(
            min(window.start for window in windows), max(window.end for window in windows)
        )
