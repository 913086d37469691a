"""What is free of each kit type in many spans of time at once: exact, and by numpy throughout."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from datetime import date
from enum import IntEnum
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.domain.zones import day_window, offset_change, offset_s

Ints = NDArray[np.int64]

_ROWS_AT_ONCE = 48
"""Kit types whose year fits into the processor's cache, in memory that is used again and again."""


class Kind(IntEnum):
    """What a hold on kit is to the figures. What is out or overdue is booked as well."""

    BOOKED = 0
    OUT = 1
    OVERDUE = 2
    PENCILLED = 3
    OUT_OF_SERVICE = 4


@dataclass(frozen=True, slots=True)
class Spans:
    """Holds on kit, one at each index of five arrays of one length.

    So many pieces of the kit type with index `row`, throughout [start, end) in UTC seconds.
    `what` is the `Kind` of the hold, or for `domain.idle` the index of the unit that has it.
    """

    row: Ints
    start: Ints
    end: Ints
    quantity: Ints
    what: Ints

    @classmethod
    def of(cls, holds: Iterable[tuple[int, Instant, Instant, int, int]]) -> "Spans":
        """From (row, start, end, quantity, what), one a hold."""
        columns = np.array(list(holds), np.int64).reshape(-1, 5).T
        return cls(*columns)

    def where(self, kept: NDArray[np.bool_] | NDArray[np.intp]) -> "Spans":
        """Those at a mask or at indexes, in the order of these."""
        return Spans(*(getattr(self, field.name)[kept] for field in fields(self)))

    def of_rows(self, low: int, high: int) -> "Spans":
        """Those of the rows [low, high), counted from `low` on; all must be in order of row."""
        part = slice(*np.searchsorted(self.row, (low, high)))
        row, *others = (getattr(self, field.name)[part] for field in fields(self))
        return Spans(row - low, *others)

    def beside(self, others: "Spans") -> "Spans":
        """These and the others as one."""
        return Spans(
            *(
                np.concatenate((getattr(self, field.name), getattr(others, field.name)))
                for field in fields(self)
            )
        )


@dataclass(frozen=True, slots=True)
class Stocked:
    """As much of a kit type as its figures need. `capacity` is its pieces, or how many there are."""

    id: Id
    name: str
    category: str
    tracking: Tracking
    capacity: int
    check_in_s: int


@dataclass(frozen=True, slots=True)
class Figures:
    """Arrays of kit types × cells, but `capacity`, which is of kit types alone.

    All figures of a cell are those of one instant, `at`: the first at which least is free. There
    free + pencilled + booked + out_of_service = capacity; `out` is within booked, `overdue` within
    out. `free` is below zero where there is too little.
    """

    capacity: Ints
    at: Ints
    booked: Ints
    out: Ints
    overdue: Ints
    pencilled: Ints
    out_of_service: Ints

    @property
    def free(self) -> Ints:
        """What nobody has confirmed or pencilled; below zero where there is too little."""
        return self.if_pencils_fall - self.pencilled

    @property
    def if_pencils_fall(self) -> Ints:
        """What nobody has confirmed."""
        return self.capacity[:, None] - self.out_of_service - self.booked


def measure(capacity: Ints, spans: Spans, cells: Sequence[Window]) -> Figures:
    """The figures of each kit type in each cell of time; cells come in order of their start."""
    at = np.empty((len(capacity), len(cells)), np.int64)
    levels = np.empty((len(Kind), *at.shape), np.int64)
    spans = spans.where(np.argsort(spans.row))
    for columns, starts, ends in sheets(cells):
        for low in range(0, len(capacity), _ROWS_AT_ONCE):
            rows = slice(low, min(low + _ROWS_AT_ONCE, len(capacity)))
            part = spans.of_rows(rows.start, rows.stop)
            at[rows, columns], levels[:, rows, columns] = _least(
                rows.stop - low, part, starts, ends
            )
    levels[Kind.OUT] += levels[Kind.OVERDUE]
    levels[Kind.BOOKED] += levels[Kind.OUT]
    return Figures(capacity, at, *levels)


def layers(cells: Sequence[Window]) -> list[list[int]]:
    """The indexes of the cells, in as few lists as it takes for no two of a list to overlap.

    Days never overlap; a unit's shoot days do when it is called before its night has wrapped.
    """
    found: list[list[int]] = []
    for index, cell in enumerate(cells):
        for layer in found:
            if cells[layer[-1]].end <= cell.start:
                layer.append(index)
                break
        else:
            found.append([index])
    return found


