"""How fast a booking is judged and written through the use-case, beside a bare insert.

    python tests/bench/booking.py [--database URL] [--types 500] [--coming 50000] [--past 1000000]

The floor inserts one line and commits. Both run in the same call on the same database and data;
the ratio is what counts. Prints transactions a second, p50 and p99.
"""

import argparse
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from crossload.domain.booking import Ask, Wanted
from crossload.domain.window import FOREVER, Id, Window
from crossload.storage import database, migrate, sql
from crossload.storage.ids import new_id
from crossload.usecases import bookings
from worlds import DAY, HOUR, NOW, World, a_world

SEED = 1
LINE = (
    "id", "pool_id", "booking_id", "unit_id", "kit_type_id", "quantity", "start_s", "end_s", "from_s",
    "until_s", "state", "rank", "released", "gone",
)  # fmt: skip


def fill(world: World, types: int, coming: int, past: int) -> list[Id]:
    """A pool with so many kit types, and lines over the year to come and the years gone by."""
    chance = random.Random(SEED)
    kit = [new_id() for _ in range(types)]
    unit = world.units["main"]
    with database.write(world.pool, NOW) as stores:
        columns = ("id", "pool_id", "name", "category", "tracking", "count", "make", "model",
                   "prep_s", "check_in_s", "rechargeable", "ways", "traits", "goes_with",
                   "substitutes", "notes", "version")  # fmt: skip
        rows = [
            (id, world.pool, f"bench {n}", "stand", "count", 40, "", "", 0, 0, False, 0, "{}", "[]",
             "[]", "{}", 1)
            for n, id in enumerate(kit)
        ]  # fmt: skip
        sql.insert("kit_type", columns, rows)
        window = Window(NOW, NOW + DAY)
        booking = stores.bookings.add(Ask(unit, window, ()), now=NOW, account=None, undo_until=None)
    for many, first, last in (
        (past, NOW - 900 * DAY, NOW - 3 * DAY),
        (coming, NOW, NOW + 365 * DAY),
    ):
        for at in range(0, many, 20_000):
            with database.write(world.pool, NOW):
                sql.insert("line", LINE, [
                    _line(chance, world.pool, booking, unit, kit, first, last)
                    for _ in range(min(20_000, many - at))
                ])  # fmt: skip
    return kit


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
    chance = random.Random(SEED + 1)
    actor, unit = world.coordinator, world.units["second"]
    with database.write(world.pool, NOW) as stores:
        ask = Ask(unit, Window(NOW, NOW + DAY), ())
        loose = stores.bookings.add(ask, now=NOW, account=None, undo_until=None)

    def floor(turn: int) -> None:
        with database.connected() as db, db.atomic():
            at = FOREVER - DAY - turn
            row = (
                new_id(),
                world.pool,
                loose,
                unit,
                kit[0],
                1,
                at,
                at + 1,
                at,
                at + 1,
                "confirmed",
                1,
                0,
                0,
            )
            sql.insert("line", LINE, [row])

    def book(lines: int) -> Callable[[int], object]:
        def once(turn: int) -> object:
            start = NOW + chance.randrange(DAY, 300 * DAY, HOUR)
            window = Window(start, start + 12 * HOUR)
            wanted = tuple(Wanted(id, 1) for id in chance.sample(kit, lines))
            key = f"bench-{lines}-{turn}-{start}-{chance.random()}"
            return bookings.book(actor, Ask(unit, window, wanted), now=NOW, key=key, digest="d")

        return once

    timed(20, book(1))
    many = min(25, len(kit))
    with database.connected():
        rates = {
            "floor": told("insert one row, commit", timed(turns, floor)),
            "one": told("book one line", timed(turns, book(1))),
            "many": told(f"book {many} lines", timed(max(20, turns // 5), book(many)), many),
        }
    print(f"ratio to the floor: one line {rates['one'] / rates['floor']:.2f},"
          f" rows of {many} lines {rates['many'] * many / rates['floor']:.2f}")  # fmt: skip
    return rates


def main(argv: list[str] | None = None) -> dict[str, float]:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--database", default="", help="sqlite:///PATH or postgresql://… (a new file)"
    )
    parser.add_argument("--types", type=int, default=500)
    parser.add_argument("--coming", type=int, default=50_000)
    parser.add_argument("--past", type=int, default=1_000_000)
    parser.add_argument("--turns", type=int, default=2000)
    given = parser.parse_args(argv)
    with tempfile.TemporaryDirectory() as folder:
        database.open_database(given.database or f"sqlite:///{folder}/bench.db")
        try:
            migrate.migrate()
            world = a_world("main", "second")
            kit = fill(world, given.types, given.coming, given.past)
            return run(world, kit, given.turns)
        finally:
            database.close_database()


if __name__ == "__main__":
    main()
