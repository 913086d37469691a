"""What the tests need from outside Python: a PostgreSQL cluster to throw away, and Chromium.

Run as a program it prints the Debian packages that are missing.
"""

import os
import pwd
import secrets
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from graphlib import TopologicalSorter
from pathlib import Path

import psycopg

CHROMIUM_NAMES = ("chromium", "chromium-browser")

# Without these a start looks up hosts in vain and a closed network refuses it many times over.
CHROMIUM_FLAGS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

# The watcher reads a pipe that only the tests hold open. However they end, kill -9 included, the
# pipe closes, the server stops and the folder goes. SIGQUIT: nothing here is worth a checkpoint.
WATCHER = """
folder=$1; shift
"$@" &
server=$!
read -r _
kill -QUIT "$server" 2>/dev/null
wait "$server"
cd / && rm -rf -- "$folder"
"""

START_SECONDS = 30


class MissingProgram(RuntimeError):
    """A program that the tests cannot do without is not on this machine."""


def find_postgres(folders: Sequence[Path] | None = None) -> Path:
    """The folder of PostgreSQL's server programs, the newest version first."""
    if folders is None:
        debian = Path("/usr/lib/postgresql").glob("*/bin")
        newest_first = sorted(debian, key=lambda path: int(path.parent.name), reverse=True)
        folders = [*newest_first, *map(Path, os.get_exec_path())]
    for folder in folders:
        if all(os.access(folder / name, os.X_OK) for name in ("initdb", "postgres")):
            return folder
    raise MissingProgram(
        "PostgreSQL's server programs are missing: install them "
        "(on Debian: apt-get install postgresql)"
    )


def find_chromium() -> Path:
    """Chromium itself, for playwright to drive; nothing is downloaded."""
    for name in CHROMIUM_NAMES:
        if found := shutil.which(name):
            return Path(found)
    raise MissingProgram("Chromium is missing: install it (on Debian: apt-get install chromium)")


@contextmanager
def throwaway_postgres() -> Iterator[str]:
    """A cluster of its own with one empty database; yields its postgresql:// URL.

    It listens on a free port of 127.0.0.1 with a password, and syncs to disk as a real one does.
    The URL's role may create databases and is no superuser.
    """
    programs = find_postgres()
    identity = _ordinary_identity()
    folder = Path(tempfile.mkdtemp(prefix="crossload-pg-", dir="/tmp" if identity else None))
    keeper_password = secrets.token_hex(16)
    try:
        _make_cluster(programs, folder, keeper_password, identity)
        port = free_port()
        watcher = _start_server(programs, folder, port, identity)
    except BaseException:
        shutil.rmtree(folder)
        raise
    try:
        address = f"127.0.0.1:{port}"
        with _connect_when_ready(
            f"postgresql://keeper:{keeper_password}@{address}/postgres", watcher, folder / "log"
        ) as keeper:
            yield _add_role_and_database(keeper, address)
    finally:
        watcher.stdin.close()
        watcher.wait(timeout=START_SECONDS)


def fresh_database(url: str) -> str:
    """The URL of a new, empty database beside the one of `url`; it goes when its cluster goes.

    Made in 0.1 s. It is not dropped: that waits for a checkpoint, up to 1.5 s on a busy disk.
    """
    name = f"fresh_{secrets.token_hex(8)}"
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE template0")
    return url.rpartition("/")[0] + f"/{name}"


def empty_database(url: str, keep: Sequence[str]) -> None:
    """Deletes every row of every table but those named in `keep`, and ends all other connections.

    5 ms, where TRUNCATE syncs a new file for each table and index and takes up to 0.6 s.
    """
    with psycopg.connect(url) as connection:
        connection.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            # Not the server's own, which may be tidying a table just now: they are not ours to end.
            " AND backend_type = 'client backend'"
        )
        for table in _children_first(connection):
            if table not in keep:
                connection.execute(f"DELETE FROM {table}")


def _children_first(connection: psycopg.Connection) -> list[str]:
    """The tables of the schema in an order that breaks no reference when emptied."""
    tables = connection.execute(
        "SELECT oid::regclass::text FROM pg_class"
        " WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace"
    )
    children: dict[str, set[str]] = {table: set() for (table,) in tables}
    references = connection.execute(
        "SELECT conrelid::regclass::text, confrelid::regclass::text FROM pg_constraint"
        " WHERE contype = 'f' AND conrelid <> confrelid"
    )
    for child, parent in references:
        children[parent].add(child)
    return list(TopologicalSorter(children).static_order())


def _ordinary_identity() -> dict[str, object]:
    """How a root process starts PostgreSQL, which refuses to be root; empty for anybody else."""
    if os.geteuid() != 0:
        return {}
    for name in ("postgres", "nobody"):
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}
    raise MissingProgram("PostgreSQL does not run as root, and there is no user postgres or nobody")


def _make_cluster(programs: Path, folder: Path, password: str, identity: dict[str, object]) -> None:
    password_file = folder / "password"
    password_file.touch(mode=0o600)
    password_file.write_text(password)
    if identity:
        for path in (folder, password_file):
            os.chown(path, identity["user"], identity["group"])
    made = subprocess.run(
        [
            programs / "initdb",
            f"--pgdata={folder / 'cluster'}",
            "--username=keeper",
            f"--pwfile={password_file}",
            "--auth=scram-sha-256",
            "--encoding=UTF8",
            "--no-locale",
            "--no-sync",
        ],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        **identity,
    )
    if made.returncode:
        raise RuntimeError(f"initdb failed: {made.stderr.strip()}")


def free_port() -> int:
    """A port of 127.0.0.1 that nobody listened on a moment ago."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _start_server(
    programs: Path, folder: Path, port: int, identity: dict[str, object]
) -> subprocess.Popen:
    server = [programs / "postgres", "-D", folder / "cluster", "-p", str(port)]
    settings = ["listen_addresses=127.0.0.1", "unix_socket_directories=", "max_connections=200"]
    for setting in settings:
        server += ["-c", setting]
    with (folder / "log").open("wb") as log:
        return subprocess.Popen(
            ["/bin/sh", "-c", WATCHER, "watcher", folder, *server],
            stdin=subprocess.PIPE,
            stdout=log,
            stderr=log,
            cwd=folder,
            start_new_session=True,  # Ctrl-C is for the tests, which then close the pipe
            **identity,
        )


def _connect_when_ready(url: str, watcher: subprocess.Popen, log: Path) -> psycopg.Connection:
    deadline = time.monotonic() + START_SECONDS
    while True:
        try:
            return psycopg.connect(url, autocommit=True)
        except psycopg.OperationalError as error:
            if time.monotonic() > deadline:
                raise RuntimeError(f"PostgreSQL did not start: {log.read_text()}") from error
            time.sleep(0.05)


def _add_role_and_database(keeper: psycopg.Connection, address: str) -> str:
    password = secrets.token_hex(16)
    keeper.execute(f"CREATE ROLE crossload LOGIN CREATEDB PASSWORD '{password}'")
    keeper.execute("CREATE DATABASE crossload OWNER crossload TEMPLATE template0")
    return f"postgresql://crossload:{password}@{address}/crossload"


def missing_packages() -> list[str]:
    """The Debian packages that would bring what is not here."""
    missing = []
    for package, find in (("postgresql", find_postgres), ("chromium", find_chromium)):
        try:
            find()
        except MissingProgram:
            missing.append(package)
    return missing


if __name__ == "__main__":
    print(*missing_packages())
