"""The stretches of each piece that its fixed windows leave free."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from crossload.domain.window import Id, Instant, Window


class Gap(NamedTuple):
    """A stretch in which one piece is in no fixed window."""

    start: Instant
    end: Instant
    piece: Id


class Lot(NamedTuple):
    """So many pieces, any, but the same ones throughout the window."""

    window: Window
    quantity: int


def gaps_between(
    pieces: Iterable[Id], fixed: Mapping[Id, Sequence[Window]], span: Window
) -> list[Gap]:
    """The gaps of all pieces within the span, a piece's in order.

    `fixed` holds a piece's windows in order, not overlapping.
    """
    found: list[Gap] = []
    for piece in pieces:
        since = span.start
        for window in fixed.get(piece, ()):
            if since < min(window.start, span.end):
                found.append(Gap(since, min(window.start, span.end), piece))
            since = max(since, window.end)
        if since < span.end:
            found.append(Gap(since, span.end, piece))
    return found
