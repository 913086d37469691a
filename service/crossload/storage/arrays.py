"""Columns of whole numbers as numpy arrays, without a Python value for each number."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from crossload.storage import sql
from crossload.storage.database import is_sqlite


def columns(expressions: Sequence[str], source: str, *values: Any) -> list[NDArray[np.int64]]:
    """`SELECT expressions source`, an array for each expression: whole numbers, never NULL.

    The database hands over one long value for each column: text on SQLite, bytes on PostgreSQL.
    """
    form, read = (_TEXT, _of_text) if is_sqlite() else (_BYTES, _of_bytes)
    found = sql.row(f"SELECT {', '.join(map(form.format, expressions))} {source}", *values)
    return [read(one) if one else np.empty(0, np.int64) for one in found or ()]


_TEXT, _BYTES = "group_concat({})", "string_agg(int8send({}), '')"


def _of_text(told: str) -> NDArray[np.int64]:
    return np.fromstring(told, np.int64, sep=",")


def _of_bytes(told: bytes) -> NDArray[np.int64]:
    return np.frombuffer(told, ">i8").astype(np.int64)
