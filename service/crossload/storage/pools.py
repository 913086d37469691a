"""The pools themselves."""

from dataclasses import dataclass

from crossload.domain.shoot import Pool
from crossload.domain.window import FOREVER, Id, Instant
from crossload.storage import kept, sql
from crossload.storage.database import connected


def add_pool(pool: Pool, now: Instant) -> None:
    """Insert a new pool."""
    columns = [*kept.POOL.columns, "revision", "next_settle_at", "created_at"]
    line = [*kept.POOL.to_row(pool), 0, FOREVER, now]
    with connected():
        sql.insert("pool", columns, [line])


def all_pools() -> list[Pool]:
    """Every pool of the database, in order of making."""
    with connected():
        found = sql.rows(f"SELECT {kept.POOL.selected} FROM pool ORDER BY id")
        return [kept.POOL.to_value(row) for row in found]


@dataclass(frozen=True, slots=True)
class Pulse:
    """Whether a pool was written to, and when something falls due in it by itself."""

    pool: Id
    revision: int
    next_settle_at: Instant


def pulses() -> list[Pulse]:
    """Of every pool, in one statement."""
    with connected():
        found = sql.rows("SELECT id, revision, next_settle_at FROM pool ORDER BY id")
        return [Pulse(*row) for row in found]
