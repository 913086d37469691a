"""Kit types: what there is to book, what it needs, and how long it takes to prepare and check in."""

from collections.abc import Sequence
from typing import Any

from crossload.domain.kit import PIECE_BY_PIECE, KitType
from crossload.domain.window import Instant
from crossload.storage.shelf import Shelf
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.recounts import recount_kit
from crossload.usecases.registers import Register, Wrong, fields_of, taken


class KitTypes(Register[KitType]):
    what, kind, verb, value = "kit type", "kit_type", "change kit", KitType
    silent = frozenset({"notes"})

    def shelf(self, stores: Stores) -> Shelf[KitType]:
        return stores.kit_types

    def check(self, stores: Stores, before: KitType | None, after: KitType, now: Instant) -> Wrong:
        wrong = taken(stores.kit_types, "name", after, "there is a kit type of this name")
        if before is not None and before.tracking is not after.tracking:
            said = "how kit is kept stays as it was made: make another kit type"
            wrong.append(("/tracking", said))
        if after.tracking in PIECE_BY_PIECE and after.count:
            said = "this kit is known piece by piece: its number is that of its items"
            wrong.append(("/count", said))
        return wrong + _substitutes(stores, after) + _needs(after)

    def follow(
        self, stores: Stores, actor: Actor, before: KitType | None, after: KitType, now: Instant
    ) -> None:
        if before is None:
            return
        if before.name != after.name:
            _boxes_read_differently(stores, after)
        if (before.prep_s, before.check_in_s) != (after.prep_s, after.check_in_s):
            recount_kit(stores, actor, after, now)

    def shown(self, stores: Stores, values: Sequence[KitType]) -> list[Any]:
        """Each with its `capacity`: its count, or how many pieces it has that are not retired."""
        numbers = stores.items.numbers([kit.id for kit in values])
        return [
            fields_of(kit)
            | {"capacity": numbers.get(kit.id, 0) if kit.tracking in PIECE_BY_PIECE else kit.count}
            for kit in values
        ]


def _substitutes(stores: Stores, kit: KitType) -> Wrong:
    known = stores.kit_types.some(kit.substitutes)
    wrong: Wrong = []
    for index, id in enumerate(kit.substitutes):
        if id == kit.id:
            wrong.append((f"/substitutes/{index}", "a kit type cannot stand in for itself"))
        elif id not in known:
            wrong.append((f"/substitutes/{index}", "this pool has no such kit type"))
        elif id in kit.substitutes[:index]:
            wrong.append((f"/substitutes/{index}", "this kit type stands here twice"))
    return wrong


def _needs(kit: KitType) -> Wrong:
    """A need that is to agree in a trait that the kit has not could never be met."""
    return [
        (f"/goes_with/{index}/match", f"this kit has no {trait} that could agree: give traits one")
        for index, need in enumerate(kit.goes_with)
        for trait in need.match
        if not kit.traits.get(trait)
    ]


def _boxes_read_differently(stores: Stores, kit: KitType) -> None:
    """A box names its contents, so a new name makes a new version of it."""
    homes = {item.home_box for item in stores.items.all(kit_type=kit.id)} - {None}
    for box in sorted({*stores.boxes.holding(kit.id), *homes}):  # type: ignore[type-var]
        stores.boxes.change(box, None)  # type: ignore[arg-type]


KIT_TYPES = KitTypes()
