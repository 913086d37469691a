"""How fast the service answers over HTTP, beside a view that only reads the session and returns.

    python tests/bench/over_http.py [--database sqlite|postgres|URL] [--seconds 4]

`crossload serve` runs as it does for everybody; its clients are processes on the same machine, each
asking again as soon as it is answered. Every round asks for all of the views, so that the ratios to
the first are of one time; told is the middle of the rounds. Then browsers poll the board as the
page does. The share of a core is that of the service, without PostgreSQL's own processes.
"""

import argparse
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from itertools import chain, repeat
from multiprocessing import Pool
from pathlib import Path
from random import Random
from statistics import median, quantiles
from tempfile import TemporaryDirectory
from typing import NamedTuple
from uuid import uuid4

sys.path.insert(0, str(Path(__file__).parents[1]))

from booking import LINE, fill, opened

from asking import an_account
from crossload.domain import ids
from crossload.domain.instants import format_instant
from crossload.domain.window import Id
from crossload.domain.zones import load_zone
from crossload.storage import database, sql
from crossload.storage.ids import new_id
from crossload.usecases.identity import make_credential
from crossload.usecases.transaction import write
from program import PROGRAM, environment
from services import free_port
from worlds import DAY, HOUR, World, a_world

CLIENTS, ROUNDS, LINES_EACH = 4, 3, 10
BROWSERS, POLL_S = 200, 5
SESSION, JUDGE = ("GET", "/session"), ("POST", "/judgements")
BOOK, BOARD = ("POST", "/bookings"), ("GET", "/board")
BOOKING = (
    "id", "pool_id", "unit_id", "state", "start_s", "end_s", "purpose", "who_pays", "order_number",
    "created_at", "version",
)  # fmt: skip


class Service(NamedTuple):
    """Where it is, who asks it, and what for."""

    port: int
    cookie: str
    unit: Id
    kit: list[Id]
    now: int


def a_pool(types: int, coming: int, past: int) -> tuple[World, list[Id], str]:
    """A pool with so many lines, in bookings of ten, and the cookie of its coordinator."""
    world = a_world()
    kit = fill(world, types, 0, 0)
    world.now = int(time.time())
    add_bookings(world, kit, past, world.now - 900 * DAY, world.now - 4 * DAY)
    add_bookings(world, kit, coming, world.now, world.now + 365 * DAY)
    for day in range(9):
        for number, unit in enumerate(world.units):
            call = world.now + day * DAY + number * HOUR
            world.a_shoot_day(unit, call, call + 11 * HOUR, day + 1)
    account = an_account(world, "coordinator")
    made, secret = make_credential(
        "session", now=world.now, expires_at=world.now + DAY, account=account.id
    )
    with write(world.pool, world.now) as stores:
        stores.credentials.add(made)
    return world, kit, f"crossload_session={secret}"


