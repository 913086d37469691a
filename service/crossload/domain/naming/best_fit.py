"""Naming without search: each in turn takes the pieces whose gaps it fills most tightly."""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter

from crossload.domain.naming.gaps import Gap, Lot
from crossload.domain.window import Id, Instant, Window

Given = list[tuple[Id, ...]]
"""The pieces given to each that wanted some, in its order."""


@dataclass(slots=True)
class _Seat:
    """A gap and since when it is free."""

    end: Instant
    free_from: Instant
    piece: Id


def best_fit(gaps: Sequence[Gap], lots: Sequence[Lot]) -> Given:
    """Name forwards in time, and if that falls short backwards: the better of the two.

    A lot that finds too few pieces gets those there are, and that does not mean that no naming
    exists. Where the gaps all reach back to the earliest window, or all reach on to the end of the
    last, nothing falls short as long as each instant has enough pieces.
    """
    forwards = _forwards(gaps, lots)
    if is_whole(lots, forwards):
        return forwards
    mirrored = [Gap(-gap.end, -gap.start, gap.piece) for gap in gaps]
    backwards = _forwards(
        mirrored, [Lot(Window(-window.end, -window.start), count) for window, count in lots]
    )
    return max(forwards, backwards, key=lambda given: sum(map(len, given)))


def is_whole(lots: Sequence[Lot], given: Given) -> bool:
    """Whether each lot has all that it wants."""
    return all(len(pieces) == lot.quantity for lot, pieces in zip(lots, given, strict=True))


def _forwards(gaps: Sequence[Gap], wanted: Sequence[Lot]) -> Given:
    given: Given = [()] * len(wanted)
    to_come = sorted(gaps, reverse=True)
    seats: list[_Seat] = []
    for index in sorted(range(len(wanted)), key=lambda i: _earliest_longest(wanted[i].window)):
        window, quantity = wanted[index]
        while to_come and to_come[-1].start <= window.start:
            gap = to_come.pop()
            seats.append(_Seat(gap.end, gap.start, gap.piece))
        seats = [seat for seat in seats if seat.end > window.start]
        fitting = [
            seat for seat in seats if seat.free_from <= window.start and seat.end >= window.end
        ]
        fitting.sort(key=attrgetter("free_from"), reverse=True)
        fitting.sort(key=attrgetter("end"))
        given[index] = tuple(seat.piece for seat in fitting[:quantity])
        for seat in fitting[:quantity]:
            seat.free_from = window.end
    return given


def _earliest_longest(window: Window) -> tuple[Instant, Instant]:
    return window.start, -window.end
