"""Copies of a whole database, taken while it is in use, and put back."""

import os
import re
import shutil
import sqlite3
import subprocess
from contextlib import closing
from itertools import count
from pathlib import Path

import peewee
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from crossload.storage import sql
from crossload.storage.database import close_database, connected
from crossload.storage.migrate import DIRECTORY
from crossload.storage.sql import is_sqlite

_SIDE_FILES = ("-wal", "-shm", "-journal")
_IN_PLACE = ("--clean", "--if-exists", "--no-owner", "--single-transaction")
_IN_USE_S = 1.0
"""So long an open database is given to be let go, before it counts as in use."""


class BackupFailed(Exception):
    """No backup was made, or nothing was put back; the text says why and what to mend."""


def back_up(target: Path, url: str) -> None:
    """Write the open database to a new file: SQLite's by VACUUM INTO, PostgreSQL's by pg_dump."""
    if target.exists():
        raise BackupFailed(f"{target} is there already: name a new file")
    if not target.parent.is_dir():
        raise BackupFailed(f"there is no folder {target.parent}: make it first")
    aside = target.with_name(f".{target.name}.partial")
    aside.unlink(missing_ok=True)
    try:
        aside.touch(mode=0o600)  # everybody's password hash is in it
        if is_sqlite():
            _vacuum_into(aside)
        else:
            _run("pg_dump", ["--format=custom", f"--file={aside}", _address(url)], url)
        os.rename(aside, target)
    except OSError as error:
        raise BackupFailed(f"{target} cannot be written: {error.strerror}") from error
    finally:
        aside.unlink(missing_ok=True)


def _vacuum_into(target: Path) -> None:
    """A plain copy of the file would miss what still lies in the WAL."""
    with connected():
        try:
            sql.run("VACUUM INTO ?", str(target))
        except peewee.DatabaseError as error:
            raise BackupFailed(f"{target.parent} takes no backup: {error}") from error
    broken = check_file(target)
    if broken:
        raise BackupFailed(f"the database is damaged: {broken}")
    with target.open("rb") as written:
        os.fsync(written.fileno())


def check_file(path: Path) -> str | None:
    """What is wrong with a file as a crossload database of this version or an earlier one."""
    if not path.is_file():
        return f"there is no file {path}"
    try:
        with closing(_reading(path)) as db:
            state = db.execute("PRAGMA quick_check(1)").fetchone()[0]
            applied = {name for (name,) in db.execute("SELECT name FROM schema_migration")}
    except sqlite3.DatabaseError as error:
        return f"{path} is no crossload database: {error}"
    if state != "ok":
        return f"{path} is damaged: {state}"
    return _newer(path, applied)


def damage() -> list[str]:
    """What is broken in the open embedded database itself; PostgreSQL sees to its own."""
    if not is_sqlite():
        return []
    with connected():
        states = [state for (state,) in sql.rows("PRAGMA quick_check(20)") if state != "ok"]
        lost = sql.rows("PRAGMA foreign_key_check")
    return [
        *(f"the database is damaged: {state}" for state in states),
        *(f"row {row} of {table} names a {to} that is not there" for table, row, to, _ in lost),
    ]


def _newer(path: Path, applied: set[str]) -> str | None:
    later = sorted(applied - {migration.stem for migration in DIRECTORY.glob("[0-9]*.py")})
    return f"{path} was made by a newer crossload ({later[-1]})" if later else None


def _reading(path: Path) -> sqlite3.Connection:
    """The address is quoted: a # in a file's name would end it, and open another file to write."""
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)


def restore_file(source: Path, database: Path) -> Path | None:
    """Put a backup in place of the embedded database, which nobody may have open.

    Answers where the database that stood there is now, None when there was none.
    """
    broken = check_file(source)
    if broken:
        raise BackupFailed(f"{broken}: nothing was put back")
    close_database()
    aside = database.with_name(database.name + ".restoring")
    aside.unlink(missing_ok=True)
    try:
        # Not a copy of the file: a database that was copied by hand may have its last rows in a WAL.
        with closing(_reading(source)) as old, closing(sqlite3.connect(aside)) as new:
            old.backup(new)
        kept = _keep(database) if database.exists() else None
        os.replace(aside, database)
    finally:
        aside.unlink(missing_ok=True)
    return kept


def _keep(database: Path) -> Path:
    """Give what is there a second name that nothing has, so that at no instant there is none."""
    release_file(database)
    names = (f"{database.stem}-before-restore{f'-{n}' if n > 1 else ''}.db" for n in count(1))
    kept = next(path for path in map(database.with_name, names) if not path.exists())
    try:
        os.link(database, kept)
    except OSError:  # a file system without second names
        os.replace(database, kept)
    for ending in _SIDE_FILES:
        left = database.with_name(database.name + ending)
        if left.exists():
            os.replace(left, kept.with_name(kept.name + ending))
    return kept


def release_file(database: Path) -> None:
    """Bring what lies beside the file into it; BackupFailed when somebody has it open.

    Leaving the WAL mode needs the file for oneself, which is how the others are found out.
    A file that is damaged stays as it is.
    """
    try:
        with closing(sqlite3.connect(database, timeout=_IN_USE_S)) as db:
            db.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError as error:
        raise BackupFailed(
            f"{database} is in use ({error}): end the crossload worker or command that uses it"
        ) from error
    except sqlite3.DatabaseError:
        return


def holds_pools() -> bool:
    """Whether something would be lost with what the open PostgreSQL database holds."""
    with connected():
        there = sql.row("SELECT to_regclass('pool') IS NOT NULL")
        return there == (True,) and sql.row("SELECT 1 FROM pool LIMIT 1") is not None


def restore_dump(source: Path, url: str) -> None:
    """Put a pg_dump back in place of what the PostgreSQL database holds, all or nothing."""
    if not source.is_file():
        raise BackupFailed(f"there is no file {source}: nothing was put back")
    newer = _newer(source, _applied_in_dump(source, url))
    if newer:
        raise BackupFailed(f"{newer}: nothing was put back")
    close_database()
    _run("pg_restore", [*_IN_PLACE, _address(url), str(source)], url)


def _applied_in_dump(source: Path, url: str) -> set[str]:
    """The migrations that a dump knows, from the rows of its table as pg_restore writes them."""
    only = ["--data-only", "--table=schema_migration", "--file=-", str(source)]
    return set(re.findall(r"^\d+\t(\w+)\t", _run("pg_restore", only, url), re.M))


def _address(url: str) -> str:
    """All of the address but the password: a command line can be read by all on a machine."""
    told = conninfo_to_dict(url) | {"password": None}
    return f"--dbname={make_conninfo('', **told)}"


def _run(program: str, options: list[str], url: str) -> str:
    """Run one of PostgreSQL's programs, the password in its environment; answers what it wrote."""
    found = shutil.which(program)
    if found is None:
        raise BackupFailed(
            f"{program} is missing: install PostgreSQL's client programs"
            " (on Debian: apt-get install postgresql-client)"
        )
    password = conninfo_to_dict(url).get("password")
    named = {"PGPASSWORD": str(password)} if password else {}
    done = subprocess.run(  # noqa: S603
        [found, *options], env=os.environ | named, capture_output=True, text=True, check=False
    )
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["it gave no reason"])[-1]
        raise BackupFailed(f"{program} failed: {last.removeprefix(f'{program}: ')}")
    return done.stdout
