"""What is read of an ask at once, and how few statements a booking takes, in both databases."""

from dataclasses import replace

from crossload.storage.database import connected
from crossload.storage.ids import new_id
from crossload.usecases import once
from crossload.usecases.transaction import read, write
from worlds import DAY, HOUR, NOW, an_ask, book


def test_kit_of_which_some_is_away_is_told_from_kit_that_is_all_there(world):
    there, out, away, was_away = (world.a_kit_type(count=5) for _ in range(4))
    world.has_out("main", out, due=NOW + HOUR)
    world.is_out_of_service(away, 1, 2 * DAY, 3 * DAY)
    world.is_out_of_service(was_away, 1, -DAY, -HOUR)
    kit = [there, out, away, was_away]
    with read(world.pool) as stores:
        known = stores.known(an_ask(world, "main", *((each, 1) for each in kit)), NOW)
    assert known.kit == {each.id: each for each in kit}
    assert set(known.facts) == {out.id, away.id}


def test_unit_and_key_are_known_though_the_kit_is_not(world):
    kit = world.a_kit_type(count=1)
    actor = world.coordinator
    with write(world.pool, NOW) as stores:
        once.keep(stores, actor, "sent", "digest", {"booking": 7}, NOW)
    ask = an_ask(world, "main", (kit, 1))
    unknown = an_ask(world, "main", (replace(kit, id=new_id()), 1))
    with read(world.pool) as stores:
        for each, found in ((ask, {kit.id}), (unknown, set())):
            known = stores.known(each, NOW, actor.owner, "sent")
            assert known.unit
            assert known.kept == ("digest", {"booking": 7})
            assert known.kit.keys() == found
            assert stores.known(each, NOW, actor.owner, "new").kept is None


def test_counted_kit_that_is_all_there_is_booked_after_two_reads(world):
    kit = world.a_kit_type(count=5)
    book(world, "main", (kit, 1))
    statements = []
    with connected() as db:
        db.query_hooks.append(lambda event: statements.append(event.sql.split()[0]))
        try:
            book(world, "second", (kit, 1), start=2 * HOUR)
        finally:
            db.query_hooks.clear()
    assert statements.count("SELECT") == 2
    assert len(statements) <= 6


def test_rows_written_last_are_there_after_the_transaction(world):
    with write(world.pool, NOW) as stores:
        for number in range(200):
            stores.journal.write(None, "tried", "pool", world.pool, NOW, after={"number": number})
    with read(world.pool) as stores:
        told = [entry.after["number"] for entry in stores.journal.page(limit=500)[-200:]]
    assert told == list(range(200))
