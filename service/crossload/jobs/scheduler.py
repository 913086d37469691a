"""What runs by itself: reminders, what falls due, and the forgetting of old keys.

Every process may start a scheduler; the one that holds the lease works. The due instants stand in
the database, so that the triggers here are plain intervals of UTC which no clock change touches.
"""

import logging
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Protocol

import structlog
from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.interval import IntervalTrigger

from crossload.domain import ids
from crossload.domain.window import Id, Instant
from crossload.jobs.turn import Turn
from crossload.usecases import once, pools, reminders
from crossload.usecases.errors import DatabaseUnavailable

Clock = Callable[[], Instant]
Job = Callable[[], object]

JOB_DEFAULTS = {"misfire_grace_time": 3600, "coalesce": True, "max_instances": 1}
"""A run that comes late (a laptop that slept) is made up for, once and never beside itself."""

FORGET_EVERY_S, FORGET_FIRST_S = 86_400, 60


class Pace(Protocol):
    """The settings that the scheduler reads."""

    @property
    def lease_s(self) -> float: ...

    @property
    def tick_s(self) -> float: ...


def start(settings: Pace, clock: Clock) -> Callable[[], None]:
    """Start the scheduler over the database that is open; answers how to stop it.

    `clock` tells what time it is for the pools; the lease goes by the database's clock. Stopping
    waits for the job that runs, and gives the lease up.
    """
    turn, rounds = Turn(settings.lease_s), reminders.Rounds()
    # What goes wrong in a job is told by the job itself.
    logging.getLogger("apscheduler").addHandler(logging.NullHandler())
    scheduler = BackgroundScheduler(
        timezone=UTC, executors={"default": ThreadPoolExecutor(2)}, job_defaults=JOB_DEFAULTS
    )
    _add(scheduler, "keep the lease", turn.keep, settings.lease_s / 3)
    _add(scheduler, "remind", lambda: look_round(turn, rounds, clock), settings.tick_s)
    _add(scheduler, "forget keys", lambda: forget(turn, clock), FORGET_EVERY_S, FORGET_FIRST_S)
    scheduler.start()

    def stop() -> None:
        scheduler.shutdown(wait=True)
        turn.give_up()

    return stop


def look_round(turn: Turn, rounds: reminders.Rounds, clock: Clock) -> None:
    """Remind in every pool that needs a look. One that fails does not silence the others."""
    if not (turn.holds or turn.keep()):
        return
    for pool in rounds.waiting(clock()):
        if not turn.holds:
            return
        look = partial(_remind, pool, rounds, clock())
        _guarded("remind", look, pool=ids.to_text(pool))()


def _remind(pool: Id, rounds: reminders.Rounds, now: Instant) -> None:
    made = reminders.remind(pool, now)
    rounds.note(pool, made)
    if made.told or made.ended:
        log = structlog.get_logger()
        log.info("reminders", pool=ids.to_text(pool), told=made.told, ended=made.ended)


def forget(turn: Turn, clock: Clock) -> None:
    """Drop idempotency keys past their time, pool by pool."""
    for pool in pools.all_pools() if turn.holds else ():
        if dropped := once.forget(pool.id, clock()):
            structlog.get_logger().info("keys", pool=ids.to_text(pool.id), dropped=dropped)


def _add(
    scheduler: BackgroundScheduler, name: str, job: Job, every_s: float, first_s: float = 0
) -> None:
    scheduler.add_job(
        _guarded(name, job),
        IntervalTrigger(seconds=every_s, timezone=UTC),
        name=name,
        next_run_time=datetime.now(UTC) + timedelta(seconds=first_s),
    )


def _guarded(name: str, job: Job, **about: str) -> Callable[[], None]:
    """The job, which tells what went wrong and is tried again at its next time."""

    def run() -> None:
        log = structlog.get_logger()
        try:
            job()
        except DatabaseUnavailable as error:
            log.warning("job put off", job=name, reason=str(error), **about)
        except Exception:
            log.exception("job failed", job=name, **about)

    return run
