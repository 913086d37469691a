"""A whole kit list against a pool, and what it would change, told with names."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from crossload.domain.kit import Box, Item, KitType
from crossload.domain.kit_list import KitList
from crossload.domain.lists.boxes import merge_boxes
from crossload.domain.lists.merged import Change, Merged, Problems, in_json
from crossload.domain.lists.pieces import NewTags, merge_pieces
from crossload.domain.lists.types import merge_types
from crossload.domain.names import fold
from crossload.domain.row_problem import RowProblem
from crossload.domain.window import Id

_SAID_OTHERWISE = ("counts", "kit_type")


@dataclass(frozen=True, slots=True)
class PoolKit:
    """What a pool has, in order of making; `counts` is what belongs in boxes, by kit type."""

    kit_types: Sequence[KitType]
    items: Sequence[Item]
    boxes: Sequence[Box]
    counts: Mapping[Id, Sequence[tuple[Id, int]]]


@dataclass(frozen=True, slots=True)
class MergedKit:
    """What a list comes to. `places` are box counts to set: kit type, box, quantity.

    `next_serial` is past the tags that were made.
    """

    boxes: Sequence[Merged[Box]]
    types: Sequence[Merged[KitType]]
    pieces: Sequence[Merged[Item]]
    places: Sequence[tuple[Id, Id, int]]
    problems: tuple[RowProblem, ...]
    next_serial: int
    headers: dict[str, str]


def merge_kit(
    found: KitList, pool: PoolKit, new_id: Callable[[], Id], next_serial: int
) -> MergedKit:
    """Lay a list beside the pool. Nothing may be written while there are problems.

    Tags are made from `next_serial` on.
    """
    problems = Problems(found.headers)
    problems.found |= set(found.problems)
    boxes = merge_boxes(found, pool.boxes, new_id, problems)
    box_ids = {fold(box.number): box.id for box in pool.boxes}
    box_ids |= {fold(each.value.number): each.id for each in boxes}
    types = merge_types(found, pool.kit_types, pool.counts, box_ids, new_id, problems)
    by_name = {fold(kit_type.name): kit_type for kit_type in pool.kit_types}
    by_name |= {fold(each.value.name): each.value for each in types.types}
    tags = NewTags(next_serial, pool.items, found.rows)
    pieces = merge_pieces(found, pool.items, by_name, box_ids, new_id, tags, problems)
    return MergedKit(
        boxes, types.types, pieces, types.places, problems.in_order(), tags.serial, found.headers
    )


def told(merged: MergedKit, pool: PoolKit) -> list[Change]:
    """The changes in the order of the rows, boxes before kit types before pieces."""
    names = _Names(merged, pool)
    changes = [
        *_told(merged.boxes, "box", lambda box: box.number, names),
        *_told(merged.types, "kit type", lambda kit_type: kit_type.name, names),
        *_told(merged.pieces, "item", lambda item: item.tag, names),
    ]
    return sorted(changes, key=lambda change: change.row)


def _told(
    merged: Iterable[Merged[Any]], what: str, name: Callable[[Any], str], names: "_Names"
) -> Iterable[Change]:
    for each in merged:
        pairs = {**each.fields, **each.more}
        said = {
            field: (names.of(field, before), names.of(field, after))
            for field, (before, after) in pairs.items()
            if field not in _SAID_OTHERWISE
        }
        if what == "item" and each.before is None:
            said["kit_type"] = (None, names.types[each.value.kit_type])
        yield Change(each.row, what, each.kind, name(each.value), said)


class _Names:
    """Values as people and JSON have them."""

    def __init__(self, merged: MergedKit, pool: PoolKit):
        self.boxes: Mapping[Id, str] = {box.id: box.number for box in pool.boxes} | {
            each.id: each.value.number for each in merged.boxes
        }
        self.types: Mapping[Id, str] = {kind.id: kind.name for kind in pool.kit_types} | {
            each.id: each.value.name for each in merged.types
        }

    def of(self, field: str, value: Any) -> Any:
        if value is None:
            return None
        if field in ("inside", "home_box"):
            return self.boxes[value]
        if field == "substitutes":
            return [self.types[id] for id in value]
        if field == "places":
            return {
                "loose" if box is None else f"box {self.boxes[box]}": quantity
                for box, quantity in value.items()
            }
        return in_json(value)
