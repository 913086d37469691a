"""Naming by counting: how many of each window go into each kind of gap.

Gaps that hold the same windows are alike, and in one kind of gap windows can be parted among its
pieces whenever at no instant more of them run than there are pieces (interval partitioning,
Kleinberg & Tardos section 4.1). So counts are enough; names follow from them.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from operator import ge

from crossload.domain.naming.best_fit import Given
from crossload.domain.naming.gaps import Gap, Lot
from crossload.domain.naming.solver import Programme, solve
from crossload.domain.naming.stopwatch import Stopwatch, Undecided
from crossload.domain.window import Id, Instant, Window


@dataclass(frozen=True, slots=True)
class Kind:
    """Gaps that hold the same of the windows: one of each piece, and the windows' indexes."""

    pieces: tuple[Id, ...]
    holds: tuple[int, ...]


def search(gaps: Sequence[Gap], lots: Sequence[Lot], stopwatch: Stopwatch) -> Given | None:
    """A naming, or None when there is none; Undecided at the limit."""
    totals: dict[Window, int] = defaultdict(int)
    for window, quantity in lots:
        totals[window] += quantity
    windows = sorted(totals)
    wanted = [totals[window] for window in windows]
    kinds = kinds_of(gaps, windows)
    if not _room_for_each(kinds, wanted):
        return None
    programme = Programme()
    columns = lay_out(programme, kinds, windows, wanted)
    values = solve(programme, stopwatch)
    if values is None:
        return None
    counts = [{index: values[column] for index, column in row.items()} for row in columns]
    return names_from(kinds, windows, counts, lots)


def kinds_of(gaps: Iterable[Gap], windows: Sequence[Window]) -> list[Kind]:
    """The kinds of gap that hold any of the windows."""
    alike: dict[tuple[int, ...], list[Id]] = defaultdict(list)
    for gap in gaps:
        holds = tuple(
            index
            for index, window in enumerate(windows)
            if gap.start <= window.start and window.end <= gap.end
        )
        if holds:
            alike[holds].append(gap.piece)
    return [Kind(tuple(pieces), holds) for holds, pieces in alike.items()]


def lay_out(
    programme: Programme,
    kinds: Iterable[Kind],
    windows: Sequence[Window],
    wanted: Sequence[int],
) -> list[dict[int, int]]:
    """Add the columns and rows for so many of each window, which are in order of start.

    Returns, for each kind, the column of each window that it holds.
    """
    columns: list[dict[int, int]] = []
    of_window: list[list[int]] = [[] for _ in windows]
    for kind in kinds:
        row: dict[int, int] = {}
        for index in kind.holds:
            row[index] = programme.column(min(wanted[index], len(kind.pieces)))
            of_window[index].append(row[index])
        columns.append(row)
        for running in crowds(windows, kind.holds):
            programme.at_most(len(kind.pieces), [(row[index], 1) for index in running])
    for total, its_columns in zip(wanted, of_window, strict=True):
        programme.exactly(total, its_columns)
    return columns


def crowds(windows: Sequence[Window], indexes: Iterable[int]) -> Iterator[list[int]]:
    """The largest sets of these windows, in order of start, that run at one instant."""
    running: list[int] = []
    for index in indexes:
        start = windows[index].start
        still = [other for other in running if windows[other].end > start]
        if len(still) < len(running):
            yield running
        running = [*still, index]
    if running:
        yield running


def names_from(
    kinds: Sequence[Kind],
    windows: Sequence[Window],
    counts: Sequence[Mapping[int, int]],
    lots: Sequence[Lot],
) -> Given:
    """Part each kind's windows among its pieces; Undecided when the counts do not allow it.

    They always should: this is where what was computed in floats is proved in whole numbers.
    """
    pools: dict[Window, list[Id]] = defaultdict(list)
    for kind, row in zip(kinds, counts, strict=True):
        _part(kind, windows, row, pools)
    given: Given = []
    for window, quantity in lots:
        pool = pools[window]
        if len(pool) < quantity:
            raise Undecided
        given.append(tuple(pool[:quantity]))
        pools[window] = pool[quantity:]
    return given


def _part(
    kind: Kind,
    windows: Sequence[Window],
    row: Mapping[int, int],
    pools: Mapping[Window, list[Id]],
) -> None:
    free = list(kind.pieces)
    busy: list[tuple[Instant, Id]] = []
    for index in kind.holds:
        window = windows[index]
        while busy and busy[0][0] <= window.start:
            free.append(heappop(busy)[1])
        for _ in range(row[index]):
            if not free:
                raise Undecided
            piece = free.pop()
            heappush(busy, (window.end, piece))
            pools[window].append(piece)


def _room_for_each(kinds: Iterable[Kind], wanted: Sequence[int]) -> bool:
    """Whether each window alone finds enough gaps; if not, there is nothing to solve."""
    room = [0] * len(wanted)
    for kind in kinds:
        for index in kind.holds:
            room[index] += len(kind.pieces)
    return all(map(ge, room, wanted))
