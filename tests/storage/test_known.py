"""What is read of an ask at once, and how few statements a booking takes, in both databases."""

from dataclasses import replace

import pytest

from crossload.domain.custody import Move
from crossload.domain.people import Role
from crossload.storage.database import connected
from crossload.storage.ids import new_id
from crossload.usecases import accounts, bookings, once
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid
from crossload.usecases.transaction import read, write
from worlds import DAY, HOUR, NOW, a_world, an_ask, answer_to, book, granted, send


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


def test_what_came_back_or_ended_before_the_ask_and_now_is_no_fact(world):
    kit, away, ended = (world.a_kit_type(count=4) for _ in range(3))
    send(world, Move.OUT, (kit, 1), unit=world.units["main"])
    send(world, Move.BACK, (kit, 1), unit=world.units["main"], now=NOW + 60)
    world.is_out_of_service(away, 1, -HOUR, HOUR)
    world.is_out_of_service(ended, 1, -5 * HOUR, -HOUR)
    kits = [(one, 1) for one in (kit, away, ended)]
    with read(world.pool) as stores:
        later = stores.known(an_ask(world, "main", *kits, start=2 * HOUR, end=3 * HOUR), NOW)
        began = stores.known(an_ask(world, "main", *kits, start=-2 * HOUR, end=3 * HOUR), NOW)
    assert later.facts == [away.id], "it lasts until after now, if not until the ask"
    assert set(began.facts) == {away.id, ended.id}


@pytest.mark.parametrize("gone", ["ended", "of another pool"])
def test_a_unit_that_is_gone_or_of_another_pool_is_not_known(world, gone):
    kit = world.a_kit_type(count=4)
    if gone == "ended":
        with write(world.pool, NOW) as stores:
            stores.units.change(world.units["second"], None, ended_at=NOW)
    else:
        world.units["second"] = a_world("main").units["main"]
    with pytest.raises(Invalid, match="no such unit"):
        answer_to(world, an_ask(world, "second", (kit, 1)))


def test_a_key_is_its_senders_own(world):
    kit = world.a_kit_type(count=4)
    ask = an_ask(world, "main", (kit, 1))
    senders = [
        accounts.add_account(
            world.coordinator, login=name, name=name, role=Role.COORDINATOR,
            password="four words in a row", now=NOW,
        ).id
        for name in ("ines", "dov")
    ]  # fmt: skip
    first, second = (
        granted(bookings.book(Actor(world.pool, Role.COORDINATOR, id), ask, now=NOW, key="k", digest="d"))
        for id in senders
    )  # fmt: skip
    assert first.id != second.id
