"""Boxes: numbered cases that hold pieces and counts, and can stand inside one another."""

from collections.abc import Sequence
from typing import Any

from crossload.domain.kit import PIECE_BY_PIECE, Box
from crossload.domain.window import Id, Instant
from crossload.storage.shelf import Shelf
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.registers import Register, Wrong, fields_of, taken


class Boxes(Register[Box]):
    """What belongs in a box by count is part of it; a piece says itself where its home is."""

    what, kind, verb, value = "box", "box", "change kit", Box

    def shelf(self, stores: Stores) -> Shelf[Box]:
        return stores.boxes

    def known(self, stores: Stores, id: Id) -> Box:
        return stores.boxes.with_counts([super().known(stores, id)])[0]

    def check(self, stores: Stores, before: Box | None, after: Box, now: Instant) -> Wrong:
        wrong = taken(stores.boxes, "number", after, "there is a box of this number")
        if after.inside is not None and (before is None or before.inside != after.inside):
            wrong += _inside(stores, after)
        return wrong + _counts(stores, after)

    def follow(
        self, stores: Stores, actor: Actor, before: Box | None, after: Box, now: Instant
    ) -> None:
        if after.counts != (before.counts if before else {}):
            stores.boxes.set_counts(after.id, after.counts)
        if before is not None and before.number != after.number:
            for item in stores.items.all(home_box=after.id):
                stores.items.change(item.id, None)  # a piece names its box by number

    def shown(self, stores: Stores, values: Sequence[Box]) -> list[Any]:
        """Each with `contents`, its counts by name, and `items`, the pieces at home in it."""
        boxes = stores.boxes.with_counts(values)
        items = stores.items.in_boxes([box.id for box in boxes])
        wanted = {kind for box in boxes for kind in box.counts} | {item.kit_type for item in items}
        names = {kit.id: kit.name for kit in stores.kit_types.some(wanted).values()}
        return [
            fields_of(box)
            | {
                "contents": [
                    {"kit_type": kind, "name": names[kind], "quantity": quantity}
                    for kind, quantity in sorted(box.counts.items())
                ],
                "items": [
                    fields_of(item) | {"name": names[item.kit_type]}
                    for item in items
                    if item.home_box == box.id
                ],
            }
            for box in boxes
        ]


def _inside(stores: Stores, box: Box) -> Wrong:
    """A box stands in one that is there, and in itself through no chain of others."""
    around, seen = box.inside, {box.id}
    while around is not None:
        if around in seen:
            return [("/inside_box_id", f"box {box.number} would stand in itself")]
        seen.add(around)
        outer = stores.boxes.get(around)
        if outer is None:
            return [("/inside_box_id", "this pool has no such box")]
        around = outer.inside
    return []


def _counts(stores: Stores, box: Box) -> Wrong:
    kits = stores.kit_types.some(box.counts)
    wrong: Wrong = []
    for index, kind in enumerate(box.counts):
        where = f"/counts/{index}/kit_type_id"
        if kind not in kits:
            wrong.append((where, "this pool has no such kit type"))
        elif kits[kind].tracking in PIECE_BY_PIECE:
            said = "this kit is known piece by piece: give its items this box as home"
            wrong.append((where, said))
    return wrong


BOXES = Boxes()
