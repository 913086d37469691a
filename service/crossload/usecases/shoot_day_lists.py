"""Shoot days brought in, in a transaction that somebody else holds."""

from datetime import date

from crossload.domain.lists.shoot_days import MergedDays, UnitNames, merge_days
from crossload.domain.shoot_day_list import ShootDayList
from crossload.domain.window import Id, Instant
from crossload.domain.zones import load_zone
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.merging import write_merged
from crossload.usecases.shoot_days import SHOOT_DAYS


def unit_names(stores: Stores) -> UnitNames:
    """The pool's units by the names that a table may give them."""
    return UnitNames(stores.units.all(), stores.productions.all())


def names_of_units(stores: Stores) -> dict[Id, str]:
    """What each unit is called in a table."""
    names = unit_names(stores)
    return {unit.id: names.name_of(unit) for unit in names.units}


def merge(stores: Stores, found: ShootDayList) -> MergedDays:
    """The list beside what the units have."""
    zone = load_zone(stores.header.zone)
    return merge_days(found, stores.shoot_days.all(), unit_names(stores), zone, new_id)


def write_days(stores: Stores, actor: Actor, merged: MergedDays, now: Instant) -> None:
    """Write what is new and what has changed.

    Days that change their date step aside first: each may move to where another one was.
    """
    moving = [each for each in merged.days if "day" in each.fields and each.before is not None]
    for aside, each in enumerate(moving, start=1):
        stores.shoot_days.change(each.id, None, day=date.fromordinal(aside))
    write_merged(stores, actor, SHOOT_DAYS, merged.days, now)
