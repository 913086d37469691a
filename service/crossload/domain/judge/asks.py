"""The judge: whether asks made together can be had beside what stands."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import chain

from crossload.domain.capacity import count
from crossload.domain.claims import Claim, Stock, Verdict, Why
from crossload.domain.judge.groups import Group, claims_around, groups_of, groups_touched
from crossload.domain.judge.standing import are_apart, name_group, serve
from crossload.domain.judge.strands import Strands
from crossload.domain.naming import Stopwatch, Undecided
from crossload.domain.window import Id, Window

Named = list[tuple[Claim, tuple[Id, ...]]]
"""Claims and asks with the pieces that would serve each."""


def judge(
    stock: Stock,
    claims: Sequence[Claim],
    asks: Sequence[Claim],
    *,
    limit_s: float = 2.0,
    named: bool = False,
) -> Verdict:
    """Whether the asks can all be had, together, beside the claims; windows are what is occupied.

    First the count, beside all claims: at each instant that the asks occupy, what they want is at
    most what is free, or the answer is no, by numbers. Then, for stock that is known by piece, the
    names: each claim and ask has the same pieces throughout, named ones as named, or the answer is
    no, by names. Where the count is not enough and the search passes `limit_s`, it is undecided.

    Facts may have made the claims unservable before anybody asks. An ask is not refused for that
    where it takes nothing from them: it is named beside what can still be served (see `at_risk`),
    but counted beside all, and where it names a piece itself no claim may name that meanwhile. So
    a yes leaves every claim as well served as it was. With claims that can be served, taking one
    away never turns a yes into a no; where facts have broken them it can, for another claim may
    then stand.

    A yes that rests on names carries them; `keeps` proves it. With `named` every yes on stock that
    is known by piece does, also where the count would decide: for what is told by name, such as
    frequencies. ValueError for an ask without quantity, or with names that do not match its
    quantity.
    """
    check_asks(asks)
    return weigh(stock, claims, asks, Stopwatch(limit_s), named=named)


def weigh(
    stock: Stock,
    claims: Sequence[Claim],
    asks: Sequence[Claim],
    stopwatch: Stopwatch,
    *,
    named: bool = False,
) -> Verdict:
    """Judge within what is left of a limit."""
    tally = count(stock, claims, asks)
    if tally.short:
        return Verdict(False, tally.free, Why.NUMBERS, tally.short)
    strands = Strands(claims, asks)
    claims, asks = strands.claims, strands.asks
    if clash(stock, claims, asks):
        return Verdict(False, tally.free, Why.NAMES)
    groups = groups_to_name(stock, claims, asks)
    if named and stock.items:
        groups = groups_touched(claims, asks)
    elif not groups:
        return Verdict(True, tally.free)
    try:
        found = _name(stock, groups, stopwatch)
        if found is None:
            found = _name_beside_served(stock, claims, asks, stopwatch)
    except Undecided:
        return Verdict(False, tally.free, Why.UNDECIDED)
    if found is None:
        return Verdict(False, tally.free, Why.NAMES)
    witness, beside = _witness(found, strands.own), tuple(strands.apart(found))
    return Verdict(True, tally.free, witness=witness, beside=beside)


def check_asks(asks: Sequence[Claim]) -> None:
    """ValueError unless something is asked, each ask for one piece or more."""
    if not asks:
        raise ValueError("give one ask or more")
    for ask in asks:
        if ask.quantity < 1:
            raise ValueError("an ask is for one piece or more")
        if ask.items and len(set(ask.items)) != ask.quantity:
            raise ValueError("an ask that names pieces names each once, as many as its quantity")


def clash(stock: Stock, claims: Iterable[Claim], asks: Sequence[Claim]) -> bool:
    """Whether an ask names a piece that something else names meanwhile, or that does not exist."""
    asked: dict[Id, list[Window]] = defaultdict(list)
    for ask in asks:
        for item in ask.items:
            asked[item].append(ask.window)
    if not asked or not stock.items:
        return False
    if not asked.keys() <= set(stock.items) or not all(map(are_apart, asked.values())):
        return True
    return any(
        window.overlaps(claim.window)
        for claim in claims
        for item in claim.items
        for window in asked.get(item, ())
    )


def groups_to_name(stock: Stock, claims: Sequence[Claim], asks: Sequence[Claim]) -> list[Group]:
    """The groups that the asks touch, if counting does not decide them all; else none."""
    if not stock.items or not any(claim.items for claim in chain(claims, asks)):
        return []
    groups = groups_touched(claims, asks)
    return [] if all(group.count_decides for group in groups) else groups


def _name(stock: Stock, groups: Iterable[Group], stopwatch: Stopwatch) -> Named | None:
    named: Named = []
    for group in groups:
        found = name_group(stock, group, stopwatch)
        if found is None:
            return None
        named += found
    return named


def _name_beside_served(
    stock: Stock, claims: Sequence[Claim], asks: Sequence[Claim], stopwatch: Stopwatch
) -> Named | None:
    """Name the asks beside what can be served of the claims, if that is not all of them."""
    parts = serve(stock, claims_around(claims, asks), stopwatch)
    if not any(part.why for part in parts):
        return None
    served = [part.served for part in parts if part.served]
    named = _name(stock, groups_of(served, asks), stopwatch)
    if named is None:
        return None
    whole = {id(part.served): part.claim for part in parts if part.served}
    fallen = [(part.claim, ()) for part in parts if not part.served]
    fixed = [(claim, claim.items) for claim in served if claim.items]
    return [(whole.get(id(claim), claim), pieces) for claim, pieces in chain(named, fixed, fallen)]


def _witness(named: Named, asks: Sequence[Claim]) -> tuple[tuple[Id, ...], ...]:
    """The pieces for each ask, in order."""
    pieces_of = {id(claim): pieces for claim, pieces in named}
    return tuple(ask.items or pieces_of[id(ask)] for ask in asks)