def sheets(cells: Sequence[Window]) -> Iterator[tuple[slice | list[int], Ints, Ints]]:
    """Each layer: where it stands among the columns of an array of all cells, its starts, its ends."""
    found = layers(cells)
    for layer in found:
        # The usual one layer is a slice: a list of all indexes would copy the array.
        columns = slice(None) if len(found) == 1 else layer
        yield columns, *bounds([cells[index] for index in layer])


def bounds(cells: Sequence[Window]) -> tuple[Ints, Ints]:
    """The starts and the ends of cells, as arrays."""
    return (
        np.array([cell.start for cell in cells], np.int64),
        np.array([cell.end for cell in cells], np.int64),
    )


def hours_of(day: date, zone: ZoneInfo) -> list[Window]:
    """A local day cut where the wall clock shows a full hour, and where it is set on or back.

    A day of 23 or 25 hours has as many; one of 23.5 hours has 23 and a half.
    """
    window = day_window(day, zone)
    cuts = [window.start]
    while cuts[-1] < window.end:
        cuts.append(min(_next_cut(cuts[-1], zone), window.end))
    return [Window(start, end) for start, end in pairwise(cuts)]


def _next_cut(instant: Instant, zone: ZoneInfo) -> Instant:
    offset = offset_s(instant, zone)
    full_hour = instant + 3600 - (instant + offset) % 3600
    if offset_s(full_hour - 1, zone) == offset:
        return full_hour
    return offset_change(instant, full_hour, zone)


def _least(rows: int, spans: Spans, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """For cells that do not overlap: `at`, and the level of each kind there."""
    edges = np.unique(np.concatenate((starts, ends)))
    steps = _steps(rows, spans, int(edges[0]), int(edges[-1]))
    # Each stretch between two edges is a slot of the row, the last edge one more.
    after = np.searchsorted(edges, steps.at, "right") - 1
    slot = steps.row * len(edges) + after
    count = np.bincount(slot, minlength=rows * len(edges))
    first = np.cumsum(count) - count
    # The step in force as a slot begins: one at its very beginning, else the last before it.
    standing = first - 1
    standing[slot[edges[after] == steps.at]] += 1
    mine = np.searchsorted(edges, starts)
    standing, peak, top = (
        each.reshape(rows, len(edges))[:, mine]
        for each in (standing, *_peaks(steps.held, slot, len(count)))
    )
    higher = peak > steps.held.take(standing)
    step = np.where(higher, top, standing)
    return np.where(higher, steps.at.take(step), starts), steps.levels.take(step, axis=1)


@dataclass(frozen=True, slots=True)
class _Steps:
    """Where what is held changes, by row and time; every row has one at the very beginning.

    `levels`, kinds × steps, is what is held of each kind from that step on, `held` the sum.
    """

    row: Ints
    at: Ints
    held: Ints
    levels: Ints


def _steps(rows: int, spans: Spans, low: Instant, high: Instant) -> _Steps:
    """Steps in [low, high]. At high all is given back, so that the next row begins from nothing."""
    # What lies outside begins and ends at one instant, and what ends before it begins does too.
    since = np.clip(spans.start, low, high)
    until = np.clip(np.maximum(spans.start, spans.end), low, high)
    nothing = np.zeros(rows, np.int64)
    row = np.concatenate((np.arange(rows), spans.row, spans.row))
    at = np.concatenate((nothing + low, since, until))
    change = np.concatenate((nothing, spans.quantity, -spans.quantity))
    what = np.concatenate((nothing, spans.what, spans.what))
    key = row * (high - low + 1) + (at - low)
    order = np.argsort(key)
    change, what = change[order], what[order]
    # Half-open windows: of all that ends and begins at one instant only the sum is ever held.
    last = np.flatnonzero(np.diff(key[order], append=-1))
    row, at = row[order[last]], at[order[last]]
    levels = np.zeros((len(Kind), len(last)), np.int64)
    for kind in np.flatnonzero(np.bincount(spans.what)):
        levels[kind] = np.cumsum(np.where(what == kind, change, 0))[last]
    return _Steps(row, at, np.cumsum(change)[last], levels)


def _peaks(held: Ints, slot: Ints, slots: int) -> tuple[Ints, Ints]:
    """The most that is held at the steps of each slot, 0 without any; the first step to hold it."""
    # As one number, the most is of what is held first, then of the steps yet to come.
    bits, last = len(held).bit_length(), len(held) - 1
    most = np.zeros(slots, np.int64)
    np.maximum.at(most, slot, (held << bits) + np.arange(last, -1, -1))
    return most >> bits, last - (most & (1 << bits) - 1)
