"""Naming: which pieces could serve each of many windows, the same ones throughout."""

from collections.abc import Mapping, Sequence

from crossload.domain.naming.best_fit import Given, best_fit, is_whole
from crossload.domain.naming.gaps import Lot, gaps_between
from crossload.domain.naming.repair import complete
from crossload.domain.naming.stopwatch import Stopwatch, Undecided
from crossload.domain.window import Id, Window

__all__ = ["Given", "Lot", "Stopwatch", "Undecided", "name"]


def name(
    pieces: Sequence[Id],
    fixed: Mapping[Id, Sequence[Window]],
    lots: Sequence[Lot],
    stopwatch: Stopwatch,
) -> Given | None:
    """The pieces for each lot, in order, or None when no naming exists; Undecided at the limit.

    `fixed` holds the windows in which a piece is taken already, in order and not overlapping.
    Extending fixed names to all is hard in general (precolouring of interval graphs, NP-complete:
    Biró, Hujter & Tuza 1992, from memory), so the quick way is tried first.
    """
    if not lots:
        return []
    span = Window(min(lot.window.start for lot in lots), max(lot.window.end for lot in lots))
    gaps = gaps_between(pieces, fixed, span)
    given = best_fit(gaps, lots)
    return given if is_whole(lots, given) else complete(pieces, fixed, lots, given, stopwatch)
