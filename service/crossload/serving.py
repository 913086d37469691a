"""The web server's process: gunicorn around the app."""

from contextlib import ExitStack
from typing import Any

from gunicorn.app.base import BaseApplication

from crossload.api import request_log
from crossload.app import create_app
from crossload.clock import Clock, system_clock
from crossload.settings import Settings
from crossload.storage.database import close_database
from crossload.worker import Stop, start_scheduler


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
