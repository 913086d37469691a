"""How fast a year's availability is told, beside the best statement found in SQL.

    python tests/bench/availability.py [--database sqlite|postgres|URL] [--coming 50000]

Both answer the least free of each kit type on each local day, in the same run on the same data, and
must agree on every figure. The use-case includes permission, reading, all eight figures and the
days' instants; the statement gives one figure. Prints the middle and the worst of the turns.
"""

import argparse
import statistics
import sys
import time
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parent))

from booking import fill, opened

from crossload.domain.zones import day_start, load_zone, local_day
from crossload.storage import database, sql
from crossload.usecases.availability import Chosen, availability
from worlds import NOW, World, a_world

DAYS = 365

STATEMENT = """
WITH edge(kit, day, at, change) AS (
    SELECT kit_type_id, CAST(NULL AS bigint), CASE WHEN from_s < ? THEN ? ELSE from_s END, quantity FROM line
    WHERE pool_id = ? AND until_s > ? AND from_s < ? AND state IN ('pencilled', 'confirmed')
    UNION ALL
    SELECT kit_type_id, NULL, until_s, -quantity FROM line
    WHERE pool_id = ? AND until_s > ? AND until_s < ? AND from_s < ?
        AND state IN ('pencilled', 'confirmed')
    UNION ALL
    SELECT kit_type.id, bench_day.number, bench_day.start, 0 FROM kit_type, bench_day
    WHERE pool_id = ?
), level(kit, day, used) AS (
    SELECT kit, max(day) OVER so_far, sum(change) OVER so_far
    FROM edge WINDOW so_far AS (PARTITION BY kit ORDER BY at)
)
SELECT kit, day, max(used) FROM level WHERE day IS NOT NULL GROUP BY kit, day
"""
"""A running sum over starts, ends and day starts; what is at one instant counts as one."""


def statement(world: World, starts: list[int]) -> list[tuple[int, int, int]]:
    first, last = starts[0], starts[-1]
    return sql.rows(
        STATEMENT, first, first, world.pool, first, last, world.pool, first, last, last, world.pool
    )


def run(world: World, turns: int) -> float:
    zone = load_zone("Europe/London")
    first = local_day(NOW, zone)
    starts = [day_start(first + timedelta(days=n), zone) for n in range(DAYS + 1)]
    chosen = Chosen(first=first, last=first + timedelta(days=DAYS - 1))
    with database.connected() as db:
        db.execute_sql("CREATE TEMPORARY TABLE bench_day (number bigint, start bigint)")
        sql.insert("bench_day", ("number", "start"), list(enumerate(starts[:-1])))
        ours, theirs = [], []
        for _ in range(turns):
            began = time.perf_counter()
            told = availability(world.coordinator, chosen, now=NOW)
            ours.append(time.perf_counter() - began)
            began = time.perf_counter()
            rows = statement(world, starts)
            theirs.append(time.perf_counter() - began)
    row_of = {kit.id: row for row, kit in enumerate(told.kit)}
    free = told.figures.free
    for kit, day, used in rows:
        assert told.kit[row_of[kit]].capacity - int(used) == free[row_of[kit], day], (kit, day)
    assert len(rows) == free.size
    for name, took in (("the use-case", ours), ("one SQL statement", theirs)):
        middle, worst = statistics.median(took) * 1000, max(took) * 1000
        print(
            f"{name:20} {len(told.kit)} types × {DAYS} days: {middle:7.1f} ms, worst {worst:7.1f} ms"
        )
    ratio = statistics.median(theirs) / statistics.median(ours)
    print(f"ratio: {ratio:.1f} times as fast; all {free.size} figures agree")
    return ratio


def main(argv: list[str] | None = None) -> float:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--database", default="sqlite", help="sqlite, postgres or a URL")
    parser.add_argument("--types", type=int, default=500)
    parser.add_argument("--coming", type=int, default=50_000)
    parser.add_argument("--past", type=int, default=0)
    parser.add_argument("--turns", type=int, default=9)
    given = parser.parse_args(argv)
    with opened(given.database):
        world = a_world("main", "second")
        fill(world, given.types, given.coming, given.past)
        if not database.is_sqlite():
            with database.connected():
                sql.run("ANALYZE")  # as the server does by itself within a minute
        return run(world, given.turns)


if __name__ == "__main__":
    main()
