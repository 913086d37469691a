"""Items, boxes and shoot days: what a plain shelf cannot ask."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from crossload.domain.kit import Box, Item
from crossload.domain.shoot import ShootDay
from crossload.domain.tags import bare_code
from crossload.domain.window import Id, Instant
from crossload.storage import kept, sql
from crossload.storage.ids import new_id
from crossload.storage.shelf import Shelf


class Items(Shelf[Item]):
    def __init__(self, pool: Id):
        super().__init__(pool, kept.ITEM)

    def by_code(self, code: str) -> list[Item]:
        """Items whose tag, barcode or spoken number is this text."""
        text = "AND (tag = ? OR barcode = ? OR radio_number = ?) ORDER BY id"
        return self._where(text, code, code, code)

    def by_code_in_any_case(self, code: str) -> list[Item]:
        """As `by_code`, for a code that was typed in the wrong case (of a to z)."""
        text = (
            "AND (lower(tag) = lower(?) OR lower(barcode) = lower(?)"
            " OR lower(radio_number) = lower(?)) ORDER BY id"
        )
        return self._where(text, code, code, code)

    def by_code_however_spaced(self, code: str) -> list[Item]:
        """As `by_code_in_any_case`, spaces and hyphens aside; no spoken numbers."""
        bare = bare_code(code)
        tag, barcode = (
            f"replace(replace(lower({column}), ' ', ''), '-', '')" for column in ("tag", "barcode")
        )
        text = f"AND ({tag} = ? OR ({barcode} = ? AND barcode <> '')) ORDER BY id"
        return self._where(text, bare, bare) if bare else []

    def numbers(self, kit_types: Sequence[Id]) -> dict[Id, int]:
        """How many pieces each kit type has, retired ones left out."""
        text = (
            "SELECT kit_type_id, count(*) FROM item WHERE pool_id = ?"
            f" AND kit_type_id IN ({sql.marks(kit_types)})"
            " AND condition <> 'retired' GROUP BY kit_type_id"
        )
        return {kit_type: number for kit_type, number in sql.rows(text, self.pool, *kit_types)}

    def homes(self) -> list[tuple[Id, Id]]:
        """Each kit type with each box that is the home of some of its pieces."""
        text = (
            "SELECT DISTINCT kit_type_id, home_box_id FROM item"
            " WHERE pool_id = ? AND home_box_id IS NOT NULL"
        )
        return [(kit_type, box) for kit_type, box in sql.rows(text, self.pool)]

    def in_boxes(self, boxes: Sequence[Id]) -> list[Item]:
        """The pieces whose home is one of the boxes, retired ones left out."""
        text = f"AND home_box_id IN ({sql.marks(boxes)}) AND condition <> 'retired' ORDER BY id"
        return self._where(text, *boxes)

    def has_a_past(self, item: Id) -> bool:
        """Whether a line, a custody or an out-of-service window was ever about this piece."""
        asked = " UNION ALL ".join(
            f"SELECT 1 FROM {table} WHERE pool_id = ? AND item_id = ?"
            for table in ("line", "line_item", "custody", "out_of_service")
        )
        return sql.row(f"{asked} LIMIT 1", *[self.pool, item] * 4) is not None

    def ever_of(self, kit_type: Id) -> list[Id]:
        """The pieces of a kit type, retired ones too."""
        text = "SELECT id FROM item WHERE pool_id = ? AND kit_type_id = ? ORDER BY id"
        return [id for (id,) in sql.rows(text, self.pool, kit_type)]

    def ids_of(self, kit_types: Sequence[Id]) -> dict[Id, list[Id]]:
        """The pieces of each kit type, retired ones left out."""
        if not kit_types:
            return {}
        text = (
            f"SELECT kit_type_id, id FROM item WHERE pool_id = ? AND kit_type_id IN ({sql.marks(kit_types)})"
            " AND condition <> 'retired' ORDER BY id"
        )
        found: dict[Id, list[Id]] = {kit_type: [] for kit_type in kit_types}
        for kit_type, id in sql.rows(text, self.pool, *kit_types):
            found[kit_type].append(id)
        return found


class Boxes(Shelf[Box]):
    def __init__(self, pool: Id):
        super().__init__(pool, kept.BOX)

    def with_counts(self, boxes: Iterable[Box]) -> list[Box]:
        """The same boxes with what belongs in them by count."""
        text = "SELECT box_id, kit_type_id, quantity FROM box_count WHERE pool_id = ?"
        counts: dict[Id, dict[Id, int]] = {}
        for box, kit_type, quantity in sql.rows(text, self.pool):
            counts.setdefault(box, {})[kit_type] = quantity
        return [replace(box, counts=counts.get(box.id, {})) for box in boxes]

    def counts(self) -> dict[Id, list[tuple[Id, int]]]:
        """Boxes and how many of each kit type belong in them, in the order they were put there."""
        text = "SELECT kit_type_id, box_id, quantity FROM box_count WHERE pool_id = ? ORDER BY id"
        found: dict[Id, list[tuple[Id, int]]] = {}
        for kit_type, box, quantity in sql.rows(text, self.pool):
            found.setdefault(kit_type, []).append((box, quantity))
        return found

    def holding(self, kit_type: Id) -> list[Id]:
        """The boxes that hold a number of this kit type."""
        text = "SELECT box_id FROM box_count WHERE pool_id = ? AND kit_type_id = ? ORDER BY box_id"
        return [box for (box,) in sql.rows(text, self.pool, kit_type)]

    def set_counts(self, box: Id, counts: dict[Id, int]) -> None:
        """What belongs in a box by count; what was there before is replaced."""
        sql.run("DELETE FROM box_count WHERE pool_id = ? AND box_id = ?", self.pool, box)
        columns = ("id", "pool_id", "box_id", "kit_type_id", "quantity")
        lines = [(new_id(), self.pool, box, kind, n) for kind, n in sorted(counts.items()) if n > 0]
        sql.insert("box_count", columns, lines)

    def set_count(self, box: Id, kit_type: Id, quantity: int) -> None:
        """How many of a kit type belong in a box; 0 takes it out of the box."""
        where = "pool_id = ? AND box_id = ? AND kit_type_id = ?"
        sql.run(f"DELETE FROM box_count WHERE {where}", self.pool, box, kit_type)
        if quantity:
            columns = ("id", "pool_id", "box_id", "kit_type_id", "quantity")
            sql.insert("box_count", columns, [(new_id(), self.pool, box, kit_type, quantity)])


class ShootDays(Shelf[ShootDay]):
    def __init__(self, pool: Id):
        super().__init__(pool, kept.SHOOT_DAY)

    def between(self, since: Instant, until: Instant, unit: Id | None = None) -> list[ShootDay]:
        """Shoot days whose call to wrap overlaps [since, until), by call."""
        text, values = "AND wrap_s > ? AND call_s < ?", [since, until]
        if unit is not None:
            text, values = f"{text} AND unit_id = ?", [*values, unit]
        return self._where(f"{text} ORDER BY call_s, id", *values)
