"""Columns of whole numbers as numpy arrays, without a Python value for each number."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from crossload.storage import sql
from crossload.storage.sql import is_sqlite


def columns(expressions: Sequence[str], source: str, *values: Any) -> list[NDArray[np.int64]]:
    """`SELECT expressions source`, an array for each expression: whole numbers, never NULL.

    The database hands over one long value for each column: text on SQLite, bytes on PostgreSQL.
    """
    if is_sqlite():
        found = sql.row(f"SELECT {_each('group_concat({})', expressions)} {source}", *values)
        return [_of_text(one or "") for one in found or ()]
    text = f"SELECT {_each(_BYTES, expressions)} {source}"
    return [
        np.frombuffer(one or b"", ">i8").astype(np.int64) for one in sql.bytes_of(text, *values)
    ]


_BYTES = "string_agg(int8send({}), '')"


def _each(form: str, expressions: Sequence[str]) -> str:
    return ", ".join(map(form.format, expressions))


def _of_text(told: str) -> NDArray[np.int64]:
    return np.fromstring(told, np.int64, sep=",") if told else np.empty(0, np.int64)
