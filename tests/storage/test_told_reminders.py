"""Told reminders in both databases: a key is kept once, whoever comes first."""

from dataclasses import replace

from crossload.domain.reminders import Key, Kind, Reminder, Severity, Stage, To
from crossload.domain.told_reminder import About, ReminderState
from crossload.usecases.transaction import read, write
from worlds import NOW, a_world


def a_reminder(number: int = 1, **more) -> Reminder:
    key = Key(Kind.CHARGE, f"unit:{number}", "2026-11-25", Stage.DUE)
    return replace(Reminder(key, NOW, Severity.SOON, To.UNIT, NOW), **more)


def test_a_key_is_kept_once_and_only_new_ones_are_answered(world):
    with write(world.pool, NOW) as stores:
        assert list(stores.reminders.tell([a_reminder(1)], NOW)) == [str(a_reminder(1).key)]
        told = stores.reminders.tell([a_reminder(n) for n in range(200)], NOW + 5)
        assert set(told) == {str(a_reminder(n).key) for n in range(200) if n != 1}
        first = stores.reminders.of_keys([str(a_reminder(1).key)])[str(a_reminder(1).key)]
    assert first.told_at == NOW
    with read(world.pool) as stores:
        assert len(stores.reminders.page(0, 500)) == 200


def test_each_pool_has_its_own_keys(world):
    other = a_world()
    for pool in (world.pool, other.pool):
        with write(pool, NOW) as stores:
            assert len(stores.reminders.tell([a_reminder()], NOW)) == 1


def test_what_was_told_is_read_back_as_it_was(world):
    kit = world.a_kit_type(count=3)
    made = a_reminder(unit=world.units["main"], kit=((kit.id, 2),), tags=("K7PK-3",), at=NOW + 9)
    with write(world.pool, NOW) as stores:
        (id,) = stores.reminders.tell([made], NOW).values()
        told = stores.reminders.get(id)
    assert told.about == About(NOW + 9, ((kit.id, 2),), ("K7PK-3",)) == About.of(made)
    assert (told.kind, told.stage, told.severity, told.to) == (
        Kind.CHARGE,
        Stage.DUE,
        Severity.SOON,
        To.UNIT,
    )
    assert (told.unit, told.booking, told.due_at, told.told_at) == (made.unit, None, NOW, NOW)
    assert told.state is ReminderState.DUE
