"""Kit that a unit has and does not use that day: it may be lent, and goes back to the lender."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import date

import numpy as np

from crossload.domain.availability import Ints, Spans, sheets
from crossload.domain.window import Window

USED = {"pack": 0, "wireless boom": 1, "listening receiver": 2}
"""Categories of which a shoot day says how many are in use: radios, booms, listeners."""

OTHERWISE = len(USED)
"""Of any other category nothing is idle while its unit shoots."""

ALL = np.iinfo(np.int64).max // 2
_PAIRS_AT_ONCE = 128
"""Pairs of kit type and unit whose days fit into the processor's cache together."""


@dataclass(frozen=True, slots=True)
class ShootDays:
    """Shoot days as arrays of one length; `day` is the ordinal of the date, times are UTC seconds."""

    unit: Ints
    day: Ints
    call: Ints
    wrap: Ints
    radios: Ints
    booms: Ints
    listeners: Ints

    @classmethod
    def of(cls, rows: Iterable[tuple[int, int, int, int, int, int, int]]) -> "ShootDays":
        """From (unit, day, call, wrap, radios, booms, listeners), one a shoot day."""
        return cls(*np.array(list(rows), np.int64).reshape(-1, 7).T)

    def of_units(self, units: Ints) -> "ShootDays":
        """Those of the units with these ids."""
        known = np.isin(self.unit, units)
        return ShootDays(*(getattr(self, field.name)[known] for field in fields(self)))


def classes_of(categories: Iterable[str]) -> Ints:
    """What `used` counts by, for each category."""
    return np.array([USED.get(category, OTHERWISE) for category in categories], np.int64)


def used(
    shoot_days: ShootDays, units: Ints, cells: Sequence[Window], dates: Sequence[date]
) -> Ints:
    """How much each unit needs in each cell, by class: an array of classes × units × cells.

    A unit works in a cell when it has a shoot day of that date, or one that reaches into the cell:
    what a night still uses after midnight is not idle. With two such days the larger number holds.
    `units` are ids in order; shoot days of others are left out. `dates` rise, one a cell.
    """
    needs = np.zeros((OTHERWISE + 1, len(units), len(cells)), np.int64)
    shoot_days = shoot_days.of_units(units)
    unit = np.searchsorted(units, shoot_days.unit)
    numbers = (shoot_days.radios, shoot_days.booms, shoot_days.listeners)
    everything = np.full(len(unit), ALL)

    def need(working: Ints, cell: Ints) -> None:
        for index, number in enumerate((*numbers, everything)):
            np.maximum.at(needs[index], (unit[working], cell), number[working])

    ordinals = np.array([day.toordinal() for day in dates], np.int64)
    at = np.searchsorted(ordinals, shoot_days.day)
    known = np.flatnonzero(np.append(ordinals, -1)[at] == shoot_days.day)
    need(known, at[known])
    places = np.arange(len(cells))
    for columns, starts, ends in sheets(cells):
        first = np.searchsorted(ends, shoot_days.call, "right")
        after = np.searchsorted(starts, shoot_days.wrap)
        while len(working := np.flatnonzero(first < after)):
            need(working, places[columns][first[working]])
            first = first + 1
    return needs


def idle(at: Ints, held: Spans, needs: Ints, classes: Ints, cells: Sequence[Window]) -> Ints:
    """What is idle of each kit type in each cell: an array like `at`, the instant looked at.

    Of what a unit holds at that instant (`held`, with the unit's index in `what`) all but what it
    needs in the cell; `classes` are the kit types'. Each kit type is taken by itself: a unit with
    packs of two ranges and as many radios in use as it has of either has none idle of either.
    """
    found = np.zeros(at.shape, np.int64)
    for columns, starts, ends in sheets(cells):
        some = needs[:, :, columns]
        found[:, columns] = _idle(at[:, columns], held, some, classes, starts, ends)
    return found


def _idle(at: Ints, held: Spans, needs: Ints, classes: Ints, starts: Ints, ends: Ints) -> Ints:
    units = needs.shape[1]
    first, after = _reach(at, held, starts, ends)
    kept = first < after
    key = held.row[kept] * units + held.what[kept]
    order = np.argsort(key)
    key, quantity = key[order], held.quantity[kept][order]
    first, after = first[kept][order], after[kept][order]
    begins = np.diff(key, prepend=-1) > 0
    pairs, pair = key[begins], np.cumsum(begins) - 1
    found = np.zeros(at.shape, np.int64)
    for low in range(0, len(pairs), _PAIRS_AT_ONCE):
        some = pairs[low : low + _PAIRS_AT_ONCE]
        part = slice(*np.searchsorted(pair, (low, low + len(some))))
        cell = (pair[part] - low) * (len(starts) + 1)
        change = _sums(cell + first[part], quantity[part], len(some) * (len(starts) + 1))
        change -= _sums(cell + after[part], quantity[part], len(change))
        level = change.reshape(len(some), -1)
        row, unit = np.divmod(some, units)
        unused = np.cumsum(level, axis=1)[:, :-1] - needs[classes[row], unit]
        new = np.flatnonzero(np.append(True, row[1:] != row[:-1]))
        found[row[new]] += np.add.reduceat(np.maximum(unused, 0), new, axis=0)
    return found


def _sums(index: Ints, quantity: Ints, length: int) -> Ints:
    """The sum of the quantities at each index: exact, since floats are up to 2 ** 53."""
    return np.bincount(index, quantity, length).astype(np.int64)


def _reach(at: Ints, held: Spans, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """The cells [first, after) at whose instants each hold is there.

    A cell's instant lies within it, so a hold that covers the cell is there: only the cells in
    which it begins and ends have to be looked at.
    """
    first = np.searchsorted(ends, held.start, "right")
    after = np.searchsorted(starts, held.end)
    kept = np.flatnonzero(first < after)
    row, begin, last = held.row[kept], first[kept], after[kept] - 1
    first[kept] += at[row, begin] < held.start[kept]
    after[kept] -= at[row, last] >= held.end[kept]
    return first, after
