"""Reminders by real processes: however many there are and however they end, each is told once."""

import os
import signal
import subprocess
import sys
import textwrap
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from crossload.domain.custody import Custody
from crossload.domain.hours import WEEKDAYS
from crossload.domain.instants import format_instant, parse_instant
from crossload.domain.window import Window
from crossload.storage import database, sql
from crossload.storage.ids import new_id
from crossload.usecases import bookings, own_pool
from crossload.usecases.reminders import Outlook
from crossload.usecases.transaction import read, write
from waiting import until
from worlds import DAY, HOUR, NOW, World, an_ask

SCHEDULER = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from crossload import worker
    from crossload.settings import Settings

    url, clock = sys.argv[1], Path(sys.argv[2])
    worker.run(Settings(database_url=url, lease_s=0.5, tick_s=0.05), lambda: int(clock.read_text()))
    """
)
"""`crossload worker`, with a clock that the test sets."""

EAGER = textwrap.dedent(
    """
    import sys
    from crossload.storage import database
    from crossload.usecases.reminders import remind

    url, pool, now = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    database.open_database(url)
    print("ready", flush=True)
    sys.stdin.readline()
    print(remind(pool, now).told, flush=True)
    """
)
"""A scheduler that believes it is alone: what a lease gone wrong would let loose."""


class Schedulers:
    """The processes of one test, over one database and by one clock."""

    def __init__(self, url: str, folder: Path):
        self.url, self.folder = url, folder
        self.clock = folder / "clock"
        self.running: list[subprocess.Popen] = []
        self.set(NOW)

    def set(self, now: int) -> None:
        fresh = self.folder / "clock.new"
        fresh.write_text(str(now))
        fresh.rename(self.clock)

    def start(self) -> subprocess.Popen:
        with (self.folder / f"log {len(self.running)}").open("wb") as log:
            process = subprocess.Popen(
                [sys.executable, "-c", SCHEDULER, self.url, self.clock], stdout=log, stderr=log
            )
        self.running.append(process)
        return process

    def start_two(self) -> None:
        """Two that both have begun: the leader, and one that has asked for the lease in vain."""
        self.start()
        until(leader, "the first takes the lease")
        self.start()

    def kill(self, pid: int) -> None:
        """kill -9 the process of this id, which this test started."""
        (process,) = [one for one in self.running if one.pid == pid]
        process.kill()
        process.wait()

    def words(self) -> str:
        return "\n".join(log.read_text() for log in sorted(self.folder.glob("log *")))

    def end(self) -> None:
        for process in self.running:
            if process.poll() is None:
                process.kill()
            process.wait()


@pytest.fixture
def schedulers(world, migrated_url, tmp_path):
    made = Schedulers(migrated_url, tmp_path)
    yield made
    made.end()
    assert "job failed" not in made.words()


def leader() -> int | None:
    """The process that holds the lease, whether it has run out or not."""
    return lease()[0]


def lease() -> tuple[int | None, int]:
    """The process that holds the lease, and its fence."""
    with database.connected():
        found = sql.row("SELECT holder, fence FROM lease WHERE name = 'scheduler'")
    return (int(found[0].split()[1]), found[1]) if found else (None, 0)


def goes_out(world: World, *dues: int, unit: str = "main", since: int = NOW - DAY) -> None:
    """Kit out without a booking, a piece for each due."""
    kit = world.a_kit_type(count=999)
    made = [Custody(new_id(), kit.id, 1, world.units[unit], since, due) for due in dues]
    with write(world.pool, world.now) as stores:
        stores.custodies.add(*made)


def told(world: World) -> Counter:
    """How often each key was told, by the journal."""
    with read(world.pool) as stores:
        entries = stores.journal.page(0, 10_000, kind="reminder")
    return Counter(entry.after["key"] for entry in entries if entry.verb == "told")


def still(world: World) -> list[str]:
    with read(world.pool) as stores:
        return [f"{one.kind} {one.stage}" for one in stores.reminders.open()]


def caught_up(world: World, now: int) -> bool:
    """True when there is nothing left to tell or to end at this instant."""
    with read(world.pool) as stores:
        return Outlook(stores, now).plan.is_empty


def walk(world: World, schedulers: Schedulers, *instants: int) -> None:
    """Set the clock to each instant, and wait until all that is due by then is told."""
    for now in instants:
        schedulers.set(now)
        until(lambda now=now: caught_up(world, now), f"{now} is told: {schedulers.words()}")


def test_two_schedulers_tell_each_reminder_once(world, schedulers):
    dues = [NOW + hours * HOUR for hours in range(1, 6)]
    for unit in ("main", "second", "splinter"):
        goes_out(world, *dues, unit=unit)
    schedulers.start_two()
    walk(world, schedulers, *(NOW + minutes * 60 for minutes in range(0, 12 * 60, 30)))
    counts = told(world)
    assert set(counts.values()) == {1}
    assert Counter(key.rsplit("/", 1)[1] for key in counts) == {
        "ahead": 15,
        "due": 15,
        "late": 15,
        "escalated": 15,
    }
    assert schedulers.words().count("lease taken") == 1


def test_schedulers_that_all_believe_themselves_alone_tell_each_reminder_once(world, migrated_url):
    dues = [NOW - minutes * 60 for minutes in range(200)]
    goes_out(world, *dues)
    eager = [
        subprocess.Popen(
            [sys.executable, "-c", EAGER, migrated_url, str(world.pool), str(NOW)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(4)
    ]
    for process in eager:
        assert process.stdout.readline() == "ready\n"
    with ThreadPoolExecutor(len(eager)) as starters:
        said = list(starters.map(lambda process: process.communicate("go\n")[0], eager))
    assert [process.returncode for process in eager] == [0] * len(eager)
    assert sum(map(int, said)) == len(dues)
    assert len(told(world)) == len(dues)
    assert set(told(world).values()) == {1}


def test_when_the_leader_is_killed_the_other_goes_on_where_it_was(world, schedulers):
    goes_out(world, *(NOW + minutes * 60 for minutes in range(0, 600, 10)))
    schedulers.start_two()
    for step in range(3):
        now = NOW + step * 3 * HOUR
        _, fence = lease()
        schedulers.set(now)
        until(lambda: sum(told(world).values()) > 0, "the leader is at work")
        schedulers.kill(leader())
        schedulers.start()
        until(lambda fence=fence: lease()[1] > fence, "another takes the lease")
        walk(world, schedulers, now)
    walk(world, schedulers, NOW + 30 * HOUR)
    counts = told(world)
    assert set(counts.values()) == {1}
    escalated = [key for key in counts if key.endswith("/escalated")]
    assert len(escalated) == 60


def test_a_leader_that_freezes_is_replaced_and_tells_nothing_when_it_wakes(world, schedulers):
    schedulers.start_two()
    frozen = leader()
    os.kill(frozen, signal.SIGSTOP)
    until(lambda: leader() != frozen, "the other takes the lease")
    goes_out(world, NOW, NOW + HOUR)
    walk(world, schedulers, NOW)
    os.kill(frozen, signal.SIGCONT)
    until(lambda: "lease lost" in schedulers.words(), "the frozen one learns of it")
    walk(world, schedulers, NOW + HOUR, NOW + 9 * HOUR)
    assert set(told(world).values()) == {1}
    assert (leader() != frozen, lease()[1]) == (True, 2)


def test_a_scheduler_that_was_down_over_night_tells_late_ones_at_once_and_once(world, schedulers):
    evening, morning = NOW + 9 * HOUR, NOW + 22 * HOUR
    goes_out(world, evening - HOUR, evening + HOUR, morning + HOUR)
    process = schedulers.start()
    walk(world, schedulers, evening)
    assert still(world) == ["return_due ahead", "return_due late"]
    process.send_signal(signal.SIGTERM)
    assert process.wait(20) == 0
    schedulers.set(morning)
    schedulers.start()
    until(
        lambda: (
            still(world) == ["return_due escalated", "return_due escalated", "return_due ahead"]
        ),
        "the late ones are told",
    )
    walk(world, schedulers, morning + 60)
    counts = told(world)
    assert set(counts.values()) == {1}
    assert Counter(key.rsplit("/", 1)[1] for key in counts) == {
        "ahead": 2,
        "late": 1,
        "escalated": 2,
    }


def test_a_booking_that_is_moved_ends_its_reminder_and_is_told_anew_in_its_time(world, schedulers):
    kit = world.a_kit_type(count=9)
    ask = an_ask(world, "main", (kit, 4), start=10 * HOUR, end=20 * HOUR)
    booking = bookings.book(world.coordinator, ask, now=NOW).booking
    schedulers.start_two()
    until(lambda: still(world) == ["prepare due"], "it is to be prepared")
    moved = bookings.Changes(window=Window(NOW + 60 * HOUR, NOW + 70 * HOUR))
    bookings.change(world.coordinator, booking.id, moved, version=None, now=NOW)
    until(lambda: still(world) == [], "that no longer applies")
    walk(world, schedulers, NOW + 42 * HOUR - 1)
    assert still(world) == []
    walk(world, schedulers, NOW + 42 * HOUR)
    assert still(world) == ["prepare due"]
    assert sorted(told(world).values()) == [1, 1]


@pytest.mark.parametrize(
    ("change", "bedtimes", "wakes"),
    [
        # IANA tz rules EU: both at 01:00Z. A free day's 08:00 is 08:00Z before the spring change
        # and after the autumn change, 07:00Z else; its 20:00, when the round of 20:00 or 19:00 has
        # told what was due a second before, likewise.
        pytest.param("2026-03-29T01:00:00Z", ("20", "20"), ["28T08", "29T07"], id="spring"),
        pytest.param("2026-10-25T01:00:00Z", ("19", "19"), ["24T07", "25T08"], id="autumn"),
    ],
)
def test_over_a_clock_change_a_night_unit_is_told_at_three_and_a_day_unit_on_waking(
    world, schedulers, change, bedtimes, wakes
):
    at = parse_instant(change)
    world.now = at - 3 * DAY
    opening = {"week": {day: [["09:00", "18:00"]] for day in WEEKDAYS[:5]}}  # it is a weekend
    own_pool.change_pool(world.coordinator, {"opening": opening}, version=None, now=world.now)
    for night in (at - DAY, at):
        world.a_shoot_day("second", night - 8 * HOUR, night + 5 * HOUR)
        for unit in ("main", "second"):
            goes_out(world, night + 2 * HOUR, unit=unit, since=night - DAY)
    schedulers.set(at - 30 * HOUR)
    schedulers.start_two()
    steps = range(at - 30 * HOUR, at + 14 * HOUR, HOUR)
    walk(world, schedulers, *steps)
    assert set(told(world).values()) == {1}
    with read(world.pool) as stores:
        made = stores.reminders.page(0, 500)

    def hours(unit: str) -> list[tuple[str, str]]:
        """Stage, day and hour of what a unit was told, in UTC."""
        of_unit = [one for one in made if one.unit == world.units[unit]]
        return [(str(one.stage), format_instant(one.told_at, None)[8:13]) for one in of_unit]

    nights = [format_instant(night, None)[8:11] for night in (at - DAY, at)]
    assert hours("second") == [
        (stage, night + hour)
        for night in nights
        for stage, hour in (("ahead", "01"), ("due", "03"), ("late", "04"))
    ]
    evenings = [format_instant(night - DAY, None)[8:11] for night in (at - DAY, at)]
    assert [hour for stage, hour in hours("main") if stage == "ahead"] == [
        evening + bedtime for evening, bedtime in zip(evenings, bedtimes, strict=True)
    ]
    assert [hour for stage, hour in hours("main") if stage != "ahead"] == wakes
