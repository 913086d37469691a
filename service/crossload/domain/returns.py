"""When a piece that is still out can be expected back."""

from collections.abc import Iterable
from datetime import timedelta
from zoneinfo import ZoneInfo

from crossload.domain.window import Instant
from crossload.domain.zones import day_start, local_day


def expected_return(
    due: Instant,
    promised: Instant | None,
    shoot_day_ends: Iterable[Instant],
    now: Instant,
    zone: ZoneInfo,
) -> Instant:
    """When a piece still out is expected back, as seen at `now`.

    Until it is due: when it is due, or as promised where that is later. Then a promise still
    ahead, else the end of the holder unit's next shoot day, else the next local midnight but one,
    which rolls on: a late piece neither vanishes from sight nor blocks next month.
    """
    if now < due:
        return due if promised is None else max(due, promised)
    if promised is not None and promised > now:
        return promised
    coming = (end for end in shoot_day_ends if end > now)
    return min(coming, default=day_start(local_day(now, zone) + timedelta(days=2), zone))


def expectation_changes_at(
    due: Instant,
    promised: Instant | None,
    shoot_day_ends: Iterable[Instant],
    now: Instant,
    zone: ZoneInfo,
) -> Instant:
    """The first instant after `now` at which, with nothing recorded, the expectation is another.

    The instant at which a piece falls overdue counts as a change. Until then a page may be kept.
    """
    if now < due:
        return due
    rolls_at = day_start(local_day(now, zone) + timedelta(days=1), zone)
    ends = list(shoot_day_ends)
    expected = expected_return(due, promised, ends, now, zone)
    by_word = promised is not None and promised > now
    return expected if by_word or expected in ends else rolls_at
