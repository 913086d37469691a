"""The pieces of a kit list against those of the pool: which is which, and what would change."""

from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from crossload.domain.instants import shown
from crossload.domain.kit import Condition, Item, KitType
from crossload.domain.kit_list import KitList, KitRow, ListedPiece
from crossload.domain.lists.merged import Merged, Problems, taken, taken_notes
from crossload.domain.names import fold
from crossload.domain.tags import bare_code, is_made, make_tag
from crossload.domain.window import Id

_FIELDS = (
    "barcode",
    "serial_number",
    "radio_number",
    "owner",
    "owner_kind",
    "consent_required",
    "condition",
    "frequency_hz",
)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the list that is a piece, with the ids that its names stand for."""

    number: int
    kit_type: Id
    box: Id | None
    piece: ListedPiece

    @classmethod
    def of(cls, row: KitRow, types: Mapping[str, Id], boxes: Mapping[str, Id]) -> "Row | None":
        """A row that is a piece; None for any other. Ids are by folded name and number."""
        if row.kit_type is None or row.piece is None:
            return None
        box = boxes[fold(row.box.number)] if row.box else None
        return cls(row.row, types[fold(row.kit_type.name)], box, row.piece)


def merge_pieces(
    found: KitList,
    existing: Collection[Item],
    types: Mapping[str, KitType],
    boxes: Mapping[str, Id],
    new_id: Callable[[], Id],
    tags: "NewTags",
    problems: Problems,
) -> list[Merged[Item]]:
    """Each piece of the list. One without a tag keeps the one it has, or goes by its barcode, or is
    given a tag. A list can say that a piece is no longer fit, never that it is fit again.

    `types` are the pool's kit types and the list's, by folded name, `boxes` ids by folded number.
    """
    ids = {key: kit_type.id for key, kit_type in types.items()}
    rows = [row for each in found.rows if (row := Row.of(each, ids, boxes))]
    known = match(rows, existing)
    names = {kit_type.id: kit_type.name for kit_type in types.values()}
    merged = []
    for row in rows:
        before = known.get(row.number)
        if before and before.kit_type != row.kit_type:
            said = f"is a {shown(names[before.kit_type])} in this pool: a piece stays what it is"
            problems.add(row.number, "kit_type", said)
        fresh = before or Item(new_id(), row.kit_type, _code_of(row.piece) or tags.take())
        merged.append(Merged(row.number, _as_listed(fresh, row, found, before), before))
    _check_codes(merged, existing, types, problems)
    return merged


def _code_of(piece: ListedPiece) -> str:
    return piece.tag or piece.barcode


def _as_listed(item: Item, row: Row, found: KitList, before: Item | None) -> Item:
    piece, columns = row.piece, found.columns
    said: dict[str, Any] = {
        field: taken(getattr(item, field), getattr(piece, field))
        for field in _FIELDS
        if field in columns
    }
    # A spreadsheet that says "ok" as it did last year must not bring back what is in repair.
    if before and piece.condition is Condition.FIT:
        said["condition"] = before.condition
    # Without a column of its own the kind of owner is guessed, and only where the owner is new.
    guessed = "owner" in columns and "owner_kind" not in columns
    if guessed and (before is None or piece.owner != before.owner):
        said["owner_kind"] = piece.owner_kind
    if "box" in columns:
        said["home_box"] = row.box
    return replace(
        item,
        tag=taken(item.tag, piece.tag) if piece.tag else item.tag,
        notes=taken_notes(item.notes, piece.notes, found.piece_notes),
        **said,
    )


# --- which piece a row is

Key = Hashable | None


def _keys(
    piece: ListedPiece | Item, kit_type: Id, box: Id | None, *, has_own_tag: bool
) -> list[Key]:
    """What may tell which piece it is, the surest first; None for what is not said."""
    bare = not (has_own_tag or piece.barcode or piece.serial_number or piece.frequency_hz)
    return [
        piece.tag.casefold() or None,
        piece.barcode.casefold() or None,
        piece.serial_number and (kit_type, piece.serial_number.casefold()),
        piece.frequency_hz and (kit_type, piece.frequency_hz),
        (kit_type, piece.radio_number) if not has_own_tag and piece.radio_number else None,
        (kit_type, box) if bare else None,
        kit_type if bare else None,
    ]


def _keys_of_row(row: Row) -> list[Key]:
    return _keys(row.piece, row.kit_type, row.box, has_own_tag=bool(row.piece.tag))


def _keys_of_item(item: Item) -> list[Key]:
    """A tag that the service made says nothing of a row."""
    return _keys(item, item.kit_type, item.home_box, has_own_tag=not is_made(item.tag))


def match(rows: Iterable[Row], existing: Iterable[Item]) -> dict[int, Item]:
    """The piece that each row is, by its number; rows of new pieces are left out.

    Rows that nothing tells apart are taken for the pool's pieces of that kind, one each, so that
    the same list again makes nothing new.
    """
    left = [(row, _keys_of_row(row)) for row in rows]
    items = [(item, _keys_of_item(item)) for item in existing]
    found: dict[int, Item] = {}
    gone: set[Id] = set()
    for sureness in range(len(left[0][1]) if left else 0):
        by_key: dict[Key, list[Item]] = defaultdict(list)
        for item, keys in reversed(items):
            if keys[sureness] and item.id not in gone:
                by_key[keys[sureness]].append(item)
        for row, keys in left:
            if row.number not in found and keys[sureness] and by_key[keys[sureness]]:
                item = by_key[keys[sureness]].pop()
                found[row.number] = item
                gone.add(item.id)
    return found


# --- tags and codes


class NewTags:
    """Tags that nothing in the pool or the list is scanned by, from the serial that is next."""

    def __init__(self, serial: int, existing: Iterable[Item], listed: Iterable[KitRow]):
        self.serial = serial
        pieces: list[Item | ListedPiece] = [*existing, *(row.piece for row in listed if row.piece)]
        self._codes = {
            bare_code(code)
            for piece in pieces
            for code in (piece.tag, piece.barcode, piece.serial_number, piece.radio_number)
        }

    def take(self) -> str:
        """The next one; `serial` is past it."""
        while True:
            tag = make_tag(self.serial)
            self.serial += 1
            if bare_code(tag) not in self._codes:
                return tag


def _check_codes(
    merged: list[Merged[Item]],
    existing: Iterable[Item],
    types: Mapping[str, KitType],
    problems: Problems,
) -> None:
    """Note a code that a list would give to two pieces; what stands twice already may stay."""
    category = {kit_type.id: kit_type.category for kit_type in types.values()}
    items = {item.id: item for item in existing} | {each.id: each.value for each in merged}
    holders: dict[Hashable, dict[Id, Item]] = defaultdict(dict)
    for item in items.values():
        for key in _codes(item, category).values():
            holders[key][item.id] = item
    for each in merged:
        had = set(_codes(each.before, category).values()) if each.before else set()
        for field, key in _codes(each.value, category).items():
            others = [item for id, item in holders[key].items() if id != each.id]
            if others and key not in had:
                problems.add(
                    each.row, field, f"belongs to {shown(others[0].tag)} already in this pool"
                )


def _codes(item: Item, category: Mapping[Id, str]) -> dict[str, Hashable]:
    scanned = {"tag": item.tag, "barcode": item.barcode}
    codes: dict[str, Hashable] = {field: code.casefold() for field, code in scanned.items() if code}
    if item.radio_number:
        codes["radio_number"] = (category[item.kit_type], item.radio_number.casefold())
    if item.frequency_hz and item.condition is not Condition.RETIRED:
        codes["frequency_hz"] = item.frequency_hz
    return codes
