"""SQL text for both databases, and rows out of it."""

import json
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from crossload.storage.tables import proxy


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


def marks(values: Sequence[Any]) -> str:
    """`?, ?, ?` for an IN list; an empty one matches nothing."""
    return ", ".join("?" * len(values)) or "NULL"


def words(known: Iterable[str]) -> str:
    """`'a', 'b'` for an IN list: words of the program's own, never of an asker's."""
    return ", ".join(f"'{word}'" for word in known)


def insert(table: str, columns: Sequence[str], lines: Iterable[Sequence[Any]]) -> int:
    """Insert rows, many a statement; answers how many were written."""
    at_once = max(1, 900 // len(columns))
    lines, written = list(lines), 0
    for start in range(0, len(lines), at_once):
        some = lines[start : start + at_once]
        flat = [value for line in some for value in line]
        written += run(_insert_of(table, tuple(columns), len(some)), *flat).rowcount
    return written


@cache
def _insert_of(table: str, columns: tuple[str, ...], rows: int) -> str:
    names = ", ".join(f'"{column}"' for column in columns)
    one = f"({', '.join('?' * len(columns))})"
    return f'INSERT INTO "{table}" ({names}) VALUES {", ".join([one] * rows)}'


def dumps(value: Any) -> str:
    """JSON in one spelling, so that equal values are equal texts."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
