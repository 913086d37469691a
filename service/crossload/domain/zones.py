"""Local days and wall times of a zone, from the tzdata package and never the machine's own copy."""

import difflib
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from importlib import resources
from typing import Literal
from zoneinfo import ZoneInfo

from crossload.domain.instants import shown
from crossload.domain.window import EARLIEST, FOREVER, Instant, Window

Edge = Literal["start", "end"]
"""Which end of a window a wall time stands for: it decides when the time comes twice."""

_DAY = timedelta(days=1)


@lru_cache(maxsize=1)
def zone_names() -> tuple[str, ...]:
    """All names that `load_zone` takes, sorted."""
    return tuple(sorted((resources.files("tzdata") / "zones").read_text("ascii").split()))


@lru_cache(maxsize=1024)
def load_zone(name: str) -> ZoneInfo:
    """The zone of an IANA name; ValueError names close ones. One name always gives one object."""
    if name not in zone_names():
        raise ValueError(f"{shown(name)} is not a time zone: {_close_names(name)}")
    file = resources.files("tzdata").joinpath("zoneinfo", *name.split("/"))
    with file.open("rb") as stream:
        return ZoneInfo.from_file(stream, key=name)


@lru_cache(maxsize=16_384)
def day_start(day: date, zone: ZoneInfo) -> Instant:
    """The first instant whose local date is `day`, or a later one where the zone leaves it out."""
    first, second = _both(datetime.combine(day, time(), zone))
    if first <= second:
        return first
    return _first(lambda instant: _wall(instant, zone).date() >= day, second, first)


def day_window(day: date, zone: ZoneInfo) -> Window:
    """From the first instant of a local date to the first of the next; mostly 23, 24 or 25 hours.

    ValueError where the zone leaves the date out (Pacific/Apia had no 2011-12-30).
    """
    start, end = day_start(day, zone), day_start(day + _DAY, zone)
    if start == end:
        raise ValueError(f"{day} does not exist in {zone.key}: give the day before or after")
    return Window(start, end)


def local_day(instant: Instant, zone: ZoneInfo) -> date:
    """The day whose `day_window` holds the instant."""
    local = datetime.fromtimestamp(instant, zone)
    day = local.date()
    # Clocks set back over midnight bring the old date back after the new one has begun.
    if local.fold and day_start(day + _DAY, zone) <= instant:
        return day + _DAY
    return day


def days_between(first: date, last: date, zone: ZoneInfo) -> list[date]:
    """The local days from `first` to `last`, both included; empty where `last` is before it."""
    days = (first + _DAY * ahead for ahead in range((last - first).days + 1))
    return [day for day in days if day_start(day, zone) < day_start(day + _DAY, zone)]


def wall_to_instant(day: date, at: time, zone: ZoneInfo, *, edge: Edge) -> Instant:
    """The instant of a wall time; ValueError names the gap where it does not exist.

    A time that comes twice widens the window: the earlier one for a start, the later for an end.
    """
    first, second = _both(datetime.combine(day, at, zone))
    if first > second:
        raise ValueError(_gap_sentence(day, at, zone, first, second))
    instant = first if edge == "start" else second
    if not EARLIEST <= instant <= FOREVER:
        raise ValueError(f"{day} {_clock(at)} cannot be kept: it lies outside 2000 to 2100 (UTC)")
    return instant


def settled_wall(day: date, at: time, zone: ZoneInfo, *, edge: Edge) -> Instant:
    """As `wall_to_instant`, for times that nobody typed for that day: a gap gives its end."""
    first, second = _both(datetime.combine(day, at, zone))
    if first > second:
        return _gap_end(zone, first, second)
    return first if edge == "start" else second


def _wall(instant: Instant, zone: ZoneInfo) -> datetime:
    return datetime.fromtimestamp(instant, zone).replace(tzinfo=None)


def _both(local: datetime) -> tuple[Instant, Instant]:
    """Fold 0 and fold 1 (PEP 495): equal mostly, rising in a fold, falling in a gap."""
    return int(local.timestamp()), int(local.replace(fold=1).timestamp())


def _first(holds: Callable[[Instant], bool], before: Instant, after: Instant) -> Instant:
    """The first instant at which `holds` is true: not yet `before`, and by then `after`."""
    while after - before > 1:
        middle = (before + after) // 2
        before, after = (before, middle) if holds(middle) else (middle, after)
    return after


def offset_s(instant: Instant, zone: ZoneInfo) -> int:
    """Seconds by which the wall clock is ahead of UTC, below zero where it is behind."""
    offset = datetime.fromtimestamp(instant, zone).utcoffset()
    assert offset is not None
    return int(offset.total_seconds())


def offset_change(before: Instant, after: Instant, zone: ZoneInfo) -> Instant:
    """The first instant at which the offset is no longer that of `before`; by `after` it is not."""
    offset = offset_s(before, zone)
    return _first(lambda instant: offset_s(instant, zone) != offset, before, after)


def _gap_end(zone: ZoneInfo, first: Instant, second: Instant) -> Instant:
    """The transition between the two instants that PEP 495 gives for a wall time in a gap."""
    return offset_change(second, first, zone)


def _gap_sentence(day: date, at: time, zone: ZoneInfo, first: Instant, second: Instant) -> str:
    end = _gap_end(zone, first, second)
    opens = _wall(end - 1, zone) + timedelta(seconds=1)
    closes = _wall(end, zone)
    from_text, to_text = (
        _clock(wall.time()) if wall.date() == day else f"{wall.date()} {_clock(wall.time())}"
        for wall in (opens, closes)
    )
    return (
        f"{_clock(at)} does not exist on {day} in {zone.key}: the clocks go from {from_text} "
        f"to {to_text}; give a time before or after"
    )


def _clock(at: time) -> str:
    return at.strftime("%H:%M:%S" if at.second else "%H:%M")


def _close_names(name: str) -> str:
    """Names like this one; one that lacks its continent is found by its place."""
    wanted = name[:64].strip().replace(" ", "_").casefold()
    by_folded = {known.casefold(): known for known in zone_names()}
    places = [known for folded, known in by_folded.items() if folded.endswith("/" + wanted)]
    alike = [by_folded[folded] for folded in difflib.get_close_matches(wanted, by_folded, n=3)]
    found = list(dict.fromkeys([*places, *alike]))[:3]
    return f"did you mean {' or '.join(found)}?" if found else "give a name such as Europe/London"
