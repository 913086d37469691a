"""What of an ask would fit, and when all of it would."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from crossload.domain.capacity import Profile, least_free
from crossload.domain.claims import Claim, Stock
from crossload.domain.judge.asks import check_asks, weigh
from crossload.domain.judge.standing import most
from crossload.domain.naming import Stopwatch
from crossload.domain.window import Instant, Window


def largest(stock: Stock, claims: Sequence[Claim], ask: Claim, *, limit_s: float = 2.0) -> int:
    """The largest part of the ask's quantity that fits, 0 when none does.

    A named ask is one whole: all of it or 0. What the limit leaves undecided does not fit.
    """
    check_asks([ask])
    stopwatch = Stopwatch(limit_s)
    if ask.items:
        return ask.quantity if weigh(stock, claims, [ask], stopwatch).fits else 0
    return most(
        min(ask.quantity, least_free(stock, claims, ask.window)),
        lambda n: weigh(stock, claims, [replace(ask, quantity=n)], stopwatch).fits,
    )


def first_fit(
    stock: Stock,
    claims: Sequence[Claim],
    ask: Claim,
    *,
    not_before: Instant,
    not_after: Instant,
    later: bool,
    limit_s: float = 2.0,
) -> Window | None:
    """The window, as long as the ask's, to which the least shift later (or earlier) lets it fit.

    It lies within [not_before, not_after), and is the ask's own if that fits there. None when
    there is no such window. Exact to the second: moving one way, an ask can begin to fit only
    where it parts from some claim. A window that the limit leaves undecided is passed over.
    """
    check_asks([ask])
    stopwatch = Stopwatch(limit_s)
    profile = Profile(stock, claims)
    length_s = ask.window.length_s
    starts = _later_starts if later else _earlier_starts
    for start in starts(claims, ask.window, not_before, not_after - length_s):
        window = Window(start, start + length_s)
        moved = replace(ask, window=window)
        if profile.least(window) >= ask.quantity and weigh(stock, claims, [moved], stopwatch).fits:
            return window
    return None


def _later_starts(
    claims: Iterable[Claim], window: Window, first: Instant, last: Instant
) -> Iterator[Instant]:
    least = max(window.start, first)
    starts = {claim.window.end for claim in claims if claim.window.end > least}
    return (start for start in sorted({least, *starts}) if start <= last)


def _earlier_starts(
    claims: Iterable[Claim], window: Window, first: Instant, last: Instant
) -> Iterator[Instant]:
    most_late = min(window.start, last)
    starts = {claim.window.start - window.length_s for claim in claims}
    kept = {start for start in starts if start < most_late}
    return (start for start in sorted({most_late, *kept}, reverse=True) if start >= first)
