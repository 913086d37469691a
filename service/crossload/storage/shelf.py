"""Values that are kept one row each: found, listed, added, and changed by version."""

import dataclasses
import json
from collections.abc import Callable, Iterable
from datetime import date
from typing import Any, Generic, Literal, TypeVar

from peewee import BooleanField, Field

from crossload.domain.window import Id
from crossload.storage import sql
from crossload.storage.sql import dumps
from crossload.storage.tables import Table

V = TypeVar("V")


@dataclasses.dataclass(frozen=True, slots=True)
class Codec:
    """How one field is written to its column and read back."""

    write: Callable[[Any], Any]
    read: Callable[[Any], Any]


JSON = Codec(dumps, json.loads)
DAY = Codec(date.toordinal, date.fromordinal)


def word(kind: Callable[[str], Any]) -> Codec:
    """A word of an enumeration, or nothing."""
    return Codec(
        lambda value: None if value is None else str(value), lambda text: text and kind(text)
    )


def _is_bool(field: Field) -> bool:
    return isinstance(field, BooleanField)


def _truth(cell: Any) -> bool | None:
    """SQLite gives 0 and 1 where PostgreSQL gives false and true."""
    return None if cell is None else bool(cell)


class Kept(Generic[V]):
    """How a frozen dataclass lies in its table: same names, `_id` added to references."""

    def __init__(self, table: type[Table], value: type[V], **codecs: Codec):
        self.table, self.value, self.codecs = table, value, codecs
        self.name = table._meta.table_name
        stored = table._meta.fields
        self.fields = [f.name for f in dataclasses.fields(value) if f.name in stored]  # type: ignore[arg-type]
        self.columns = [stored[name].column_name for name in self.fields]
        self.column = dict(zip(self.fields, self.columns, strict=True))
        self.selected = sql.names(self.columns)
        self._readers = [
            codecs[name].read if name in codecs else _truth if _is_bool(stored[name]) else None
            for name in self.fields
        ]

    def to_row(self, value: V) -> list[Any]:
        """The cells of a value, in the order of `columns`."""
        return [self.to_column(name, getattr(value, name)) for name in self.fields]

    def to_column(self, field: str, value: Any) -> Any:
        """A field's value as its column holds it."""
        return self.codecs[field].write(value) if field in self.codecs else value

    def to_cells(self, changes: dict[str, Any]) -> dict[str, Any]:
        """Fields' values by their columns, as the columns hold them."""
        return {self.column[name]: self.to_column(name, value) for name, value in changes.items()}

    def to_value(self, row: Iterable[Any]) -> V:
        """The value of a row whose cells are in the order of `columns`."""
        pairs = zip(self.fields, self._readers, row, strict=True)
        return self.value(**{name: read(cell) if read else cell for name, read, cell in pairs})


Compared = tuple[str, Literal["<", "<=", ">", ">="], Any]


class Shelf(Generic[V]):
    """One pool's rows of one kind."""

    def __init__(self, pool: Id, kept: Kept[V]):
        self.pool, self.kept = pool, kept

    def get(self, id: Id) -> V | None:
        """One; None when this pool has none of that id."""
        return next(iter(self._where("AND id = ?", id)), None)

    def some(self, ids: Iterable[Id]) -> dict[Id, V]:
        """Those of the ids that this pool has."""
        wanted = sorted(set(ids))
        found = self._where(f"AND id IN ({sql.marks(wanted)})", *wanted)
        return {value.id: value for value in found}  # type: ignore[attr-defined]

    def all(self, **equal: Any) -> list[V]:
        """Every one in order of id, narrowed as in `page`."""
        return self.page(0, None, **equal)

    def page(
        self, after: int, limit: int | None, compared: Iterable[Compared] = (), **equal: Any
    ) -> list[V]:
        """Rows in order of id beyond `after`; `equal` compares fields, None with null.

        `compared` holds ("day", ">=", value) and the like.
        """
        text, values = ["AND id > ?"], [after]
        for field, operator, value in compared:
            text.append(f'AND "{self.kept.column[field]}" {operator} ?')
            values.append(self.kept.to_column(field, value))
        for field, value in equal.items():
            column = self.kept.column[field]
            if value is None:
                text.append(f'AND "{column}" IS NULL')
            else:
                text.append(f'AND "{column}" = ?')
                values.append(self.kept.to_column(field, value))
        text.append("ORDER BY id")
        if limit is not None:
            text.append("LIMIT ?")
            values.append(limit)
        return self._where(" ".join(text), *values)

    def add(self, *values: V, **extra: Any) -> None:
        """Insert; `extra` fills columns that the value does not have."""
        columns = ["pool_id", *self.kept.columns, *extra]
        lines = [[self.pool, *self.kept.to_row(value), *extra.values()] for value in values]
        sql.insert(self.kept.name, columns, lines)

    def change(self, id: Id, version: int | None, **changes: Any) -> bool:
        """Set fields and raise the version, if it still is `version` (any when None)."""
        cells = self.kept.to_cells(changes)
        return sql.change(self.kept.name, cells, version, pool_id=self.pool, id=id)

    def _where(self, more: str, *values: Any) -> list[V]:
        """Those of the pool's for which `more` holds: AND and its conditions, then any order."""
        text = f'SELECT {self.kept.selected} FROM "{self.kept.name}" WHERE pool_id = ? {more}'
        return [self.kept.to_value(row) for row in sql.rows(text, self.pool, *values)]
