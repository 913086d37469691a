"""A pool's own time, as a use-case needs it: its zone, its hours, what is free when."""

import json
from collections.abc import Mapping
from functools import cached_property, lru_cache
from typing import Protocol
from zoneinfo import ZoneInfo

from crossload.domain.custody import Custody
from crossload.domain.hours import Hours, read_hours
from crossload.domain.kit import KitType, Tracking
from crossload.domain.returns import expected_return
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.domain.zones import load_zone
from crossload.storage.stores import Stores


class CheckedIn(Protocol):
    """A kit type, as far as it says how long its check-in takes."""

    @property
    def check_in_s(self) -> int: ...


@lru_cache(maxsize=256)
def _hours(opening: str, zone: str) -> Hours:
    """A pool's hours from their stored JSON, read once: every write asks for them."""
    return read_hours(json.loads(opening), load_zone(zone))


class Clockwork:
    """Bound to one transaction and one instant."""

    def __init__(self, stores: Stores, now: Instant):
        self.stores, self.now = stores, now
        self._day_ends: dict[Id, list[Instant]] = {}

    @cached_property
    def zone(self) -> ZoneInfo:
        return load_zone(self.stores.header.zone)

    @cached_property
    def hours(self) -> Hours:
        return _hours(self.stores.header.opening, self.stores.header.zone)

    def occupied(
        self, window: Window, kit: KitType, prep_s: int | None = None, check_in_s: int | None = None
    ) -> Window:
        """The window with prep before it and check-in, in opening hours, after it.

        A consumable does not come back: it occupies for ever.
        """
        start = window.start - (kit.prep_s if prep_s is None else prep_s)
        if kit.tracking is Tracking.CONSUMABLE:
            return Window(start, FOREVER)
        check_in = kit.check_in_s if check_in_s is None else check_in_s
        return Window(start, self.hours.add_open_time(window.end, check_in))

    def expected(self, custody: Custody) -> Instant:
        """When a piece that is out is expected back."""
        if custody.due_at > self.now:
            return max(custody.due_at, custody.promised_at or 0)
        return expected_return(
            custody.due_at, custody.promised_at, self.day_ends(custody.unit), self.now, self.zone
        )

    def free_after(self, kit_types: Mapping[Id, CheckedIn]) -> "FreeAfter":
        """When kit of these types that is out will be free again (`domain.holdings.FreeAfter`)."""
        return FreeAfter(self, kit_types)

    def late(self, custody: Custody, by: Instant) -> Instant | None:
        """Until when a piece is away that another unit takes over by then; None if it is in time.

        Between its holder's wrap and then it is on its way, though it is due back already.
        """
        if self.now <= by and (custody.promised_at or 0) <= by:
            return None
        return max(self.expected(custody), by + 1)

    def day_ends(self, unit: Id) -> list[Instant]:
        """The wraps of the unit's shoot days to come."""
        if unit not in self._day_ends:
            days = self.stores.shoot_days.between(self.now, FOREVER, unit)
            self._day_ends[unit] = [day.wrap_s for day in days]
        return self._day_ends[unit]


class FreeAfter:
    """When a piece that is still out will be free again: expected return, then check-in."""

    def __init__(self, clockwork: Clockwork, kit_types: Mapping[Id, CheckedIn]):
        self.clockwork, self.kit_types = clockwork, kit_types

    def __call__(self, custody: Custody, check_in_s: int | None = None) -> Instant:
        own = self.kit_types[custody.kit_type].check_in_s
        check_in = own if check_in_s is None else check_in_s
        return self.clockwork.hours.add_open_time(self.clockwork.expected(custody), check_in)
