"""The pools themselves."""

import json
from typing import Any

from crossload.domain.shoot import Pool
from crossload.domain.window import FOREVER, Id, Instant
from crossload.storage import kept, sql
from crossload.storage.database import connected


def add_pool(pool: Pool, now: Instant) -> None:
    columns = [*kept.POOL.columns, "revision", "next_settle_at", "next_change_at", "created_at"]
    line = [*kept.POOL.to_row(pool), 0, FOREVER, 0, now]
    with connected():
        sql.insert("pool", columns, [line])


def all_pools() -> list[Pool]:
    with connected():
        found = sql.rows(f"SELECT {kept.POOL.selected} FROM pool ORDER BY id")
        return [kept.POOL.to_value(row) for row in found]


def get_pool(id: Id) -> Pool | None:
    with connected():
        found = sql.row(f"SELECT {kept.POOL.selected} FROM pool WHERE id = ?", id)
        return kept.POOL.to_value(found) if found else None


class OwnPool:
    """A pool's own row, within a transaction."""

    def __init__(self, pool: Id):
        self.pool = pool

    def get(self) -> Pool:
        found = sql.row(f"SELECT {kept.POOL.selected} FROM pool WHERE id = ?", self.pool)
        if found is None:
            raise LookupError(f"there is no pool {self.pool}")
        return kept.POOL.to_value(found)

    def change(self, version: int | None, **changes: Any) -> bool:
        """Set fields and raise the version, if it still is `version` (any when None)."""
        sets = "".join(f'"{kept.POOL.column[field]}" = ?, ' for field in changes)
        values = [kept.POOL.to_column(field, value) for field, value in changes.items()]
        text = f"UPDATE pool SET {sets}version = version + 1 WHERE id = ?"
        values.append(self.pool)
        if version is not None:
            text, values = text + " AND version = ?", [*values, version]
        return bool(sql.run(text, *values).rowcount == 1)

    def set_aside(self, name: str, value: Any) -> None:
        """Keep one of the settings that the service itself keeps count with; no new version."""
        settings = json.loads(sql.row("SELECT settings FROM pool WHERE id = ?", self.pool)[0])  # type: ignore[index]
        text = "UPDATE pool SET settings = ? WHERE id = ?"
        sql.run(text, sql.dumps(settings | {name: value}), self.pool)
