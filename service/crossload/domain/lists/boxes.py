"""The boxes of a kit list against those of the pool."""

from collections.abc import Callable, Iterable
from dataclasses import replace

from crossload.domain.instants import shown
from crossload.domain.kit import Box
from crossload.domain.kit_list import KitList, ListedBox
from crossload.domain.lists.merged import Merged, Problems, taken
from crossload.domain.names import fold
from crossload.domain.window import Id

_FIELDS = (("name", "box_name"), ("place", "box_place"))


def merge_boxes(
    found: KitList, existing: Iterable[Box], new_id: Callable[[], Id], problems: Problems
) -> list[Merged[Box]]:
    """Each box of the list, outer ones first. Boxes that stand in each other are a problem."""
    known = {fold(box.number): box for box in existing}
    rows = _first_rows(found)
    ids = {key: box.id for key, box in known.items()}
    merged = []
    for listed in found.boxes:
        key = fold(listed.number)
        before = known.get(key)
        ids.setdefault(key, before.id if before else new_id())
        value = before or Box(ids[key], listed.number)
        own_row = rows.get(key)
        if own_row is not None:
            value = _as_listed(value, listed, found.columns, ids)
        merged.append(Merged(own_row or _row_inside(found, key), value, before))
    _check_nesting(merged, known.values(), problems)
    return merged


def _first_rows(found: KitList) -> dict[str, int]:
    rows: dict[str, int] = {}
    for row in found.rows:
        if row.box:
            rows.setdefault(fold(row.box.number), row.row)
    return rows


def _row_inside(found: KitList, key: str) -> int:
    """The row that names this box only as the one that another stands in."""
    return next(row.row for row in found.rows if row.box and fold(row.box.inside) == key)


def _as_listed(box: Box, listed: ListedBox, columns: frozenset[str], ids: dict[str, Id]) -> Box:
    said = {
        field: taken(getattr(box, field), getattr(listed, field))
        for field, column in _FIELDS
        if column in columns
    }
    if "box_inside" in columns:
        inside = ids[fold(listed.inside)] if listed.inside else None
        return replace(box, number=taken(box.number, listed.number), inside=inside, **said)
    return replace(box, number=taken(box.number, listed.number), **said)


def _check_nesting(merged: list[Merged[Box]], existing: Iterable[Box], problems: Problems) -> None:
    inside = {box.id: box.inside for box in existing}
    inside |= {each.id: each.value.inside for each in merged}
    for each in merged:
        here, passed = inside[each.id], {each.id}
        while here is not None and here not in passed:
            passed.add(here)
            here = inside.get(here)
        if here == each.id and "inside" in each.fields:
            said = f"box {shown(each.value.number)} would stand in itself"
            problems.add(each.row, "box_inside", said)
