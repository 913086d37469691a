"""A kit list brought into a pool's shelves, in a transaction that somebody else holds."""

import dataclasses
from collections.abc import Iterable
from typing import Any

from crossload.domain.kit import Condition, Item, KitType
from crossload.domain.kit_list import KitList
from crossload.domain.lists.kit import MergedKit, PoolKit, merge_kit
from crossload.domain.lists.merged import Kind, Merged
from crossload.domain.row_problem import RowProblem
from crossload.domain.window import Id, Instant
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases import conditions
from crossload.usecases.actor import Actor
from crossload.usecases.boxes import BOXES
from crossload.usecases.items import ITEMS
from crossload.usecases.kit import KIT_TYPES
from crossload.usecases.merging import write_merged
from crossload.usecases.recounts import recount_kit
from crossload.usecases.tagging import next_serial, note_serial


def read_kit(stores: Stores) -> PoolKit:
    """All kit of a pool."""
    return PoolKit(
        stores.kit_types.all(), stores.items.all(), stores.boxes.all(), stores.boxes.counts()
    )


def merge(stores: Stores, found: KitList, now: Instant) -> tuple[MergedKit, PoolKit]:
    """The list beside what the pool has; a piece that is out or named cannot be retired by it."""
    pool = read_kit(stores)
    merged = merge_kit(found, pool, new_id, next_serial(stores))
    more = [
        RowProblem(each.row, merged.headers.get("condition", ""), reason)
        for each in merged.pieces
        if each.before and _retires(each) and (reason := _needed(stores, each.value, now))
    ]
    return dataclasses.replace(merged, problems=tuple(sorted([*merged.problems, *more]))), pool


def _retires(each: Merged[Item]) -> bool:
    return each.value.condition is Condition.RETIRED and "condition" in each.fields


def _needed(stores: Stores, item: Item, now: Instant) -> str:
    """Why a piece cannot be retired; empty where it can."""
    if stores.custodies.of_item(item.id) is not None:
        return f"would be retired, and {item.tag} is out: take it back first, or mark it lost"
    if units := stores.coming.naming(item.id, now):
        names = ", ".join(unit.name for unit in stores.units.some(units).values())
        return f"would be retired, and a booking of {names} names it: change that line first"
    return ""


def write_kit(stores: Stores, actor: Actor, merged: MergedKit, now: Instant) -> None:
    """Write what is new and what has changed, and what follows from it."""
    write_merged(stores, actor, BOXES, merged.boxes, now)
    write_merged(stores, actor, KIT_TYPES, merged.types, now)
    write_merged(stores, actor, ITEMS, merged.pieces, now)
    for kit_type, box, quantity in merged.places:
        stores.boxes.set_count(box, kit_type, quantity)
    note_serial(stores, merged.next_serial)
    _count_anew(stores, actor, merged.types, now)
    for each in merged.pieces:
        conditions.follow_change(stores, actor.account, each.before, each.value, now)
    _renew_what_shows_it(stores, merged)


def _count_anew(
    stores: Stores, actor: Actor, types: Iterable[Merged[KitType]], now: Instant
) -> None:
    """Prep and check-in are part of what coming lines occupy."""
    for each in types:
        if each.before and {"prep_s", "check_in_s"} & each.fields.keys():
            recount_kit(stores, actor, each.value, now)


def _renew_what_shows_it(stores: Stores, merged: MergedKit) -> None:
    """A kit type shows how many pieces it has, a box what is in it, a piece its box's number."""
    kit_types: set[Id] = set()
    boxes = {box for _, box, _ in merged.places}
    for each in merged.pieces:
        if each.kind is Kind.NEW:
            kit_types.add(each.value.kit_type)
        if each.kind is Kind.NEW or {"tag", "home_box"} & each.fields.keys():
            homes = {each.value.home_box, each.before.home_box if each.before else None}
            boxes |= {home for home in homes if home is not None}
    for id in sorted(kit_types - _written(merged.types)):
        stores.kit_types.change(id, None)
    for id in sorted(boxes - _written(merged.boxes)):
        stores.boxes.change(id, None)


def _written(merged: Iterable[Merged[Any]]) -> set[Id]:
    return {each.id for each in merged if each.kind is not Kind.SAME}
