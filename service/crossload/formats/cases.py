"""The judge on a file: a JSON case in, an answer for each of its asks out.

    {"capacity": 8, "prep_s": 1800, "check_in_s": 3600,
     "out_of_service": [{"start": …, "end": …, "quantity": 1}],
     "claims": [{"start": …, "end": …, "quantity": 4}],
     "asks": [{"start": …, "end": …, "quantity": 6}]}

Instants are RFC 3339. Claims and asks occupy [start - prep, end + check_in), what is out of service
its own window. Without `prep_s`, `check_in_s`, `out_of_service` or `claims` there is none of it.
With `"items": ["p1", "p2"]` in place of `capacity` any window may carry `items` in place of
`quantity`, and each that is out of service does. Other members are left be.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from crossload.domain.claims import Claim, Stock, Verdict
from crossload.domain.instants import format_instant, shown
from crossload.domain.judge import judge
from crossload.domain.window import EARLIEST, FOREVER, Id, Window
from crossload.formats.case_text import BadCase, Members, read_case

__all__ = ["BadCase", "run_judge"]

FACT, GRANTED = 0, 1
"""Ranks: what is out of service is a fact, what is claimed was granted (see `domain.claims`)."""

Names = Mapping[str, Id]


def run_judge(text: str | bytes, *, limit_s: float = 2.0) -> dict[str, Any]:
    """Judge each ask of a case by itself against the case's claims; BadCase names what to mend.

    The answer is ready to be written as JSON. `limit_s` is for each ask's search for names.
    """
    wrong: list[tuple[str, str]] = []
    case = read_case(text, wrong)
    stock, names = _stock(case)
    prep_s, check_in_s = (_allowance(case, name) for name in ("prep_s", "check_in_s"))
    claims = _claims(case, "out_of_service", names, FACT)
    claims += [_with(claim, prep_s, check_in_s) for claim in _claims(case, "claims", names)]
    if "asks" not in case:
        case.fault("asks", "asks is missing: give a list of objects")
    asks = [_with(ask, prep_s, check_in_s) for ask in _claims(case, "asks", names)]
    if wrong:
        raise BadCase(wrong)
    return {"answers": [_answer(judge(stock, claims, [ask], limit_s=limit_s)) for ask in asks]}


def _stock(case: Members) -> tuple[Stock, Names | None]:
    """What there is, and the pieces' names where they have some."""
    if "items" not in case:
        return Stock(case.whole("capacity", 0) or 0), None
    if "capacity" in case:
        case.fault("capacity", "capacity stands beside items: give one of the two")
    names = {name: Id(index) for index, name in enumerate(case.texts("items"))}
    return Stock(len(names), tuple(names.values())), names


def _allowance(case: Members, name: str) -> int:
    """Seconds before or after a window; none where the case gives none."""
    return (case.whole(name, 0, FOREVER - EARLIEST) or 0) if name in case else 0


def _claims(case: Members, name: str, names: Names | None, rank: int = GRANTED) -> list[Claim]:
    """The windows of a list with their quantities or pieces; none where there is no such list."""
    found: list[Claim] = []
    for member in case.objects(name) if name in case else ():
        window = member.window()
        quantity, items = _wanted(member, names, must_name=rank == FACT and names is not None)
        if window and quantity:
            found.append(Claim(window, quantity, items, None, rank))
    return found


def _wanted(member: Members, names: Names | None, *, must_name: bool) -> tuple[int, tuple[Id, ...]]:
    """How many pieces, or which; a quantity of 0 where neither can be read."""
    if "items" not in member:
        if not must_name:
            return member.whole("quantity", 1) or 0, ()
        member.fault("items", "items is missing: where pieces have names, name what is out")
        return 0, ()
    if "quantity" in member:
        member.fault("quantity", "quantity stands beside items: give one of the two")
    if names is None:
        member.fault("items", "the case gives no items: give a quantity here, or items there")
        return 0, ()
    return _pieces(member, names)


def _pieces(member: Members, names: Names) -> tuple[int, tuple[Id, ...]]:
    wanted = member.texts("items", least=1)
    for name in wanted:
        if name not in names:
            member.fault("items", f"{shown(name)} is none of the case's items")
    pieces = tuple(names[name] for name in wanted if name in names)
    return len(pieces), pieces


def _with(claim: Claim, prep_s: int, check_in_s: int) -> Claim:
    window = claim.window
    return replace(claim, window=Window(window.start - prep_s, window.end + check_in_s))


def _answer(verdict: Verdict) -> dict[str, Any]:
    return {
        "fits": verdict.fits,
        "why": None if verdict.why is None else str(verdict.why),
        "free": verdict.free,
        "short": [
            {
                "start": format_instant(stretch.window.start, None),
                "end": format_instant(stretch.window.end, None),
                "by": stretch.by,
            }
            for stretch in verdict.short
        ],
    }