def add_bookings(world: World, kit: list[Id], many: int, first: int, last: int) -> None:
    """So many lines in confirmed bookings that start in [first, last), of all units in turn."""
    chance, units = Random(many), list(world.units.values())
    for low in range(0, many // LINES_EACH, 2000):
        bookings, lines = [], []
        for number in range(low, min(low + 2000, many // LINES_EACH)):
            id, unit, start = new_id(), units[number % len(units)], chance.randrange(first, last)
            end = start + chance.randint(4, 72) * HOUR
            own = (id, world.pool, unit, "confirmed", start, end, "", "", "", first, 1)
            bookings.append(own)
            times = (start, end, start, end)
            lines += [
                (new_id(), world.pool, id, unit, type, 1, *times, "confirmed", 1, 0, 0)
                for type in chance.sample(kit, LINES_EACH)
            ]
        with database.write(world.pool, world.now):
            sql.insert("booking", BOOKING, bookings)
            sql.insert("line", LINE, lines)


@contextmanager
def serving(url: str, port: int, folder: str) -> Iterator[subprocess.Popen]:
    """The service over a database, from its first word that it is there until Ctrl-C."""
    command = [PROGRAM, "serve", "--port", str(port)]
    settings = {"CROSSLOAD_DATABASE_URL": url, "CROSSLOAD_DATA": folder}
    with subprocess.Popen(
        command, env=environment(**settings), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        start_new_session=True,
    ) as service:  # fmt: skip
        try:
            assert b"The board" in service.stdout.readline(), "it did not start"
            yield service
        finally:
            os.killpg(service.pid, signal.SIGINT)


def a_request(service: Service, view: tuple[str, str], chance: Random) -> tuple[dict, str | None]:
    """Headers and body; of one line over some hours of the coming year."""
    headers = {"Cookie": service.cookie, "Content-Type": "application/json"}
    if view not in (JUDGE, BOOK):
        return headers, None
    start = service.now + chance.randrange(DAY, 300 * DAY, HOUR)
    start_text, end_text = (
        format_instant(at, load_zone("Europe/London")) for at in (start, start + 12 * HOUR)
    )
    line = {"kit_type_id": ids.to_text(chance.choice(service.kit)), "quantity": 1}
    body = {"unit_id": ids.to_text(service.unit), "start": start_text, "end": end_text}
    return headers | {"Idempotency-Key": f'"{uuid4()}"'}, json.dumps(body | {"lines": [line]})


class Browser:
    """One connection that is kept, and the last tag of the board."""

    def __init__(self, service: Service, seed: int):
        self.service, self.chance, self.tag = service, Random(seed), ""
        self.connection = HTTPConnection("127.0.0.1", service.port)

    def ask(self, view: tuple[str, str]) -> tuple[float, int]:
        """The seconds that an answer took, and its status."""
        (method, path), (headers, body) = view, a_request(self.service, view, self.chance)
        if view == BOARD:
            headers["If-None-Match"] = self.tag
        began = time.perf_counter()
        self.connection.request(method, f"/api/v1{path}", body, headers)
        answer = self.connection.getresponse()
        answer.read()
        took = time.perf_counter() - began
        assert answer.status in (200, 201, 304, 409), answer.status
        self.tag = answer.headers.get("ETag", "") if view == BOARD else self.tag
        return took, answer.status


def ask_on(
    service: Service, view: tuple[str, str], seconds: float, seed: int
) -> list[tuple[float, int]]:
    browser, found = Browser(service, seed), []
    browser.ask(BOARD)
    until = time.perf_counter() + seconds
    while time.perf_counter() < until:
        found.append(browser.ask(view))
    return found


def poll(service: Service, seconds: float, seed: int) -> list[tuple[float, int]]:
    """A client's share of the browsers: each asks for the board every 5 s, a tenth more or less."""
    chance, found = Random(seed), []
    browsers = [Browser(service, seed) for _ in range(BROWSERS // CLIENTS)]
    began = time.perf_counter()
    due = [(began + chance.uniform(0, POLL_S), number) for number in range(len(browsers))]
    while (first := min(due))[0] < began + seconds:
        at, number = first
        time.sleep(max(0.0, at - time.perf_counter()))
        found.append(browsers[number].ask(BOARD))
        due[number] = (at + POLL_S * chance.uniform(0.9, 1.1), number)
    return found


def core_s(group: int) -> float:
    """Processor seconds of all processes of a group so far."""
    ticks = 0
    for path in Path("/proc").glob("[0-9]*/stat"):
        fields = path.read_text().rpartition(")")[2].split()
        ticks += sum(map(int, fields[11:13])) if int(fields[2]) == group else 0
    return ticks / os.sysconf("SC_CLK_TCK")


def p99_ms(answers: list[tuple[float, int]]) -> float:
    return quantiles([took for took, _ in answers], n=100)[98] * 1000


def run(service: Service, group: int, seconds: float) -> None:
    views = (SESSION, JUDGE, BOOK, BOARD)
    rates, worst = {view: [] for view in views}, {view: [] for view in views}
    with Pool(CLIENTS) as clients:
        for turn in range(ROUNDS):
            for view in views:
                seeds = range(turn * CLIENTS, (turn + 1) * CLIENTS)
                each = zip(repeat(service), repeat(view), repeat(seconds), seeds)
                answers = list(chain.from_iterable(clients.starmap(ask_on, each)))
                rates[view].append(len(answers) / seconds)
                worst[view].append(p99_ms(answers))
        for view in views:
            rate, p99 = median(rates[view]), median(worst[view])
            ratio = f"{rate / median(rates[SESSION]):.2f}, p99 {p99 / median(worst[SESSION]):.2f}"
            print(f"{' '.join(view):18} {rate:7.0f} /s  p99 {p99:6.1f} ms  to the first: {ratio}")
        lasts = 6 * POLL_S
        before = core_s(group)
        each = zip(repeat(service), repeat(lasts), range(CLIENTS))
        answers = list(chain.from_iterable(clients.starmap(poll, each)))
        share = (core_s(group) - before) / lasts
    ratio = p99_ms(answers) / median(worst[SESSION])
    print(f"{BROWSERS} browsers, {len(answers) / lasts:.0f} /s: {share:.0%} of a core,"
          f" p99 {p99_ms(answers):.1f} ms, to the first: {ratio:.2f}")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--database", default="sqlite", help="sqlite, postgres or a URL")
    parser.add_argument("--types", type=int, default=500)
    parser.add_argument("--coming", type=int, default=50_000)
    parser.add_argument("--past", type=int, default=200_000)
    parser.add_argument("--seconds", type=float, default=4)
    given = parser.parse_args()
    with opened(given.database) as url, TemporaryDirectory() as folder:
        world, kit, cookie = a_pool(given.types, given.coming, given.past)
        database.close_database()
        with serving(url, port := free_port(), folder) as running:
            unit = world.units["second"]
            run(Service(port, cookie, unit, kit, world.now), running.pid, given.seconds)


if __name__ == "__main__":
    main()
