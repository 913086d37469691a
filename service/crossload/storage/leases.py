"""Leases: who runs what only one process may run, until when, and under which fence number.

The database's clock decides, in milliseconds: those of several machines may differ by more than a
lease. On SQLite it is the one machine's own.
"""

from typing import Any

from crossload.storage import sql
from crossload.storage.database import connected
from crossload.storage.sql import is_sqlite

_NOW_MS = {
    True: "CAST(round((julianday('now') - 2440587.5) * 86400000) AS INTEGER)",
    False: "CAST(extract(epoch FROM clock_timestamp()) * 1000 AS BIGINT)",
}
"""On SQLite and on PostgreSQL; 2440587.5 is the Julian day of 1970."""


def take(name: str, holder: str, lease_ms: int) -> int | None:
    """Take the lease if nobody holds it; answers the fence, None where somebody does.

    The fence grows with each taking, so that a holder who was thought dead can be told apart.
    """
    now = _NOW_MS[is_sqlite()]
    text = (
        "INSERT INTO lease (name, holder, fence, until_ms)"
        f" VALUES (?, ?, 1, {now} + ?)"
        " ON CONFLICT (name) DO UPDATE SET holder = excluded.holder, fence = lease.fence + 1,"
        f" until_ms = excluded.until_ms WHERE lease.until_ms <= {now} RETURNING fence"
    )
    found = _rows(text, name, holder, lease_ms)
    return int(found[0][0]) if found else None


def renew(name: str, holder: str, fence: int, lease_ms: int) -> bool:
    """Hold it for longer, also when it had run out and nobody took it; False when somebody did."""
    text = (
        f"UPDATE lease SET until_ms = {_NOW_MS[is_sqlite()]} + ?"
        " WHERE name = ? AND holder = ? AND fence = ? RETURNING fence"
    )
    return bool(_rows(text, lease_ms, name, holder, fence))


def give_up(name: str, holder: str, fence: int) -> None:
    """Let the next one take it at once."""
    text = (
        "UPDATE lease SET until_ms = 0 WHERE name = ? AND holder = ? AND fence = ? RETURNING fence"
    )
    _rows(text, name, holder, fence)


def _rows(text: str, *values: object) -> list[tuple[Any, ...]]:
    with connected():
        return sql.rows(text, *values)
