"""Out of service: a piece, or a number of a counted kit type, that cannot be used for a while.

What is recorded here is a fact: it is always accepted, and what it makes short is at risk.
"""

import dataclasses
from collections.abc import Mapping
from typing import Any

from crossload.domain.custody import OutOfService
from crossload.domain.kit import PIECE_BY_PIECE, Condition
from crossload.domain.people import Reach
from crossload.domain.window import FOREVER, Id, Instant
from crossload.storage.ids import new_id
from crossload.storage.shelf import Shelf
from crossload.storage.stores import Stores
from crossload.usecases import conditions
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid
from crossload.usecases.registers import Register, Wrong


class OutOfServices(Register[OutOfService]):
    what, kind, verb = "out-of-service window", "out_of_service", "take out of service"
    value = OutOfService
    silent = frozenset({"reason"})
    ranges = {"ends_after": ("end_s", ">")}  # noqa: RUF012

    def shelf(self, stores: Stores) -> Shelf[OutOfService]:
        return stores.out_of_service

    def made(self, stores: Stores, values: Mapping[str, Any], now: Instant) -> OutOfService:
        """A window from now until further notice, unless the values say otherwise."""
        given = {"start_s": now, "quantity": 1, **_until(values)}
        given.setdefault("end_s", FOREVER)
        item = stores.items.get(given["item"]) if given.get("item") is not None else None
        if given.get("item") is not None:
            if item is None:
                raise Invalid([("/item_id", "this pool has no such item")])
            if given.get("kit_type") not in (None, item.kit_type):
                raise Invalid([("/kit_type_id", "this item is of another kit type: leave it out")])
            given["kit_type"] = item.kit_type
        elif given.get("kit_type") is None:
            raise Invalid([("/item_id", "name an item, or a kit type and a quantity")])
        return OutOfService(id=new_id(), recorded_at=now, **given)

    def changed(
        self, stores: Stores, before: OutOfService, changes: Mapping[str, Any], now: Instant
    ) -> OutOfService:
        return dataclasses.replace(before, **_until(changes))

    def allow(self, stores: Stores, actor: Actor, value: OutOfService) -> None:
        """Whoever may do so for their own units may for the kit that those units have."""
        own = actor.reach(self.verb) is Reach.OWN
        actor.must(self.verb, _holder(stores, actor, value) if own else None)

    def check(
        self, stores: Stores, before: OutOfService | None, after: OutOfService, now: Instant
    ) -> Wrong:
        wrong: Wrong = []
        if after.end_s <= after.start_s:
            wrong.append(("/end", "the end is not after the start: give a later one, or null"))
        if before is not None:
            return wrong
        return wrong + (_piece(stores, after) if after.item else _number(stores, after))

    def follow(
        self,
        stores: Stores,
        actor: Actor,
        before: OutOfService | None,
        after: OutOfService,
        now: Instant,
    ) -> None:
        if after.item is not None and after.condition is not None:
            conditions.follow(stores, actor.account, after.item, now)


def _until(values: Mapping[str, Any]) -> dict[str, Any]:
    """No end is until further notice."""
    given = dict(values)
    if "end_s" in given and given["end_s"] is None:
        given["end_s"] = FOREVER
    return given


def _holder(stores: Stores, actor: Actor, value: OutOfService) -> Id | None:
    """The unit of the actor's that has the kit out now; None when none has all of it."""
    if value.item is not None:
        custody = stores.custodies.of_item(value.item)
        return custody.unit if custody else None
    out = stores.custodies.out([value.kit_type])
    for unit in actor.units:
        if sum(c.quantity for c in out if c.unit == unit) >= value.quantity:
            return unit
    return None


def _piece(stores: Stores, window: OutOfService) -> Wrong:
    wrong: Wrong = []
    item = stores.items.get(window.item) if window.item is not None else None
    if window.quantity != 1:
        wrong.append(("/quantity", "a piece is one: leave the quantity out"))
    if item is not None and item.condition is Condition.RETIRED:
        wrong.append(("/item_id", "this piece is retired: it is in no stock"))
    return wrong


def _number(stores: Stores, window: OutOfService) -> Wrong:
    kit = stores.kit_types.get(window.kit_type)
    if kit is None:
        return [("/kit_type_id", "this pool has no such kit type")]
    if kit.tracking in PIECE_BY_PIECE:
        return [("/item_id", "this kit is known piece by piece: name the piece")]
    if window.quantity > kit.count:
        return [("/quantity", f"there are {kit.count} of {kit.name}: give that at most")]
    return []


OUT_OF_SERVICE = OutOfServices()
