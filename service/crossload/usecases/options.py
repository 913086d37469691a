"""What would work instead of a refused booking: each option a whole ask, judged on a snapshot."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from crossload.domain import outfit
from crossload.domain.booking import Ask, BookingState, Wanted
from crossload.domain.judge import first_fit
from crossload.domain.kit import Tracking
from crossload.domain.window import FOREVER, Id, Instant, Window, clipped
from crossload.domain.zones import local_day, wall_to_instant
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.judging import (
    Answer,
    Judged,
    TypeVerdict,
    free_throughout,
    judge_in,
)
from crossload.usecases.names import Names
from crossload.usecases.queueing import place
from crossload.usecases.recorded import held_by_unit, look_at
from crossload.usecases.straight import as_given, handed_over

FAR_S = 60 * 86_400
"""Earlier and later are looked for within 60 days."""

STEPS = 12
"""After so many steps without an answer there is none worth waiting for."""

SEARCH_S = 0.05
"""How long the search for names may take for one kit type of one option."""


@dataclass(frozen=True, slots=True)
class Option:
    """A booking that would be granted if asked for now, and how it differs from what was asked.

    `outside_s` is what another time costs the asker: how much of it no shoot day of theirs covers.
    """

    kind: str
    ask: Ask
    judged: Judged
    shift_s: int = 0
    brings: tuple[tuple[Id, int], ...] = ()
    lacks: tuple[tuple[Id, int], ...] = ()
    outside_s: int = 0
    place: int | None = None

    @property
    def outside_hours(self) -> bool:
        """Whether some of it lies outside the unit's call and wrap."""
        return self.outside_s > 0


