"""The web server's process: what must hold before it starts, and gunicorn around the app."""

import errno
import fcntl
import os
import socket
from contextlib import ExitStack
from pathlib import Path
from typing import IO, Any

from gunicorn.app.base import BaseApplication

from crossload.api import request_log
from crossload.app import Clock, create_app, system_clock
from crossload.settings import Settings
from crossload.storage import migrate
from crossload.storage.database import close_database, open_database
from crossload.worker import Stop, start_scheduler

OURS = ("crossload.db", "crossload.db-wal", "crossload.db-shm", "crossload.db.migrating")


class CannotServe(Exception):
    """Something stands in the way; the text says it and its mend."""


def check_folder(settings: Settings) -> None:
    """The data folder is there and can be written; it is made when it is not there."""
    try:
        settings.data.mkdir(parents=True, exist_ok=True)
        probe = settings.data / ".writable"
        probe.touch()
        probe.unlink()
    except OSError as error:
        raise CannotServe(
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
        raise CannotServe(
            f"another crossload{f' (process {whose})' if whose else ''} serves the folder"
            f" {settings.data}: end that one, or name another folder with --data"
        ) from error
    lock.truncate(0)
    lock.write(str(os.getpid()))
    lock.flush()
    return lock


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
            raise CannotServe(why) from error


def _name_of(error: OSError) -> str:
    return errno.errorcode.get(error.errno or 0, "")


def prepare_database(settings: Settings) -> None:
    """Open it and bring it to this program's schema; PostgreSQL waits for `crossload migrate`."""
    open_database(settings.database, engine=settings.sqlite_engine)
    if settings.is_embedded:
        migrate.migrate()
    elif migrate.pending():
        raise CannotServe("the database waits for migrations: run crossload migrate first")


def start_afresh(settings: Settings) -> None:
    """Remove the embedded database, and nothing else that may lie in the folder."""
    if not settings.is_embedded or settings.database_url:
        raise CannotServe("--fresh empties the data folder's own database alone: leave it out")
    close_database()
    for name in OURS:
        (settings.data / name).unlink(missing_ok=True)


class Server(BaseApplication):  # type: ignore[misc]
    """gunicorn with one worker of many threads, which runs the scheduler as well."""

    def __init__(self, settings: Settings, clock: Clock, welcome: str):
        self.settings, self.clock, self.welcome = settings, clock, welcome
        self.stop: Stop = lambda: None
        super().__init__()

    def load_config(self) -> None:
        host = f"[{self.settings.host}]" if ":" in self.settings.host else self.settings.host
        options = {
            "bind": f"{host}:{self.settings.port}",
            "workers": 1,
            "worker_class": "gthread",
            "threads": self.settings.threads,
            "keepalive": 65,
            "graceful_timeout": 10,
            "loglevel": "warning",
            "proc_name": "crossload",
            "control_socket_disable": True,
            # ProxyFix alone says what of a proxy is believed, by the setting `proxies`.
            "forwarded_allow_ips": "",
            "forwarder_headers": "",
            "post_worker_init": self._ready,
            "worker_exit": self._over,
        }
        for name, value in options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        return create_app(self.settings, self.clock)

    def _ready(self, worker: Any) -> None:
        """In the worker, once the app is loaded: a fork after this would copy running threads."""
        if self.settings.scheduler:
            self.stop = start_scheduler(self.settings, self.clock)
        if worker.age == 1:
            print(self.welcome, flush=True)  # noqa: T201

    def _over(self, arbiter: Any, worker: Any) -> None:
        self.stop()
        close_database()


def serve(
    settings: Settings, clock: Clock = system_clock, *, welcome: str, held: ExitStack
) -> None:
    """Serve until SIGINT or SIGTERM. `held` is let go when it ends. Does not return."""
    request_log.configure(settings.log)
    close_database()  # no connection may cross the fork
    with held:
        Server(settings, clock, welcome).run()


def fixtures_folder() -> Path:
    """The demo's files: beside the source in a checkout, else inside the package."""
    package = Path(__file__).resolve().parent
    for folder in (package.parents[1] / "fixtures", package / "fixtures"):
        if (folder / "kit-list.csv").is_file():
            return folder
    raise CannotServe("the demo's files are missing: install crossload anew, or check fixtures/")
