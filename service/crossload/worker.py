"""The scheduler's process, and the one place where the scheduler is started."""

import signal
import threading
from collections.abc import Callable

from crossload.api import request_log
from crossload.clock import Clock, system_clock
from crossload.jobs import scheduler
from crossload.settings import Settings
from crossload.storage.database import close_database, open_database

Stop = Callable[[], None]


def start_scheduler(settings: Settings, clock: Clock = system_clock) -> Stop:
    """Start what runs by itself, over the database that is open; answers how to stop it.

    `serve` and `worker` both call this. The lease row sees to it that one of them does the work.
    """
    return scheduler.start(settings, clock)


def run(settings: Settings, clock: Clock = system_clock) -> None:
    """The scheduler alone, until SIGINT or SIGTERM."""
    request_log.configure(settings.log)
    open_database(settings.database, engine=settings.sqlite_engine)
    over = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: over.set())
    stop = start_scheduler(settings, clock)
    try:
        over.wait()
    finally:
        stop()
        close_database()
