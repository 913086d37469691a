"""Opening hours of a house: a weekly table, dated exceptions, and time counted while it is open.

As plain JSON: {"week": {"mon": [["09:00", "13:00"], ["14:00", "18:00"]]},
"exceptions": {"2026-12-25": [], "2026-12-24": [["09:00", "13:00"]]}}. A closing time that is before
its opening is on the next day; "24:00" ends the day. An exception replaces its date. A week
without any hours means open at all hours.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, time, timedelta
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import TypeVar, cast
from zoneinfo import ZoneInfo

from crossload.domain.instants import parse_day, parse_wall_time, shown
from crossload.domain.window import FOREVER, Instant, Window, clipped
from crossload.domain.zones import local_day, settled_wall

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_MIDNIGHT = time()
_DAY = timedelta(days=1)
_BLOCK_S = 32 * 86_400

T = TypeVar("T")


class BadHours(ValueError):
    """Hours that cannot be read; `pointer` is the place within them (RFC 6901)."""

    def __init__(self, pointer: str, sentence: str) -> None:
        place = shown(" ".join(("hours", *pointer.split("/")[1:])))
        super().__init__(f"{place}: {sentence}")
        self.pointer = pointer
        self.sentence = sentence


@dataclass(frozen=True, slots=True, order=True)
class Opening:
    """One stretch of a day, as wall times; `closes` at or before `opens` is on the next day."""

    opens: time
    closes: time


Openings = tuple[Opening, ...]
_ALL_DAY: Openings = (Opening(_MIDNIGHT, _MIDNIGHT),)
_ALL_WEEK = (_ALL_DAY,) * 7


@dataclass(frozen=True, slots=True)
class Hours:
    """When a house is open; `week` holds seven days from Monday."""

    zone: ZoneInfo
    week: tuple[Openings, ...] = _ALL_WEEK
    exceptions: tuple[tuple[date, Openings], ...] = ()
    _by_date: dict[date, Openings] = field(init=False, repr=False, compare=False)
    _hash: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if len(self.week) != 7:
            raise ValueError("a week has seven days")
        if not any(self.week):
            object.__setattr__(self, "week", _ALL_WEEK)
        object.__setattr__(self, "_by_date", dict(self.exceptions))
        object.__setattr__(self, "_hash", hash((self.zone, self.week, self.exceptions)))

    def __hash__(self) -> int:
        return self._hash

    @property
    def always(self) -> bool:
        """True for a house that never closes."""
        return self.week == _ALL_WEEK and not self.exceptions

    def on(self, day: date) -> Openings:
        """The stretches that begin on a local day."""
        return self._by_date.get(day, self.week[day.weekday()])

    def is_open(self, instant: Instant) -> bool:
        """Whether the house is open at this instant; at its closing time it is not."""
        return self.closes_at(instant) is not None

    def open_spans(self, window: Window) -> list[Window]:
        """What of a window the house is open, in order, joined where two stretches touch."""
        if self.always:
            return [window]
        found: list[tuple[Instant, Instant]] = []
        for block in range(window.start // _BLOCK_S, (window.end - 1) // _BLOCK_S + 1):
            timeline = _timeline(self, block)
            first = bisect_right(timeline.ends, window.start)
            last = bisect_left(timeline.starts, window.end)
            found += zip(timeline.starts[first:last], timeline.ends[first:last], strict=True)
        return clipped(found, window)

    def add_open_time(self, instant: Instant, seconds: int) -> Instant:
        """The instant by which the house has been open for so many seconds since `instant`.

        0 seconds give `instant` unchanged, open or not.
        """
        if seconds < 0:
            raise ValueError("time counted in opening hours is not negative")
        if seconds == 0 or instant >= FOREVER or self.always:
            return instant + seconds
        block = instant // _BLOCK_S
        timeline = _timeline(self, block)
        wanted = seconds + timeline.open_before(instant)
        while wanted > timeline.total:
            wanted -= timeline.total
            block += 1
            if block * _BLOCK_S >= FOREVER:
                return block * _BLOCK_S + wanted
            timeline = _timeline(self, block)
        reached = bisect_left(timeline.sums, wanted)
        return timeline.ends[reached] - (timeline.sums[reached] - wanted)

    def closes_at(self, instant: Instant) -> Instant | None:
        """When the house next closes; None while it is closed, FOREVER where it never does."""
        if self.always:
            return FOREVER
        start, end = self._span_from(instant)
        if start > instant:
            return None
        while (following := self._span_from(end))[0] == end:
            end = following[1]
            if end >= FOREVER or (self.week == _ALL_WEEK and self._past_exceptions(end)):
                return FOREVER
        return end

    def last_open_before(self, instant: Instant) -> Instant:
        """By when something can be done in the house so that it is done before `instant`.

        That is `instant` itself where the house is open up to it, else the last closing time.
        """
        if self.always:
            return instant
        block = (instant - 1) // _BLOCK_S
        while not (timeline := _timeline(self, block)).starts or timeline.starts[0] >= instant:
            block -= 1
        return min(timeline.ends[bisect_left(timeline.starts, instant) - 1], instant)

    def _span_from(self, instant: Instant) -> tuple[Instant, Instant]:
        """The open span that holds `instant` or comes next, cut at the ends of a block."""
        block = instant // _BLOCK_S
        while not (timeline := _timeline(self, block)).ends or timeline.ends[-1] <= instant:
            block += 1
        index = bisect_right(timeline.ends, instant)
        return timeline.starts[index], timeline.ends[index]

    def _past_exceptions(self, instant: Instant) -> bool:
        return all(day < local_day(instant, self.zone) for day in self._by_date)


@dataclass(frozen=True, slots=True)
class _Timeline:
    """The open spans of one block of time; `sums` is the open time up to the end of each."""

    starts: list[Instant]
    ends: list[Instant]
    sums: list[int]

    @property
    def total(self) -> int:
        return self.sums[-1] if self.sums else 0

    def open_before(self, instant: Instant) -> int:
        index = bisect_right(self.starts, instant) - 1
        if index < 0:
            return 0
        return self.sums[index] - max(0, self.ends[index] - instant)


@lru_cache(maxsize=1024)
def _timeline(hours: Hours, block: int) -> _Timeline:
    start, end = block * _BLOCK_S, (block + 1) * _BLOCK_S
    # A stretch that began up to two days before can still run: it may last a day and a fold.
    day, last = local_day(start, hours.zone) - 2 * _DAY, local_day(end, hours.zone)
    found = []
    while day <= last:
        found += [_span(hours.zone, day, opening) for opening in hours.on(day)]
        day += _DAY
    spans = clipped(found, Window(start, end))
    lengths = (span.length_s for span in spans)
    return _Timeline(
        [span.start for span in spans], [span.end for span in spans], list(accumulate(lengths))
    )


def _span(zone: ZoneInfo, day: date, opening: Opening) -> tuple[Instant, Instant]:
    closing_day = day if opening.closes > opening.opens else day + _DAY
    return (
        settled_wall(day, opening.opens, zone, edge="start"),
        settled_wall(closing_day, opening.closes, zone, edge="end"),
    )


def read_hours(plain: Mapping[str, object] | None, zone: ZoneInfo) -> Hours:
    """Hours from their plain JSON; BadHours says where and what to mend."""
    parts = _members("", {} if plain is None else plain, ("week", "exceptions"))
    week = _members("/week", parts.get("week", {}), WEEKDAYS)
    dated = _members("/exceptions", parts.get("exceptions", {}), None)
    exceptions = {}
    for text, openings in dated.items():
        pointer = "/exceptions/" + text.replace("~", "~0").replace("/", "~1")
        exceptions[_told(pointer, text, parse_day)] = _read_openings(pointer, openings)
    return Hours(
        zone,
        tuple(_read_openings(f"/week/{name}", week.get(name, [])) for name in WEEKDAYS),
        tuple(sorted(exceptions.items())),
    )


def plain_hours(hours: Hours) -> dict[str, object]:
    """The plain JSON that `read_hours` reads back; the week leaves out days that are closed."""
    week: dict[str, object] = {}
    if hours.week != _ALL_WEEK:
        named = zip(WEEKDAYS, hours.week, strict=True)
        week = {name: _plain_openings(openings) for name, openings in named if openings}
    dated = {day.isoformat(): _plain_openings(openings) for day, openings in hours.exceptions}
    return {"week": week, "exceptions": dated}


def _read_openings(pointer: str, plain: object) -> Openings:
    if not isinstance(plain, (list, tuple)):
        raise BadHours(pointer, 'give a list such as [["09:00", "18:00"]], empty when closed')
    openings = sorted(_read_opening(f"{pointer}/{at}", pair) for at, pair in enumerate(plain))
    for earlier, later in pairwise(openings):
        if not earlier.opens < earlier.closes <= later.opens:
            raise BadHours(pointer, f"{_hhmm(earlier.opens)} and {_hhmm(later.opens)} overlap")
    return tuple(openings)


def _read_opening(pointer: str, pair: object) -> Opening:
    if not isinstance(pair, (list, tuple)) or len(pair) != 2:
        raise BadHours(pointer, 'give an opening and a closing time, ["09:00", "18:00"]')
    opens_text, closes_text = (_text(f"{pointer}/{at}", each) for at, each in enumerate(pair))
    opens = _told(f"{pointer}/0", opens_text, parse_wall_time)
    if closes_text == "24:00":
        return Opening(opens, _MIDNIGHT)
    closes = _told(f"{pointer}/1", closes_text, parse_wall_time)
    if opens == closes:
        raise BadHours(
            pointer, f"it opens and closes at {opens_text}: a whole day is 00:00 to 24:00"
        )
    return Opening(opens, closes)


def _plain_openings(openings: Openings) -> list[list[str]]:
    return [[_hhmm(each.opens), _hhmm(each.closes, last="24:00")] for each in openings]


def _hhmm(at: time, last: str = "00:00") -> str:
    return last if at == _MIDNIGHT else at.isoformat("seconds" if at.second else "minutes")


def _members(pointer: str, plain: object, known: Iterable[str] | None) -> dict[str, object]:
    """The members of a plain object; `known` None lets all names pass."""
    if not isinstance(plain, Mapping):
        raise BadHours(pointer, "give an object")
    for name in plain:
        if known is not None and name not in known:
            raise BadHours(pointer, f"{shown(str(name))} is not one of {', '.join(known)}")
    return cast(dict[str, object], plain)


def _text(pointer: str, plain: object) -> str:
    if not isinstance(plain, str):
        raise BadHours(pointer, "give a time of day in quotes, such as 09:00")
    return plain


def _told(pointer: str, text: str, parse: Callable[[str], T]) -> T:
    """Parse, and say where it went wrong."""
    try:
        return parse(text)
    except ValueError as wrong:
        raise BadHours(pointer, str(wrong)) from None
