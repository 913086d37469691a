"""Which claims can still be served once facts have taken what they take."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from crossload.domain.capacity import ALWAYS, held, least_free, peak
from crossload.domain.claims import Claim, Risk, Stock, Why
from crossload.domain.judge.groups import Group, groups_of, joined
from crossload.domain.naming import Stopwatch, Undecided, name
from crossload.domain.window import Id, Window, merged


def at_risk(stock: Stock, claims: Sequence[Claim], *, limit_s: float = 2.0) -> tuple[Risk, ...]:
    """The claims that cannot be served as they stand, and by how many, in the claims' order.

    Claims are served in order of rank (then as they come), each with as many of its pieces as can
    be had beside all those before it; what it lacks is at risk. So the later granted falls first,
    nothing falls that could be served, and facts (rank 0) never do: they come first.
    A claim for which the search met its limit is given as at risk, its `why` undecided.
    """
    stopwatch = Stopwatch(limit_s)
    if _is_servable(stock, claims, stopwatch):
        return ()
    claims = [replace(claim) for claim in claims]  # told from one another by identity
    places = {id(claim): index for index, claim in enumerate(claims)}
    risks: list[Risk] = []
    for members in joined(claims):
        members.sort(key=lambda claim: places[id(claim)])
        for part in serve(stock, members, stopwatch, guess=True):
            if part.why and part.claim.rank > 0:
                risks.append(Risk(places[id(part.claim)], part.lacks, part.why))
    return tuple(sorted(risks, key=lambda risk: risk.index))


@dataclass(frozen=True, slots=True)
class Part:
    """As much of a claim as can be served; `why` it is not the whole, if it is not."""

    claim: Claim
    served: Claim | None
    why: Why | None = None

    @property
    def lacks(self) -> int:
        """How many pieces short of its quantity."""
        return self.claim.quantity - (self.served.quantity if self.served else 0)


def serve(
    stock: Stock, claims: Sequence[Claim], stopwatch: Stopwatch, *, guess: bool = False
) -> list[Part]:
    """Serve claims in order of rank, each as far as it can be beside all those before it.

    At the limit Undecided is raised, or with `guess` what was not shown to be servable falls.
    """
    return _Serving(stock, stopwatch, guess).parts(claims)


class _Serving:
    """Claims served so far, and whether a search met its limit since the last one that fell."""

    def __init__(self, stock: Stock, stopwatch: Stopwatch, guess: bool) -> None:
        self._stock, self._stopwatch, self._guess = stock, stopwatch, guess
        self._served: list[Claim] = []
        self._undecided = False

    def parts(self, claims: Sequence[Claim]) -> list[Part]:
        found: list[Part] = []
        rest = sorted(claims, key=_turn)
        while rest:
            whole = self._how_many(rest)
            self._served += rest[:whole]
            found += [Part(claim, claim) for claim in rest[:whole]]
            if whole < len(rest):
                found.append(self._fallen(rest[whole]))
            rest = rest[whole + 1 :]
        return found

    def _how_many(self, rest: Sequence[Claim]) -> int:
        return most(len(rest), lambda n: self._fits(rest[:n]))

    def _fits(self, more: Sequence[Claim]) -> bool:
        try:
            return can_serve(self._stock, [*self._served, *more], self._stopwatch)
        except Undecided:
            if not self._guess:
                raise
            self._undecided = True
            return False

    def _fallen(self, claim: Claim) -> Part:
        by_count = min(claim.quantity, least_free(self._stock, self._served, claim.window))
        served = self._some_named(claim) if claim.items else self._some(claim)
        why = Why.NAMES if (served.quantity if served else 0) < by_count else Why.NUMBERS
        if self._undecided:
            why, self._undecided = Why.UNDECIDED, False
        if served:
            self._served.append(served)
        return Part(claim, served, why)

    def _some(self, claim: Claim) -> Claim | None:
        quantity = most(
            claim.quantity - 1, lambda n: self._fits([replace(claim, quantity=n)] if n else [])
        )
        return replace(claim, quantity=quantity) if quantity else None

    def _some_named(self, claim: Claim) -> Claim | None:
        """A named claim keeps those of its pieces that can be had, first named first."""
        kept: Claim | None = None
        for item in claim.items:
            items = (*kept.items, item) if kept else (item,)
            more = replace(claim, quantity=len(items), items=items)
            if self._fits([more]):
                kept = more
        return kept


def can_serve(stock: Stock, claims: Sequence[Claim], stopwatch: Stopwatch) -> bool:
    """Whether every claim can have the same pieces throughout, named ones as named."""
    if peak(held(stock, claims, ALWAYS)) > stock.capacity:
        return False
    if not stock.items:
        return True
    return _names_agree(stock, claims) and all(
        group.count_decides or name_group(stock, group, stopwatch) is not None
        for group in groups_of(claims)
    )


def name_group(
    stock: Stock, group: Group, stopwatch: Stopwatch
) -> list[tuple[Claim, tuple[Id, ...]]] | None:
    """The pieces for each member of the group, or None when there is no naming."""
    given = name(stock.items, group.taken, group.lots, stopwatch)
    return None if given is None else list(zip(group.members, given, strict=True))


def _turn(claim: Claim) -> tuple[int, bool]:
    """Facts first, and of them those that name pieces, so that none of these is ever in doubt."""
    return claim.rank, claim.rank == 0 and not claim.items


def most(limit: int, holds: Callable[[int], bool]) -> int:
    """The largest n up to the limit for which it holds; it holds for 0 and for all below that n."""
    if limit <= 0 or holds(limit):
        return max(limit, 0)
    low, high = 0, limit
    while high - low > 1:
        middle = (low + high) // 2
        if holds(middle):
            low = middle
        else:
            high = middle
    return low


def _is_servable(stock: Stock, claims: Sequence[Claim], stopwatch: Stopwatch) -> bool:
    try:
        return can_serve(stock, claims, stopwatch)
    except Undecided:
        return False


def _names_agree(stock: Stock, claims: Iterable[Claim]) -> bool:
    """Whether no two windows of one piece overlap, unless both are facts, and all pieces exist."""
    known = set(stock.items)
    facts: dict[Id, list[Window]] = defaultdict(list)
    windows: dict[Id, list[Window]] = defaultdict(list)
    for claim in claims:
        for item in claim.items:
            if claim.rank == 0:
                facts[item].append(claim.window)
            elif item not in known:
                return False
            else:
                windows[item].append(claim.window)
    return all(
        are_apart([*merged(facts[item]), *held_windows]) for item, held_windows in windows.items()
    )


def are_apart(windows: Iterable[Window]) -> bool:
    """Whether no two of the windows overlap."""
    until = ALWAYS.start
    for window in sorted(windows):
        if window.start < until:
            return False
        until = window.end
    return True
