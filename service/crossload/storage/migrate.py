"""Bringing a database to the schema of this program."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playhouse.migrations import Runner

from crossload.storage import sql
from crossload.storage.database import connected
from crossload.storage.sql import is_sqlite
from crossload.storage.tables import proxy

DIRECTORY = Path(__file__).with_name("migrations")
_LOCK = 0x63726F73


class DatabaseTooNew(Exception):
    """The database was migrated by a later version of the program."""


class DatabaseTooOld(Exception):
    """The database waits for migrations that only `crossload migrate` may run."""


def migrate() -> list[str]:
    """Apply what is missing, one process at a time; answers the names of what was applied.

    Raises DatabaseTooNew when the database knows a migration that this program does not.
    """
    with _alone(), connected():
        runner = _runner()
        applied: list[str] = runner.up()
        if applied and is_sqlite():
            broken = sql.run("PRAGMA foreign_key_check").fetchall()
            if broken:
                raise RuntimeError(f"references that lead nowhere after migrating: {broken[:5]}")
    return applied


def pending() -> list[str]:
    """The names of migrations not applied yet."""
    with connected():
        return [m.name for m in _runner().status() if m.applied is None]


def _runner() -> Runner:
    runner = Runner(proxy.obj, directory=str(DIRECTORY))
    unknown = [m.name for m in runner.status() if m.path is None]
    if unknown:
        raise DatabaseTooNew(
            f"this database was made by a newer crossload ({unknown[-1]}): install that version"
        )
    return runner


@contextmanager
def _alone() -> Iterator[None]:
    """One migration at a time: an advisory lock on PostgreSQL, a lock file beside SQLite's."""
    if not is_sqlite():
        with connected():
            sql.run("SELECT pg_advisory_lock(?)", _LOCK)
            try:
                yield
            finally:
                sql.run("SELECT pg_advisory_unlock(?)", _LOCK)
    elif proxy.obj.database == ":memory:":
        yield
    else:
        with Path(f"{proxy.obj.database}.migrating").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield
