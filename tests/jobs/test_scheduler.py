"""The scheduler in one process: it tells at once, stands by, goes on after a fault, and stops."""

import threading
from contextlib import contextmanager
from dataclasses import dataclass

import pytest
from structlog.testing import capture_logs

from asking import Clock
from crossload.domain import ids
from crossload.jobs import scheduler
from crossload.jobs.turn import Turn
from crossload.storage import database, leases, sql
from crossload.usecases.transaction import read, write
from waiting import until
from worlds import DAY, HOUR, NOW, World, a_world

LEASE_S = 0.5


@dataclass(frozen=True)
class Pace:
    lease_s: float = LEASE_S
    tick_s: float = 0.05


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def start(world, clock):
    """Starts schedulers, and stops those that the test did not."""
    stops = []

    def begin():
        stop = scheduler.start(Pace(), clock)
        stops.append(stop)

        def stop_once():
            stops.remove(stop)
            stop()

        return stop_once

    yield begin
    for stop in list(stops):
        stop()


def goes_out(world: World, due: int) -> None:
    world.has_out("main", world.a_kit_type(count=9), due, since=NOW - DAY)


def open_reminders(world: World) -> list[str]:
    with read(world.pool) as stores:
        return [str(one.stage) for one in stores.reminders.open()]


def lease() -> tuple[str, int]:
    """Who holds the lease, and under which fence."""
    with database.connected():
        return sql.row("SELECT holder, fence FROM lease WHERE name = 'scheduler'") or ("", 0)


def test_what_is_late_is_told_at_once_and_what_comes_as_it_falls_due(world, clock, start):
    goes_out(world, NOW - HOUR)
    goes_out(world, NOW + 3 * HOUR)
    start()
    until(lambda: open_reminders(world) == ["late"], "what is late is told")
    clock.now = NOW + HOUR
    until(lambda: open_reminders(world) == ["late", "ahead"], "the next is told ahead")


def test_a_second_scheduler_stands_by_and_takes_over_when_the_first_stops(world, clock, start):
    stop = start()
    until(lambda: lease()[1] == 1, "the first takes the lease")
    start()
    first, _ = lease()
    goes_out(world, NOW - HOUR)
    until(lambda: open_reminders(world) == ["late"], "the first works")
    assert lease() == (first, 1)
    stop()
    until(lambda: lease()[1] == 2, "the second takes the lease")
    goes_out(world, NOW)
    until(lambda: open_reminders(world) == ["late", "due"], "the second works")


def test_stopping_ends_its_threads_and_gives_the_lease_up(world, start):
    before = set(threading.enumerate())
    stop = start()
    until(lambda: lease()[1] == 1, "the lease is taken")
    assert set(threading.enumerate()) > before
    stop()
    assert set(threading.enumerate()) == before
    assert leases.take("scheduler", "another", 1000) == 2


def test_a_pool_that_fails_does_not_silence_the_others(world, start):
    with write(world.pool, NOW):
        sql.run("UPDATE pool SET zone = 'Nowhere/At_All' WHERE id = ?", world.pool)
    other = a_world()
    goes_out(other, NOW)
    assert world.pool < other.pool  # the broken one comes first
    with capture_logs() as told:
        start()
        until(lambda: open_reminders(other) == ["due"], "the other pool's reminder is told")
    assert {entry["pool"] for entry in _said(told, "job failed")} == {ids.to_text(world.pool)}


def test_it_goes_on_when_the_database_is_whole_again(world, clock, start):
    start()
    until(lambda: lease()[1] == 1, "the lease is taken")
    with capture_logs() as told, missing("lease"):
        until(lambda: _said(told, "job put off", "job failed"), "the fault is told")
    goes_out(world, NOW)
    until(lambda: open_reminders(world) == ["due"], "the reminder is told")
    assert lease()[1] == 1


@contextmanager
def missing(table: str):
    """A database that lacks a table for a while."""
    away = f"{table}_away"
    with database.connected():
        sql.run(f"ALTER TABLE {table} RENAME TO {away}")
    try:
        yield
    finally:
        with database.connected():
            sql.run(f"ALTER TABLE {away} RENAME TO {table}")


def _said(told: list[dict], *events: str) -> list[dict]:
    return [entry for entry in told if entry["event"] in events]


def test_a_standby_forgets_no_keys_and_the_worker_those_past_their_time(world, clock):
    fortnight = 14 * DAY
    with write(world.pool, NOW) as stores:
        stores.keys.keep(1, "old", "digest", {}, NOW)
        stores.keys.keep(1, "young", "digest", {}, NOW + DAY)
        before = stores.header.revision
    turn = Turn(LEASE_S)
    clock.now = NOW + fortnight + 1
    scheduler.forget(turn, clock)
    assert kept_keys(world) == ["old", "young"]
    assert turn.keep()
    clock.now = NOW + fortnight
    scheduler.forget(turn, clock)
    with read(world.pool) as stores:
        assert stores.header.revision == before  # nothing to forget, nothing written
    clock.now = NOW + fortnight + 1
    scheduler.forget(turn, clock)
    assert kept_keys(world) == ["young"]


def kept_keys(world: World) -> list[str]:
    with read(world.pool) as stores:
        return [key for key in ("old", "young") if stores.keys.find(1, key)]


def test_a_turn_that_was_not_kept_in_time_is_over_until_it_is_kept_again(world):
    turn = Turn(0.2)
    assert not turn.holds
    assert turn.keep() and turn.holds
    until(lambda: not turn.holds, "its time is over", 5)
    assert turn.keep() and turn.holds
    assert lease()[1] == 1


def test_a_turn_that_went_to_another_is_lost_and_can_be_had_again(world):
    turn, other = Turn(0.2), Turn(60)
    assert turn.keep()
    until(other.keep, "the other takes over", 5)
    assert not turn.keep() and not turn.holds
    other.give_up()
    assert not other.holds
    assert turn.keep()
    assert lease()[1] == 3
