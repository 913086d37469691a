"""32 askers at once for the last pieces, in several processes: never one too many, none for nothing."""

import json
import os
import signal
import subprocess
import sys
import textwrap
from contextlib import ExitStack, contextmanager
from itertools import pairwise
from pathlib import Path

import pytest

from crossload.usecases import bookings, checks
from crossload.usecases.granting import Granted
from crossload.usecases.transaction import read
from worlds import DAY, HOUR, NOW, an_ask

PROCESSES, THREADS, EACH = 8, 4, 12
TESTS = Path(__file__).parents[1]

ASKER = textwrap.dedent(
    """
    import json, os, random, sys
    from concurrent.futures import ThreadPoolExecutor
    url, pool, unit, kit, threads, each, seed, named = json.loads(sys.argv[1])
    from crossload.domain.booking import Ask, Wanted
    from crossload.domain.people import Role
    from crossload.domain.window import Window
    from crossload.storage import database
    from crossload.usecases import bookings
    from crossload.usecases.granting import Granted
    from crossload.usecases.actor import Actor
    from worlds import HOUR, NOW

    database.open_database(url)
    actor = Actor(pool, Role.COORDINATOR)

    def tell(*told):
        os.write(1, (json.dumps(told) + "\\n").encode())  # whole lines, though threads share it

    def ask(number):
        chance = random.Random(seed * 1000 + number)
        for turn in range(each):
            start = NOW + HOUR * chance.randint(1, 20)
            window = Window(start, start + HOUR * chance.randint(1, 6))
            item = chance.choice(named) if named and chance.random() < 0.3 else None
            line = Wanted(kit, 1 if item else chance.randint(1, 2), item)
            try:
                answer = bookings.book(actor, Ask(unit, window, (line,)), now=NOW)
            except database.DatabaseUnavailable:
                tell("unavailable")
                continue
            if isinstance(answer, Granted):
                what = ("granted", answer.booking.id)
            else:
                what = ("refused", answer.judged.answer)
            tell(*what, start, window.end, line.quantity, item)

    with ThreadPoolExecutor(threads) as askers:
        list(askers.map(ask, range(threads)))
    """
)


@contextmanager
def askers_at_work(url, world, kit, named=()):
    environment = os.environ | {"PYTHONPATH": str(TESTS)}
    with ExitStack() as processes:
        yield [
            processes.enter_context(_asker(environment, url, world, kit, seed, named))
            for seed in range(PROCESSES)
        ]


@contextmanager
def _asker(environment, url, world, kit, seed, named):
    told = [url, world.pool, world.units["main"], kit.id, THREADS, EACH, seed, list(named)]
    command = [sys.executable, "-c", ASKER, json.dumps(told)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, env=environment, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


def replies(process):
    """What a process printed; a line cut off by a kill is left out."""
    printed, _ = process.communicate(timeout=120)
    return [json.loads(line) for line in printed.splitlines() if line.endswith("]")]


def most_at_once(granted):
    edges = sorted(
        edge
        for _, _, start, end, quantity, _ in granted
        for edge in ((start, quantity), (end, -quantity))
    )
    level = most = 0
    for _, change in edges:
        level += change
        most = max(most, level)
    return most


@pytest.mark.parametrize("tracking", ["count", "serial"])
def test_thirty_two_askers_never_get_one_too_many(world, migrated_url, tracking):
    many = {"count": 5} if tracking == "count" else {"pieces": 5}
    kit = world.a_kit_type(**many)
    named = [item.id for item in world.pieces(kit)][:2]
    with askers_at_work(migrated_url, world, kit, named) as askers:
        told = [line for asker in askers for line in replies(asker)]
    assert len(told) == PROCESSES * THREADS * EACH
    granted = [line for line in told if line[0] == "granted"]
    refused = [line for line in told if line[0] == "refused"]
    assert not [line for line in told if line[0] == "unavailable"]
    assert most_at_once(granted) == 5
    for item in named:
        windows = sorted((start, end) for _, _, start, end, _, by in granted if by == item)
        assert all(before[1] <= after[0] for before, after in pairwise(windows))
    with read(world.pool) as stores:
        assert {booking.id for booking in stores.bookings.page()} == {line[1] for line in granted}
        assert stores.header.revision >= len(told)
    assert checks.check(world.coordinator, now=NOW) == []
    # Nobody was refused for nothing: what was refused does not fit now either, nothing having left.
    for _, _, start, end, quantity, item in refused[:80]:
        line = (kit, quantity)
        wanted = an_ask(world, "second", line, start=start - NOW, end=end - NOW)
        if item is None:
            assert not isinstance(bookings.book(world.coordinator, wanted, now=NOW), Granted)


def test_askers_killed_at_random_leave_a_sound_database(world, migrated_url):
    kit = world.a_kit_type(pieces=5)
    named = [item.id for item in world.pieces(kit)][:2]
    with askers_at_work(migrated_url, world, kit, named) as askers:
        first = [asker.stdout.readline() for asker in askers]
        for asker in askers[::2]:
            asker.send_signal(signal.SIGKILL)
        told = [json.loads(line) for line in first]
        told += [line for asker in askers for line in replies(asker)]
    granted = [line for line in told if line[0] == "granted"]
    assert checks.check(world.coordinator, now=NOW) == []
    with read(world.pool) as stores:
        kept = {booking.id for booking in stores.bookings.page()}
    assert {line[1] for line in granted} <= kept, "a yes that was told is kept"
    later = an_ask(world, "second", (kit, 5), start=3 * DAY, end=3 * DAY + HOUR)
    assert isinstance(bookings.book(world.coordinator, later, now=NOW), Granted)
