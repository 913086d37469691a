"""Which claims bear on one another's names, and where counting them is enough."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from crossload.domain.claims import Claim
from crossload.domain.naming import Lot
from crossload.domain.window import Id, Instant, Window, merged


@dataclass(frozen=True, slots=True)
class Group:
    """Unnamed claims that overlap, directly or through others, and what is fixed meanwhile.

    No two groups ever want one piece at one instant, so each is named by itself. Fixed windows do
    not join groups: they only take pieces away.
    """

    members: tuple[Claim, ...]
    fixed: dict[Id, list[Window]]
    span: Window

    @property
    def taken(self) -> dict[Id, list[Window]]:
        """When each named piece is taken, in windows that do not overlap."""
        return {item: merged(windows) for item, windows in self.fixed.items()}

    @property
    def lots(self) -> list[Lot]:
        """What the members want, in their order."""
        return [Lot(claim.window, claim.quantity) for claim in self.members]

    @property
    def count_decides(self) -> bool:
        """Whether enough pieces at each instant are enough.

        They are when every fixed window begins no later than the first member: in order of start
        each member then finds pieces that nothing fixed will take from it. In the same way,
        backwards, when every fixed window ends no earlier than the last member. Each window is
        looked at alone, not merged with its neighbours: the rule then holds for any part of the
        claims too, so that the yes stands where facts have made some of them fall.
        """
        fixed = [window for windows in self.fixed.values() for window in windows]
        return all(window.start <= self.span.start for window in fixed) or all(
            window.end >= self.span.end for window in fixed
        )


def groups_of(claims: Iterable[Claim], asks: Iterable[Claim] = ()) -> list[Group]:
    """All groups of the claims and asks."""
    named, unnamed = _parted([*claims, *asks])
    return [_group(members, named) for members in joined(unnamed)]


def groups_touched(claims: Sequence[Claim], asks: Sequence[Claim]) -> list[Group]:
    """The groups that hold an ask, or run while a named ask does."""
    named, unnamed = _parted([*claims, *asks])
    ours = {id(ask) for ask in asks}
    return [
        _group(members, named)
        for members in joined(unnamed)
        if any(id(claim) in ours for claim in members)
        or any(ask.items and ask.window.overlaps(span_of(members)) for ask in asks)
    ]


def claims_around(claims: Sequence[Claim], asks: Sequence[Claim]) -> list[Claim]:
    """The claims, named or not, that overlap the asks, directly or through others; in their order.

    An ask is known by identity: it must be none of the claims.
    """
    ours = {id(ask) for ask in asks}
    found: set[int] = set()
    for members in joined([*claims, *asks]):
        if any(id(claim) in ours for claim in members):
            found.update(id(claim) for claim in members)
    return [claim for claim in claims if id(claim) in found]


def joined(claims: Iterable[Claim]) -> list[list[Claim]]:
    """Claims parted into sets that overlap within, directly or through others, and not between."""
    parts: list[list[Claim]] = []
    until: Instant | None = None
    for claim in sorted(claims, key=_start):
        if until is None or claim.window.start >= until:
            parts.append([])
            until = claim.window.end
        parts[-1].append(claim)
        until = max(until, claim.window.end)
    return parts


def span_of(members: Sequence[Claim]) -> Window:
    """The window that joined claims fill, without a hole; they come in order of start."""
    return Window(members[0].window.start, max(claim.window.end for claim in members))


def fixed_within(named: Iterable[Claim], span: Window) -> dict[Id, list[Window]]:
    """The windows in which pieces are named, those that overlap the span."""
    found: dict[Id, list[Window]] = defaultdict(list)
    for claim in named:
        if claim.window.overlaps(span):
            for item in claim.items:
                found[item].append(claim.window)
    return found


def _group(members: Sequence[Claim], named: Iterable[Claim]) -> Group:
    span = span_of(members)
    return Group(tuple(members), fixed_within(named, span), span)


def _parted(claims: Iterable[Claim]) -> tuple[list[Claim], list[Claim]]:
    named: list[Claim] = []
    unnamed: list[Claim] = []
    for claim in claims:
        (named if claim.items else unnamed).append(claim)
    return named, unnamed


def _start(claim: Claim) -> Instant:
    return claim.window.start
