"""How fast a booking is judged and written through the use-case, beside a bare insert.

    python tests/bench/booking.py [--database sqlite|postgres|URL] [--past 1000000]

The floor inserts one line and commits. Both run in the same call on the same database and data;
the ratio is what counts. Prints transactions a second, p50 and p99, first beside a fifth of the
past lines and then beside all.
"""

import argparse
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from crossload.domain.booking import Ask, Wanted
from crossload.domain.window import FOREVER, Id, Window
from crossload.storage import database, migrate, sql
from crossload.storage.ids import new_id
from crossload.usecases import bookings
from services import throwaway_postgres
from worlds import DAY, HOUR, NOW, World, a_world

SEED = 1
LINE = (
    "id", "pool_id", "booking_id", "unit_id", "kit_type_id", "quantity", "start_s", "end_s", "from_s",
    "until_s", "state", "rank", "released", "gone",
)  # fmt: skip


def fill(world: World, types: int, coming: int, past: int) -> list[Id]:
    """A pool with so many kit types, and lines over the year to come and the years gone by."""
    kit = [new_id() for _ in range(types)]
    with database.write(world.pool, NOW):
        columns = ("id", "pool_id", "name", "category", "tracking", "count", "make", "model",
                   "prep_s", "check_in_s", "rechargeable", "ways", "traits", "goes_with",
                   "substitutes", "notes", "version")  # fmt: skip
        rows = [
            (id, world.pool, f"bench {n}", "stand", "count", 40, "", "", 0, 0, False, 0, "{}", "[]",
             "[]", "{}", 1)
            for n, id in enumerate(kit)
        ]  # fmt: skip
        sql.insert("kit_type", columns, rows)
    add_lines(world, kit, past, NOW - 900 * DAY, NOW - 3 * DAY)
    add_lines(world, kit, coming, NOW, NOW + 365 * DAY)
    return kit


def add_lines(world: World, kit: list[Id], many: int, first: int, last: int) -> None:
    """Lines that start in [first, last), of a booking of the main unit."""
    chance = random.Random(SEED + many)
    unit = world.units["main"]
    with database.write(world.pool, NOW) as stores:
        ask = Ask(unit, Window(NOW, NOW + DAY), ())
        booking = stores.bookings.add(ask, now=NOW, account=None, undo_until=None).id
    for at in range(0, many, 20_000):
        with database.write(world.pool, NOW):
            sql.insert("line", LINE, [
                _line(chance, world.pool, booking, unit, kit, first, last)
                for _ in range(min(20_000, many - at))
            ])  # fmt: skip


def _line(chance, pool, booking, unit, kit, first, last):
    start = chance.randrange(first, last, HOUR)
    end = start + chance.randint(4, 72) * HOUR
    return (new_id(), pool, booking, unit, chance.choice(kit), chance.randint(1, 3), start, end, start,
            end, "confirmed", 1, 0, 0)  # fmt: skip


def timed(turns: int, once: Callable[[int], object]) -> list[float]:
    took = []
    for turn in range(turns):
        began = time.perf_counter()
        once(turn)
        took.append(time.perf_counter() - began)
    return took


def told(name: str, took: list[float], rows: int = 1) -> float:
    """Print and give the rate in transactions a second."""
    rate = len(took) / sum(took)
    p50, p99 = statistics.median(took), statistics.quantiles(took, n=100)[98]
    speed = f"{rate:8.0f} /s {rate * rows:9.0f} rows/s"
    print(f"{name:36} {speed}  p50 {p50 * 1000:6.2f} ms  p99 {p99 * 1000:6.2f} ms")
    return rate


def run(world: World, kit: list[Id], turns: int) -> dict[str, float]:
    """The rates of the floor and of booking with one line and with 25."""
    chance = random.Random(world.now)
    run = new_id()
    actor, unit = world.coordinator, world.units["second"]
    with database.write(world.pool, NOW) as stores:
        ask = Ask(unit, Window(NOW, NOW + DAY), ())
        loose = stores.bookings.add(ask, now=NOW, account=None, undo_until=None).id

    def floor(turn: int) -> None:
        with database.connected() as db, db.atomic():
            at = FOREVER - DAY - turn
            times = (at, at + 1, at, at + 1)
            row = (new_id(), world.pool, loose, unit, kit[0], 1, *times, "confirmed", 1, 0, 0)
            sql.insert("line", LINE, [row])

    def book(lines: int, kit: list[Id] = kit) -> Callable[[int], object]:
        def once(turn: int) -> object:
            start = NOW + chance.randrange(DAY, 300 * DAY, HOUR)
            window = Window(start, start + 12 * HOUR)
            wanted = tuple(Wanted(id, 1) for id in chance.sample(kit, lines))
            key = f"bench-{run}-{lines}-{turn}-{start}"
            return bookings.book(actor, Ask(unit, window, wanted), now=NOW, key=key, digest="d")

        return once

    pieces = [world.a_kit_type(pieces=40).id for _ in range(20)]
    add_lines(world, pieces, 2000, NOW, NOW + 365 * DAY)

    def book_pieces(turn: int) -> object:
        return book(1, pieces)(turn)

    timed(20, book(1))
    many = min(25, len(kit))
    with database.connected():
        rates = {
            "floor": told("insert one row, commit", timed(turns, floor)),
            "one": told("book one line", timed(turns, book(1))),
            "pieces": told("book one of numbered pieces", timed(turns // 2, book_pieces)),
            "many": told(f"book {many} lines", timed(max(20, turns // 5), book(many)), many),
        }
    print(f"ratio to the floor: one line {rates['one'] / rates['floor']:.2f},"
          f" of pieces {rates['pieces'] / rates['floor']:.2f},"
          f" rows of {many} lines {rates['many'] * many / rates['floor']:.2f}")  # fmt: skip
    return rates


@contextmanager
def opened(database_url: str) -> Iterator[str]:
    """A new database with all tables, and its URL; `sqlite` and `postgres` stand for one that goes."""
    with ExitStack() as over:
        if database_url == "sqlite":
            folder = over.enter_context(tempfile.TemporaryDirectory())
            database_url = f"sqlite:///{folder}/bench.db"
        elif database_url == "postgres":
            database_url = over.enter_context(throwaway_postgres())
        database.open_database(database_url)
        over.callback(database.close_database)
        migrate.migrate()
        yield database_url


def main(argv: list[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--database", default="sqlite", help="sqlite, postgres, or the URL of an empty database"
    )
    parser.add_argument("--types", type=int, default=500)
    parser.add_argument("--coming", type=int, default=50_000)
    parser.add_argument("--past", type=int, default=1_000_000)
    parser.add_argument("--turns", type=int, default=2000)
    given = parser.parse_args(argv)
    with opened(given.database):
        world = a_world("main", "second")
        kit = fill(world, given.types, given.coming, given.past // 5)
        print(f"{given.database}, {given.past // 5} lines past, {given.coming} coming")
        before = run(world, kit, given.turns)
        add_lines(world, kit, given.past - given.past // 5, NOW - 900 * DAY, NOW - 3 * DAY)
        print(f"{given.database}, {given.past} lines past")
        after = run(world, kit, given.turns)
        print(f"one line takes {before['one'] / after['one']:.2f} times as long beside them")


if __name__ == "__main__":
    main()
