"""One database a process: opening it, and the only two ways to use it, `read` and `write`."""

import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import peewee
from playhouse.cysqlite_ext import PooledCySqliteDatabase
from playhouse.pool import PooledPostgresqlDatabase, PooledSqliteDatabase

from crossload.domain.window import Id, Instant
from crossload.storage.sql import is_sqlite
from crossload.storage.stores import Header, Stores
from crossload.storage.tables import proxy

PRAGMAS = {
    "journal_mode": "wal",
    "foreign_keys": 1,
    "cache_size": -16000,
    "journal_size_limit": 64 * 1024 * 1024,
    "synchronous": "full",
}
"""A booking that was answered survives a power cut: hence synchronous=full."""

BUSY_S = 10


class DatabaseUnavailable(Exception):
    """The database did not answer in time, or cannot be reached; nothing was written."""


class DatabaseDamaged(Exception):
    """The file is no database, or one that is damaged; the text says where and the mend."""


def open_database(url: str, *, engine: str = "cysqlite", connections: int = 40) -> None:
    """Bind this process to the database at `url`; no connection is made yet.

    `sqlite:///PATH` or `postgresql://…`. `engine` picks the SQLite library: `cysqlite`, which
    brings its own current SQLite, or `sqlite3`, the interpreter's (3.7.0 to 3.51.2 can corrupt a
    WAL database when a checkpoint meets a write).
    """
    close_database()
    if url.startswith("sqlite:///"):
        kind = PooledCySqliteDatabase if engine == "cysqlite" else PooledSqliteDatabase
        path = url.removeprefix("sqlite:///")
        options: dict[str, Any] = {"rank_functions": False} if engine == "cysqlite" else {}
        proxy.initialize(
            kind(
                path,
                pragmas=PRAGMAS,
                timeout=BUSY_S,
                max_connections=connections,
                lock_type="IMMEDIATE",
                autoconnect=False,
                **options,
            )
        )
    elif re.match(r"postgres(ql)?://", url):
        proxy.initialize(
            PooledPostgresqlDatabase(
                url,
                prefer_psycopg3=True,
                max_connections=connections,
                autoconnect=False,
                connect_timeout=2,
                tcp_user_timeout=5000,
                keepalives=1,
                keepalives_idle=30,
                options="-c statement_timeout=30000 -c lock_timeout=10000"
                " -c idle_in_transaction_session_timeout=30000 -c timezone=UTC",
            )
        )
    else:
        raise ValueError(f"{url!r} is no database address: sqlite:///PATH or postgresql://… is")


def close_database() -> None:
    """Close every connection of this process; a forked child calls it before its first use."""
    if proxy.obj is not None:
        proxy.obj.close_all()
        proxy.initialize(None)


@contextmanager
def connected() -> Iterator[peewee.Database]:
    """A connection for the length of the block; nested blocks share it.

    Raises DatabaseUnavailable and DatabaseDamaged for what the database says of itself.
    """
    db = proxy.obj
    if db is None:
        raise RuntimeError("no database is open: call open_database first")
    if not db.is_closed():
        yield db
        return
    try:
        db.connect()
        try:
            yield db
        finally:
            db.close()
    except (peewee.OperationalError, peewee.InterfaceError) as error:
        raise DatabaseUnavailable(str(error)) from error
    except peewee.DatabaseError as error:
        if type(error) is peewee.DatabaseError:  # all others are of a kind of their own
            raise _damaged(db, error) from error
        raise


def _damaged(db: peewee.Database, error: peewee.DatabaseError) -> DatabaseDamaged:
    return DatabaseDamaged(
        f"{db.database} is damaged or is no database: put a backup in its place with"
        f" crossload restore --replace ({error})"
    )


Settle = Callable[[Stores, Instant], Instant]
"""Carries out what has fallen due by an instant; answers when the next thing will."""


@contextmanager
def write(pool: Id, now: Instant, settle: Settle | None = None) -> Iterator[Stores]:
    """One write: the pool's lock, its next journal number and its change signal in one statement.

    What has fallen due by `now` is settled first. The transaction commits when the block ends and
    is undone when it raises. Raises LookupError when there is no such pool, DatabaseUnavailable
    when the lock is not had in time, RuntimeError inside another transaction.
    """
    with connected() as db:
        if db.in_transaction():
            raise RuntimeError("a write inside a transaction would be a silent savepoint")
        with db.atomic("IMMEDIATE" if is_sqlite() else "READ COMMITTED"):
            stores = Stores(Header.take(pool))
            if settle and stores.header.next_settle_at <= now:
                stores.settle_at(settle(stores, now))
            yield stores
            stores.finish()


@contextmanager
def read(pool: Id) -> Iterator[Stores]:
    """One snapshot of a pool: nothing that others commit meanwhile is seen."""
    with connected() as db:
        if db.in_transaction():
            raise RuntimeError("a read inside a transaction would not be a snapshot")
        with db.atomic("DEFERRED" if is_sqlite() else "REPEATABLE READ"):
            yield Stores(Header.look(pool))


def _after_fork() -> None:
    """A child must not share its parent's connections: forget them without closing the sockets."""
    if proxy.obj is not None:
        proxy.obj._connections.clear()
        proxy.obj._in_use.clear()
        proxy.obj._state.reset()


os.register_at_fork(after_in_child=_after_fork)
