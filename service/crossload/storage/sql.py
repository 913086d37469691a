"""SQL text for both databases, and rows out of it."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

import peewee
from peewee import __exception_wrapper__  # type: ignore[attr-defined]

from crossload.storage.tables import proxy

_AT_ONCE = 900
"""How many values one statement takes at the most."""

Rows = tuple[str, Sequence[str], Sequence[Sequence[Any]]]
"""A table, columns of it, and rows for them."""


def is_sqlite() -> bool:
    """Whether the open database is the embedded one."""
    return isinstance(proxy.obj, peewee.SqliteDatabase)


@cache
def _translated(text: str, mark: str) -> str:
    return text.replace("?", mark)


def run(text: str, *values: Any) -> Any:
    """Run one statement with `?` for values; answers the cursor."""
    db = proxy.obj
    return db.execute_sql(_translated(text, db.param), values)


def rows(text: str, *values: Any) -> list[tuple[Any, ...]]:
    """All rows of one statement."""
    found: list[tuple[Any, ...]] = run(text, *values).fetchall()
    return found


def row(text: str, *values: Any) -> tuple[Any, ...] | None:
    """The first row of one statement; None where there is none."""
    found: tuple[Any, ...] | None = run(text, *values).fetchone()
    return found


def bytes_of(text: str, *values: Any) -> tuple[bytes | None, ...]:
    """The one row of a statement that PostgreSQL answers with bytes, sent as they are.

    As text, the driver's own way, they would be twice as long.
    """
    db = proxy.obj
    with __exception_wrapper__:
        cursor = db.cursor()
        cursor.execute(_translated(text, db.param), values, binary=True)
        found: tuple[bytes | None, ...] = cursor.fetchone()
    return found


def marks(values: Sequence[Any]) -> str:
    """`?, ?, ?` for an IN list; an empty one matches nothing."""
    return ", ".join("?" * len(values)) or "NULL"


def words(known: Iterable[str]) -> str:
    """`'a', 'b'` for an IN list: words of the program's own, never of an asker's."""
    return ", ".join(f"'{word}'" for word in known)


def names(columns: Iterable[str]) -> str:
    """`"a", "b"` for a list of columns."""
    return ", ".join(f'"{column}"' for column in columns)


def insert(table: str, columns: Sequence[str], lines: Iterable[Sequence[Any]]) -> None:
    """Insert rows, many a statement."""
    for _ in _inserted(table, columns, lines):
        pass


def insert_together(parts: Sequence[Rows]) -> None:
    """Insert a few rows of several tables, those that are referred to before those that refer.

    PostgreSQL takes them in one statement, which spares a round trip a table.
    """
    parts = [part for part in parts if part[2]]
    values = [value for _, _, lines in parts for line in lines for value in line]
    if is_sqlite() or len(parts) < 2 or len(values) > _AT_ONCE:
        for part in parts:
            insert(*part)
        return
    *others, last = (
        _insert_of(table, tuple(columns), len(lines)) for table, columns, lines in parts
    )
    named = ", ".join(f"part_{at} AS ({text})" for at, text in enumerate(others))
    run(f"WITH {named} {last}", *values)


def insert_new(
    table: str, columns: Sequence[str], lines: Iterable[Sequence[Any]], *, key: str, answer: str
) -> list[tuple[Any, ...]]:
    """Insert rows but those whose `key` is there already; the columns `answer` of those inserted."""
    more = f" ON CONFLICT ({key}) DO NOTHING RETURNING {answer}"
    return [found for done in _inserted(table, columns, lines, more) for found in done.fetchall()]


def _inserted(
    table: str, columns: Sequence[str], lines: Iterable[Sequence[Any]], more: str = ""
) -> Iterator[Any]:
    at_once = max(1, _AT_ONCE // len(columns))
    lines = list(lines)
    for start in range(0, len(lines), at_once):
        some = lines[start : start + at_once]
        flat = [value for line in some for value in line]
        yield run(_insert_of(table, tuple(columns), len(some)) + more, *flat)


@cache
def _insert_of(table: str, columns: tuple[str, ...], rows: int) -> str:
    one = f"({marks(columns)})"
    return f'INSERT INTO "{table}" ({names(columns)}) VALUES {", ".join([one] * rows)}'


def update(table: str, changes: Mapping[str, Any], **where: Any) -> None:
    """Set columns of the rows whose columns equal `where`."""
    _update(table, [f'"{column}" = ?' for column in changes], changes, where)


def change(table: str, changes: Mapping[str, Any], version: int | None, **where: Any) -> bool:
    """As `update`, and raise the row's version, if it still is `version` (any when None)."""
    sets = [*(f'"{column}" = ?' for column in changes), "version = version + 1"]
    if version is not None:
        where["version"] = version
    return _update(table, sets, changes, where) == 1


def _update(
    table: str, sets: Iterable[str], changes: Mapping[str, Any], where: Mapping[str, Any]
) -> int:
    equal = " AND ".join(f'"{column}" = ?' for column in where)
    text = f'UPDATE "{table}" SET {", ".join(sets)} WHERE {equal}'
    return int(run(text, *changes.values(), *where.values()).rowcount)


def dumps(value: Any) -> str:
    """JSON in one spelling, so that equal values are equal texts."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
