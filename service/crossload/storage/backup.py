"""Copies of a whole database, taken while it is in use, and put back."""

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

from psycopg.conninfo import conninfo_to_dict

from crossload.storage import sql
from crossload.storage.database import close_database, connected, is_sqlite
from crossload.storage.migrate import DIRECTORY

_SIDE_FILES = ("-wal", "-shm", "-journal")
_PG_VARIABLES = {
    "host": "PGHOST",
    "hostaddr": "PGHOSTADDR",
    "port": "PGPORT",
    "user": "PGUSER",
    "password": "PGPASSWORD",
    "dbname": "PGDATABASE",
    "sslmode": "PGSSLMODE",
    "target_session_attrs": "PGTARGETSESSIONATTRS",
}


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
        if is_sqlite():
            _vacuum_into(aside)
        else:
            _run("pg_dump", ["--format=custom", f"--file={aside}"], url)
        os.rename(aside, target)
    finally:
        aside.unlink(missing_ok=True)


def _vacuum_into(target: Path) -> None:
    """A plain copy of the file would miss what still lies in the WAL."""
    with connected():
        try:
            sql.run("VACUUM INTO ?", str(target))
        except Exception as error:
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
    known = {migration.stem for migration in DIRECTORY.glob("[0-9]*.py")}
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as db:
            state = db.execute("PRAGMA quick_check(1)").fetchone()[0]
            applied = {name for (name,) in db.execute("SELECT name FROM schema_migration")}
    except sqlite3.DatabaseError as error:
        return f"{path} is no crossload database: {error}"
    if state != "ok":
        return f"{path} is damaged: {state}"
    later = sorted(applied - known)
    return f"{path} was made by a newer crossload ({later[-1]})" if later else None


def restore_file(source: Path, database: Path) -> Path | None:
    """Put a backup in place of the embedded database, which nobody may have open.

    Answers where the database that stood there is now, None when there was none.
    """
    broken = check_file(source)
    if broken:
        raise BackupFailed(f"{broken}: nothing was put back")
    close_database()
    aside = database.with_name(database.name + ".restoring")
    shutil.copyfile(source, aside)
    kept = None
    if database.exists():
        kept = database.with_name(database.stem + "-before-restore.db")
        with closing(sqlite3.connect(database)) as db:
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        os.replace(database, kept)
    for ending in _SIDE_FILES:
        database.with_name(database.name + ending).unlink(missing_ok=True)
    os.replace(aside, database)
    return kept


def restore_dump(source: Path, url: str) -> None:
    """Put a pg_dump back in place of what the PostgreSQL database holds, all or nothing."""
    if not source.is_file():
        raise BackupFailed(f"there is no file {source}")
    name = conninfo_to_dict(url).get("dbname")
    options = ["--clean", "--if-exists", "--no-owner", "--single-transaction", f"--dbname={name}"]
    _run("pg_restore", [*options, str(source)], url)


def _run(program: str, options: list[str], url: str) -> None:
    """The address goes by the environment: a command line can be read by everybody on a machine."""
    found = shutil.which(program)
    if found is None:
        raise BackupFailed(
            f"{program} is missing: install PostgreSQL's client programs"
            " (on Debian: apt-get install postgresql-client)"
        )
    told = conninfo_to_dict(url)
    named = {_PG_VARIABLES[key]: str(value) for key, value in told.items() if key in _PG_VARIABLES}
    done = subprocess.run(  # noqa: S603
        [found, *options], env=os.environ | named, capture_output=True, text=True, check=False
    )
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["it gave no reason"])[-1]
        raise BackupFailed(f"{program} failed: {last}")
