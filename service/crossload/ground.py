"""What must hold before a command works: the folder, the port, the database."""

import errno
import fcntl
import os
import socket
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO

from crossload.settings import Settings
from crossload.storage import migrate
from crossload.storage.backup import release_file
from crossload.storage.database import close_database, open_database

OURS = ("crossload.db", "crossload.db-wal", "crossload.db-shm", "crossload.db.migrating")

ADDRESS = "address"
"""The file in the data folder that says where the board was last served."""


class CannotGoOn(Exception):
    """Something stands in the way; the text says it and its mend."""


def check_folder(settings: Settings) -> None:
    """The data folder is there and can be written; it is made when it is not there."""
    try:
        settings.data.mkdir(parents=True, exist_ok=True)
        with TemporaryFile(dir=settings.data):  # two commands may look at once
            pass
    except OSError as error:
        raise CannotGoOn(
            f"the folder {settings.data} cannot be written ({error.strerror}):"
            " name another with --data"
        ) from error


def hold_folder(settings: Settings) -> IO[str]:
    """Keep others from serving this folder, for as long as the file stays open.

    Two servers on one embedded database would be right but pointless, and mostly a mistake.
    """
    path = settings.data / "serving.lock"
    lock = path.open("a+")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        lock.seek(0)
        whose = lock.read().strip()
        lock.close()
        raise CannotGoOn(
            f"another crossload{f' (process {whose})' if whose else ''} serves the folder"
            f" {settings.data}: end that one, or name another folder with --data"
        ) from error
    lock.truncate(0)
    lock.write(str(os.getpid()))
    lock.flush()
    return lock


def note_address(settings: Settings) -> None:
    """Keep where the board is served, for links that are made by another command."""
    (settings.data / ADDRESS).write_text(f"{settings.board}\n")


def noted_address(settings: Settings) -> str:
    """The board's address: as set, else as the folder was last served, else by the settings."""
    noted = settings.data / ADDRESS
    if settings.address or not noted.is_file():
        return settings.board
    return noted.read_text().strip() or settings.board


def check_port(settings: Settings) -> None:
    """The port can be had, tried as gunicorn will."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((settings.host, settings.port))
        except OSError as error:
            why = {
                "EADDRINUSE": f"port {settings.port} is taken: end what uses it, or name another"
                " with --port",
                "EACCES": f"port {settings.port} is not yours to use: name one above 1023 with"
                " --port",
            }.get(_name_of(error), f"{settings.host} is no address of this machine: see --host")
            raise CannotGoOn(why) from error


def _name_of(error: OSError) -> str:
    return errno.errorcode.get(error.errno or 0, "")


def prepare_database(settings: Settings) -> None:
    """Open it and bring it to this program's schema; PostgreSQL waits for `crossload migrate`."""
    open_database(settings.database, engine=settings.sqlite_engine)
    if settings.is_embedded:
        migrate.migrate()
    elif migrate.pending():
        raise CannotGoOn("the database waits for migrations: run crossload migrate first")


def start_afresh(settings: Settings) -> None:
    """Remove the embedded database, and nothing else that may lie in the folder."""
    if not settings.is_embedded or settings.database_url:
        raise CannotGoOn("--fresh empties the data folder's own database alone: leave it out")
    close_database()
    if (settings.data / OURS[0]).exists():
        release_file(settings.data / OURS[0])
    for name in OURS:
        (settings.data / name).unlink(missing_ok=True)


def fixtures_folder() -> Path:
    """The demo's files: beside the source in a checkout, else inside the package."""
    package = Path(__file__).resolve().parent
    for folder in (package.parents[1] / "fixtures", package / "fixtures"):
        if (folder / "kit-list.csv").is_file():
            return folder
    raise CannotGoOn("the demo's files are missing: install crossload anew, or check fixtures/")
