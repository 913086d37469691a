"""Claims that go straight from one holder to the next, taken together where pieces are named."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import replace

from crossload.domain.claims import Claim
from crossload.domain.window import Id, Window

Served = tuple[Claim, tuple[Id, ...]]
"""A claim and the pieces that would serve it."""


class Strands:
    """Claims and asks, those of one strand as one claim that runs from the first to the last.

    `claims` and `asks` are what is left to name. The first of the asks are those made, where they
    stood; the others are claims with a piece that an ask names, for to them that is as new.
    """

    def __init__(self, claims: Sequence[Claim], asks: Sequence[Claim]) -> None:
        self.asks = [replace(ask) for ask in asks]  # told apart by identity
        self.claims = list(claims)
        self._parts: dict[int, list[Claim]] = {}
        self._made = len(self.asks)
        found: dict[Hashable, list[Claim]] = defaultdict(list)
        for claim in claims:
            if claim.strand is not None and not claim.items:
                found[claim.strand].append(claim)
        self._tie_asks(found)
        named = {ask.strand for ask in asks if ask.strand is not None and ask.items}
        if named:
            self.asks += [claim for claim in claims if claim.items and claim.strand in named]
            self.claims = [c for c in claims if not (c.items and c.strand in named)]
        for parts in found.values():
            if len(parts) > 1:
                self.claims.append(self._tied(parts))
        gone = {id(part) for parts in self._parts.values() for part in parts}
        if gone:
            self.claims = [claim for claim in self.claims if id(claim) not in gone]

    @property
    def own(self) -> list[Claim]:
        """The asks that were made."""
        return self.asks[: self._made]

    def _tie_asks(self, found: dict[Hashable, list[Claim]]) -> None:
        for index, ask in enumerate(self.asks):
            if ask.strand in found and not ask.items:
                parts = found.pop(ask.strand)
                tied = replace(ask, window=_span([ask, *parts]))
                self._parts[id(tied)] = parts
                self.asks[index] = tied

    def _tied(self, parts: Sequence[Claim]) -> Claim:
        last = max(parts, key=lambda claim: claim.rank)
        tied = replace(last, window=_span(parts))
        self._parts[id(tied)] = list(parts)
        return tied

    def apart(self, served: Iterable[Served]) -> Iterator[Served]:
        """The claims behind those that were named, each with its pieces; asks are left out."""
        ours = {id(ask) for ask in self.asks}
        for claim, pieces in served:
            for part in self._parts.get(id(claim), [] if id(claim) in ours else [claim]):
                yield part, pieces


def _span(claims: Sequence[Claim]) -> Window:
    return Window(min(c.window.start for c in claims), max(c.window.end for c in claims))
