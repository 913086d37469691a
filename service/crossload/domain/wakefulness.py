"""Who is awake when: quiet hours follow a unit's call, wrap and rest, and the house's opening."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

from crossload.domain.hours import Hours
from crossload.domain.window import Instant, Window, clipped
from crossload.domain.zones import days_between, local_day, settled_wall

LEAD_S = 3600
"""Sound is there 30 to 60 min before the unit's call: common practice, no published source."""
TAIL_S = 3600
"""Kit is packed and put on charge after wrap: a starting value of our own, no published source."""
REST_S = 11 * 3600
"""Daily rest: 11 hours in a row, Directive 2003/88/EC article 3 (from memory)."""
FREE_FROM, FREE_TO = time(8), time(20)

_DAY = timedelta(days=1)
_LOOKS_S = tuple(days * 86_400 for days in (3, 12, 48, 100))
"""How far to look for somebody awake: a house can be closed for weeks."""


@dataclass(frozen=True, slots=True)
class Habits:
    """What a pool may set: seconds around call and wrap, rest, and the hours of a free day."""

    lead_s: int = LEAD_S
    tail_s: int = TAIL_S
    rest_s: int = REST_S
    free_from: time = FREE_FROM
    free_to: time = FREE_TO

    def __post_init__(self) -> None:
        if self.free_from >= self.free_to:
            raise ValueError("the hours of a free day end after they begin, on the same day")
        if min(self.lead_s, self.tail_s, self.rest_s) < 0:
            raise ValueError("lead, tail and rest are not negative")


HABITS = Habits()


class Awake:
    """When somebody is awake; `spans` gives what of a window that is, in order and disjoint."""

    def __init__(self, spans: Callable[[Window], Sequence[Window]]) -> None:
        self.spans = spans

    def at(self, instant: Instant) -> bool:
        """Whether somebody is awake at this instant."""
        return bool(self.spans(Window(instant, instant + 1)))

    def next(self, instant: Instant) -> Instant | None:
        """The first awake instant at or after this one; None if there is none within 100 days."""
        for look_s in _LOOKS_S:
            if spans := self.spans(Window(instant, instant + look_s)):
                return spans[0].start
        return None

    def last_before(self, instant: Instant) -> Instant | None:
        """The last awake instant before this one, a whole second; None if none within 100 days."""
        for look_s in _LOOKS_S:
            if spans := self.spans(Window(instant - look_s, instant)):
                return spans[-1].end - 1
        return None


def house_awake(hours: Hours) -> Awake:
    """The house is awake in its opening hours."""
    return Awake(hours.open_spans)


def unit_awake(shoot_days: Iterable[Window], zone: ZoneInfo, habits: Habits = HABITS) -> Awake:
    """A unit is awake from lead before call to tail after wrap, a free day in its free hours.

    `shoot_days` are windows from call to wrap; a night belongs to the day of its call. A free day
    begins no earlier than the rest after the last wrap.
    """
    by_day: dict[date, list[Window]] = {}
    for shoot in shoot_days:
        by_day.setdefault(local_day(shoot.start, zone), []).append(shoot)

    def of_day(day: date) -> list[tuple[Instant, Instant]]:
        if shoots := by_day.get(day):
            return [(shoot.start - habits.lead_s, shoot.end + habits.tail_s) for shoot in shoots]
        before = [*by_day.get(day - _DAY, ()), *by_day.get(day - 2 * _DAY, ())]
        rested = max((shoot.end + habits.rest_s for shoot in before), default=0)
        start = settled_wall(day, habits.free_from, zone, edge="start")
        return [(max(start, rested), settled_wall(day, habits.free_to, zone, edge="end"))]

    def spans(window: Window) -> list[Window]:
        first = local_day(window.start, zone) - 2 * _DAY
        last = local_day(window.end, zone) + _DAY
        days = days_between(first, last, zone)
        return clipped((span for day in days for span in of_day(day)), window)

    return Awake(spans)


def shift_to_awake(due: Instant, deadline: Instant | None, awake: Awake) -> Instant:
    """When to tell somebody of what is due: the next awake instant at or after it.

    Where that is past the deadline, the last awake instant before the deadline; where there is
    neither, `due` itself, since something due is told whatever the hours.
    """
    later = awake.next(due)
    if later is not None and (deadline is None or later <= deadline):
        return later
    earlier = None if deadline is None else awake.last_before(deadline)
    return due if earlier is None else earlier
