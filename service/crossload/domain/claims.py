"""What the judges speak of: stock, claims on it, and the verdict."""

from collections.abc import Hashable
from dataclasses import dataclass, field
from enum import StrEnum

from crossload.domain.window import Id, Window


@dataclass(frozen=True, slots=True)
class Stock:
    """What there is of one kit type: its pieces, or only how many of them.

    `items` is empty for kit that is known by count; otherwise `capacity == len(items)`.
    """

    capacity: int
    items: tuple[Id, ...] = ()


@dataclass(frozen=True, slots=True)
class Claim:
    """A hold on so many pieces through `window`, prep and check-in included.

    `items` names pieces (then `quantity == len(items)`); without it any pieces will do, but the
    same ones throughout. An out-of-service window is a claim too. `about` is whose it is: the
    judges hand it back and never look inside. `rank` is the order of granting: where claims can
    not all be kept, the later-granted fall short first; a claim of rank 0 is a fact and never does.
    Claims with one `strand`, end to end, are served by the same pieces (see `domain.straight`).
    """

    window: Window
    quantity: int
    items: tuple[Id, ...] = ()
    about: Hashable = field(default=None, compare=False)
    rank: int = 0
    strand: Hashable = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A maximal span with one and the same shortage; `by` is how many pieces are lacking."""

    window: Window
    by: int


class Why(StrEnum):
    NUMBERS = "numbers"
    """At some instant there are too few."""
    NAMES = "names"
    """Each instant has enough, but no pieces are free throughout."""
    UNDECIDED = "undecided"
    """The search for names met its limit: no yes is given that might not be kept."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """A judge's answer to asks made together.

    `free` is the least, over all that the asks occupy, of what is left without them; it can be
    below zero. `witness` shows that a yes can be kept: for each ask, in order, the pieces that
    would serve it; None where the count alone decides. `beside` belongs to the witness: the
    pieces that would serve each claim whose names the yes rests on, fewer than its quantity where
    facts have already made it fall.
    """

    fits: bool
    free: int
    why: Why | None = None
    short: tuple[Stretch, ...] = ()
    witness: tuple[tuple[Id, ...], ...] | None = None
    beside: tuple[tuple[Claim, tuple[Id, ...]], ...] = ()


@dataclass(frozen=True, slots=True)
class Risk:
    """A claim that facts have made unservable: `claims[index]` lacks `by` of its pieces.

    `why` is numbers where an instant has too few, names where pieces are lacking that are free
    throughout, undecided where the search met its limit and could not show that it is served.
    """

    index: int
    by: int
    why: Why