class Finder:
    """Looks for options beside one snapshot."""

    def __init__(self, names: Names, ask: Ask, now: Instant, *, without: Id | None = None):
        self.stores, self.kit = names.stores, names.kit
        self.ask, self.now, self.without = ask, now, without
        self.clockwork = Clockwork(names.stores, now)
        that_matter = {id: self.kit[id] for id in self._kit_types_that_matter()}
        self.world = look_at(self.clockwork, that_matter, now)
        self.ask = as_given(self.world, ask, without=without)
        self.judged = judge_in(self.world, self.ask, without=without)

    def find(self) -> list[Option]:
        """Best first: what keeps the time and the number, then fewer, then another time."""
        found = [
            *self._straight(),
            *self._substitutes(),
            *self._behind_pencils(),
            *self._fewer(),
            *self._moved(),
        ]
        return sorted(found, key=lambda option: option.outside_s)

    def _kit_types_that_matter(self) -> set[Id]:
        ids = {line.kit_type for line in self.ask.lines}
        for id in tuple(ids):
            ids.update(sub for sub in self.kit[id].substitutes if sub in self.kit)
        for id in tuple(ids):
            for need in self.kit[id].goes_with:
                ids.update(k.id for k in outfit.candidates(self.kit[id], need, self.kit.values()))
        return ids

    def _judge(self, ask: Ask) -> Judged:
        return judge_in(self.world, ask, without=self.without, limit_s=SEARCH_S)

    def _works(self, ask: Ask) -> Judged | None:
        if not ask.lines:
            return None
        judged = self._judge(ask)
        return judged if judged.answer is Answer.YES else None

    def _works_at(self, window: Window) -> Judged | None:
        return self._works(replace(self.ask, window=window, accept_part=False))

    @cached_property
    def _asked_and_lacking(self) -> dict[Id, int]:
        return self._lacking(self.ask)

    def _lacking(self, ask: Ask) -> dict[Id, int]:
        """How many of each short kit type are not to be had."""
        part = self._judge(replace(ask, accept_part=True))
        lacking: dict[Id, int] = defaultdict(int)
        for line, granted in zip(ask.lines, part.granted, strict=True):
            if granted < line.quantity:
                lacking[line.kit_type] += line.quantity - granted
        return lacking

    def _straight(self) -> Iterator[Option]:
        """What is lacking taken over from units that end in time, without the house between."""
        lines = handed_over(self.world, self.ask, self._asked_and_lacking, without=self.without)
        ask = replace(self.ask, lines=lines, accept_part=False)
        if lines != self.ask.lines and (judged := self._works(ask)):
            yield Option("straight", ask, judged)

    def _fewer(self) -> Iterator[Option]:
        """The most that can be had now, with less of what goes with it."""
        lines, lacking = self.ask.lines, self._asked_and_lacking
        for _ in range(STEPS):
            if not lacking:
                return
            lines = self._cut(lines, lacking)
            ask = replace(self.ask, lines=lines, accept_part=False)
            judged = self._works(ask)
            if judged:
                yield Option("fewer", ask, judged, lacks=_difference(self.ask.lines, lines))
                return
            if not lines:
                return
            lacking = self._lacking(ask)

    def _cut(self, lines: Sequence[Wanted], lacking: Mapping[Id, int]) -> tuple[Wanted, ...]:
        """The lines without what is lacking, and without what nobody could use then."""
        fewer: dict[Id, int] = {}
        for id, n in lacking.items():
            main = outfit.main_of(lines, self.kit, id)
            if main is None or main == id:
                fewer[id] = max(fewer.get(id, 0), n)
                continue
            per = max(1, self.kit[id].ways)
            need = next(x for x in self.kit[main].goes_with if x.category == self.kit[id].category)
            fewer[main] = max(fewer.get(main, 0), -(-n * per // max(1, need.quantity)))
        kept = tuple(lines)
        for id, n in fewer.items():
            if some := min(n, outfit.total(kept, id)):
                kept = outfit.without(kept, id, some, self.kit)
        for id, n in lacking.items():
            if (over := outfit.total(kept, id) - (outfit.total(lines, id) - n)) > 0:
                kept = outfit.without(kept, id, over, self.kit)
        named = {line.item for line in kept if line.item is not None and line.kit_type in lacking}
        return tuple(line for line in kept if line.item is None or line.item not in named)

    def _substitutes(self) -> Iterator[Option]:
        """For each type that is lacking: the rest in its first substitute that works, then all."""
        for id, lacking in self._asked_and_lacking.items():
            main = outfit.main_of(self.ask.lines, self.kit, id) or id
            some = lacking if main == id else lacking * max(1, self.kit[id].ways)
            whole = outfit.total(self.ask.lines, main)
            for quantity in dict.fromkeys((min(some, whole), whole)):
                option = self._first_substitute(main, quantity, whole)
                if option:
                    yield option

    def _first_substitute(self, main: Id, quantity: int, whole: int) -> Option | None:
        for other in self.kit[main].substitutes:
            if other not in self.kit or not quantity:
                continue
            lines = outfit.without(self.ask.lines, main, quantity, self.kit, swapped=True)
            needed = outfit.still_needed(
                self.kit[other], quantity, lines, self._held, self.kit, self._free
            )
            more = [(other, quantity), *((part.kit.id, part.quantity) for part in needed)]
            ask = replace(self.ask, lines=outfit.joined(lines, more), accept_part=False)
            judged = self._works(ask)
            if judged:
                kind = "substitute" if quantity == whole else "mixed"
                brought = _difference(ask.lines, self.ask.lines)
                brings = tuple((id, n) for id, n in brought if id != other)
                return Option(kind, ask, judged, brings=brings)
        return None

    @cached_property
    def _free(self) -> dict[Id, int]:
        return free_throughout(self.world, self.ask, without=self.without)

    @cached_property
    def _held(self) -> dict[Id, int]:
        return held_by_unit(self.stores, self.ask.unit, self.ask.window)

    def _behind_pencils(self) -> Iterator[Option]:
        """Only for what is asked for anew: a pencil that cannot be confirmed is in the queue."""
        if self.judged.answer is not Answer.BEHIND_PENCIL or self.without is not None:
            return
        ask = replace(self.ask, state=BookingState.PENCILLED, accept_part=False)
        judged = self._judge(ask)
        if judged.grants:
            places = [place(self.world, verdict, FOREVER) for verdict in judged.types]
            yield Option("pencil_behind", ask, judged, place=max(places))

    def _moved(self) -> Iterator[Option]:
        """The least shift later and earlier that fits, and the first other day at the same times."""
        seen: set[Window] = set()
        for kind, later in (("later", True), ("earlier", False)):
            for judged in (self._same_times(later), self._least_shift(later)):
                if judged is None or judged.ask.window in seen:
                    continue
                window = judged.ask.window
                seen.add(window)
                shift = window.start - self.ask.window.start
                outside_s = self._outside(window)
                yield Option(kind, judged.ask, judged, shift_s=shift, outside_s=outside_s)

    def _same_times(self, later: bool) -> Judged | None:
        """The first other day on which the same local times fit."""
        zone = self.clockwork.zone
        window = self.ask.window
        first, last = local_day(window.start, zone), local_day(window.end, zone)
        start_at, end_at = (_wall(edge, zone) for edge in (window.start, window.end))
        for days in range(1, 61):
            step = timedelta(days=days if later else -days)
            try:
                start = wall_to_instant(first + step, start_at, zone, edge="start")
                end = wall_to_instant(last + step, end_at, zone, edge="end")
            except ValueError:  # a wall time that the spring change leaves out
                continue
            if start < self.now:
                return None
            if judged := self._works_at(Window(start, end)):
                return judged
        return None

    def _least_shift(self, later: bool) -> Judged | None:
        """Step from one type's first fit to the next until all types fit at once."""
        window = self.ask.window
        for _ in range(STEPS):
            moved = window
            for verdict in self.judged.types:
                fit = self._fit(verdict, moved, later)
                if fit is None:
                    return None
                moved = fit
            if moved.start < self.now:
                return None
            if moved == window:
                return None if window == self.ask.window else self._works_at(window)
            window = moved
        return None

    def _fit(self, verdict: TypeVerdict, window: Window, later: bool) -> Window | None:
        stock = self.world.stock[verdict.kit.id]
        if verdict.kit.tracking is Tracking.CONSUMABLE:
            return window
        for ask in verdict.asks:
            occupied = self.clockwork.occupied(window, verdict.kit)
            before = window.start - occupied.start
            fit = first_fit(
                stock,
                verdict.standing,
                replace(ask, window=occupied),
                not_before=max(self.now - before, occupied.start - FAR_S),
                not_after=min(FOREVER, occupied.end + FAR_S),
                later=later,
                limit_s=SEARCH_S,
            )
            if fit is None:
                return None
            start = fit.start + before
            window = Window(start, start + window.length_s)
        return window

    def _outside(self, window: Window) -> int:
        """How many seconds of a window lie outside the unit's shoot days, from call to wrap."""
        days = self.stores.shoot_days.between(window.start, window.end, self.ask.unit)
        worked = clipped(((day.call_s, day.wrap_s) for day in days), window)
        return window.length_s - sum(part.length_s for part in worked)


def _wall(instant: Instant, zone: ZoneInfo) -> time:
    return datetime.fromtimestamp(instant, zone).time()


def _difference(before: Sequence[Wanted], after: Sequence[Wanted]) -> tuple[tuple[Id, int], ...]:
    """How many more of each kit type there are in the first lines than in the second."""
    ids = dict.fromkeys(line.kit_type for line in before)
    less = ((id, outfit.total(before, id) - outfit.total(after, id)) for id in ids)
    return tuple((id, n) for id, n in less if n > 0)


def find_options(
    names: Names, ask: Ask, now: Instant, *, without: Id | None = None
) -> list[Option]:
    """Options for an ask that was refused, on the snapshot that the names are of."""
    return Finder(names, ask, now, without=without).find()
