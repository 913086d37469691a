"""The kit types of a kit list against those of the pool, and where counted kit lies."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from crossload.domain.instants import shown
from crossload.domain.kit import COUNTED, TRAITS, KitType, Tracking
from crossload.domain.kit_list import KitList, ListedType
from crossload.domain.lists.merged import Merged, Problems, taken, taken_notes
from crossload.domain.names import fold
from crossload.domain.window import Id

_FIELDS = (
    "category",
    "make",
    "model",
    "price_minor",
    "mass_g",
    "prep_s",
    "check_in_s",
    "reorder_level",
    "rechargeable",
    "ways",
    "goes_with",
)

Places = dict[Id | None, int]
"""How many of a counted kit type belong in each box; under None those that lie loose."""


@dataclass(slots=True)
class MergedTypes:
    """`places` are the boxes' counts to be set, by kit type and box; 0 takes it out of the box."""

    types: list[Merged[KitType]] = field(default_factory=list)
    places: list[tuple[Id, Id, int]] = field(default_factory=list)


def places_of(kit_type: KitType, counts: Iterable[tuple[Id, int]]) -> Places:
    """Where the pieces of a counted kit type lie, so that the places add up to its count.

    `counts` are boxes and how many belong in each, in the order in which they were put there;
    consumables that have gone out are gone from the last ones.
    """
    left, found = kit_type.count, Places()
    for box, quantity in counts:
        some = min(quantity, left)
        if some:
            found[box] = some
            left -= some
    if left:
        found[None] = left
    return found


def merge_types(
    found: KitList,
    existing: Iterable[KitType],
    counts: Mapping[Id, Sequence[tuple[Id, int]]],
    box_ids: Mapping[str, Id],
    new_id: Callable[[], Id],
    problems: Problems,
) -> MergedTypes:
    """Each kit type of the list. What it says of a counted one is all of it, in all its boxes.

    `counts` are the pool's for `places_of`, by kit type; `box_ids` have the list's boxes by their
    folded number. How a kit type is kept cannot be changed here.
    """
    known = {fold(kit_type.name): kit_type for kit_type in existing}
    rows, said = _rows_and_places(found, box_ids)
    ids = {key: kit_type.id for key, kit_type in known.items()}
    for key in rows:
        ids.setdefault(key, new_id())
    result = MergedTypes()
    for listed in found.kit_types:
        key = fold(listed.name)
        before = known.get(key)
        tracking = _tracking(listed, before, found.columns, rows[key], problems)
        value = before or KitType(ids[key], listed.name, listed.category, tracking)
        value = _as_listed(value, listed, found, ids, (rows[key], problems))
        more: dict[str, tuple[Any, Any]] = {}
        if tracking in COUNTED:
            placed = said.get(key, {})
            value = replace(value, count=sum(placed.values()))
            if "box" in found.columns:
                more = _moved(result, value, before, counts.get(value.id, ()), placed)
        result.types.append(Merged(rows[key], value, before, more))
    return result


def _rows_and_places(
    found: KitList, box_ids: Mapping[str, Id]
) -> tuple[dict[str, int], dict[str, Places]]:
    """The first row of each kit type, and where its rows say that so many of it lie."""
    rows: dict[str, int] = {}
    said: dict[str, Places] = {}
    for row in found.rows:
        if row.kit_type:
            key = fold(row.kit_type.name)
            rows.setdefault(key, row.row)
            place = box_ids[fold(row.box.number)] if row.box else None
            if row.quantity and not row.piece:
                said.setdefault(key, {})[place] = row.quantity
    return rows, said


def _tracking(
    listed: ListedType,
    before: KitType | None,
    columns: frozenset[str],
    row: int,
    problems: Problems,
) -> Tracking:
    if before is None or listed.tracking is before.tracking:
        return listed.tracking
    alike = (listed.tracking in COUNTED) == (before.tracking in COUNTED)
    if "tracking" in columns or not alike:
        problems.add(
            row,
            "tracking",
            f"would be {listed.tracking}, and this pool keeps {shown(before.name)} by"
            f" {before.tracking}: a list cannot change that",
        )
    return before.tracking


def _as_listed(
    value: KitType,
    listed: ListedType,
    found: KitList,
    ids: Mapping[str, Id],
    where: tuple[int, Problems],
) -> KitType:
    columns = found.columns
    said = {
        field: taken(getattr(value, field), getattr(listed, field))
        for field in _FIELDS
        if field in columns
    }
    spoken = [trait for trait in TRAITS if trait in columns]
    traits = {trait: text for trait, text in value.traits.items() if trait not in spoken}
    traits |= {
        trait: taken(value.traits.get(trait), listed.traits[trait])
        for trait in spoken
        if listed.traits.get(trait)
    }
    if "substitutes" in columns:
        unknown = [name for name in listed.substitutes if fold(name) not in ids]
        for name in unknown:
            where[1].add(where[0], "substitutes", f"{shown(name)} is no kit type of this pool")
        wanted = (fold(name) for name in listed.substitutes)
        said["substitutes"] = tuple(ids[name] for name in wanted if name in ids)
    return replace(
        value,
        name=taken(value.name, listed.name),
        traits=traits,
        notes=taken_notes(value.notes, listed.notes, found.type_notes(value.tracking in COUNTED)),
        **said,
    )


def _moved(
    result: MergedTypes,
    value: KitType,
    before: KitType | None,
    counts: Sequence[tuple[Id, int]],
    placed: Places,
) -> dict[str, tuple[Any, Any]]:
    """Note the boxes whose count of this kit type changes; answers the places for the reader."""
    had = places_of(before, counts) if before else Places()
    if had == placed:
        return {}
    recorded = dict(counts)
    wanted = {box: quantity for box, quantity in placed.items() if box is not None}
    wanted |= dict.fromkeys(recorded.keys() - wanted.keys(), 0)
    result.places += [
        (value.id, box, quantity)
        for box, quantity in wanted.items()
        if recorded.get(box, 0) != quantity
    ]
    return {"places": (had, placed)} if before else {}
