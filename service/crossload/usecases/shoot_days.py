"""Shoot days: each unit's own working days, by their own numbers."""

import dataclasses
from collections.abc import Mapping
from typing import Any

from crossload.domain.shoot import ShootDay
from crossload.domain.window import Instant
from crossload.domain.zones import load_zone, local_day
from crossload.storage.ids import new_id
from crossload.storage.shelf import Shelf
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.registers import Register, Wrong

LONGEST_S = 48 * 3600
"""Past two days it is more than one shoot day."""


class ShootDays(Register[ShootDay]):
    """A night belongs to the day of its call, in the pool's zone."""

    what, kind, verb, value = "shoot day", "shoot_day", "change shoot days", ShootDay
    silent = frozenset({"notes"})
    ranges = {"since": ("day", ">="), "until": ("day", "<=")}  # noqa: RUF012

    def shelf(self, stores: Stores) -> Shelf[ShootDay]:
        return stores.shoot_days

    def allow(self, stores: Stores, actor: Actor, value: ShootDay) -> None:
        actor.must(self.verb, value.unit)

    def made(self, stores: Stores, values: Mapping[str, Any], now: Instant) -> ShootDay:
        day = local_day(values["call_s"], load_zone(stores.header.zone))
        return ShootDay(id=new_id(), day=day, **values)

    def changed(
        self, stores: Stores, before: ShootDay, changes: Mapping[str, Any], now: Instant
    ) -> ShootDay:
        after = dataclasses.replace(before, **changes)
        return dataclasses.replace(
            after, day=local_day(after.call_s, load_zone(stores.header.zone))
        )

    def check(
        self, stores: Stores, before: ShootDay | None, after: ShootDay, now: Instant
    ) -> Wrong:
        unit = stores.units.get(after.unit)
        if unit is None:
            return [("/unit_id", "this pool has no such unit")]
        if unit.ended_at is not None and before is None:
            return [("/unit_id", "this unit has ended")]
        if after.wrap_s <= after.call_s:
            return [("/wrap", "the wrap is not after the call: give a later one")]
        if after.wrap_s - after.call_s > LONGEST_S:
            hours = LONGEST_S // 3600
            return [("/wrap", f"a shoot day lasts {hours} hours at most: check both dates")]
        return _position(after) + _clashes(stores, after)


def _position(day: ShootDay) -> Wrong:
    if (day.latitude_e7 is None) == (day.longitude_e7 is None):
        return []
    lacking = "latitude_e7" if day.latitude_e7 is None else "longitude_e7"
    return [(f"/{lacking}", "a position has both latitude and longitude, or neither")]


def _clashes(stores: Stores, day: ShootDay) -> Wrong:
    """A unit works one day at a time, and no date or number comes twice."""
    wrong: Wrong = []
    for other in stores.shoot_days.all(unit=day.unit):
        if other.id == day.id:
            continue
        if other.number == day.number:
            wrong.append(("/number", f"this unit has a day {day.number} already, on {other.day}"))
        if other.day == day.day:
            said = f"this unit has a shoot day on {day.day} already, day {other.number}"
            wrong.append(("/call", said))
        elif other.window.overlaps(day.window):
            wrong.append(("/call", f"it runs into this unit's day {other.number}, {other.day}"))
    return wrong


SHOOT_DAYS = ShootDays()
