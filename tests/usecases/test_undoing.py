"""The last scan taken back: it counts for nothing, unless something has happened since."""

from dataclasses import replace

import pytest

from crossload.domain.booking import Wanted
from crossload.domain.custody import Move
from crossload.domain.kit import Condition
from crossload.domain.people import Role
from crossload.usecases import bookings, checks, out_now, standing
from crossload.usecases.actor import Actor
from crossload.usecases.bookings import Changes
from crossload.usecases.errors import Conflict, Forbidden, NotFound
from crossload.usecases.transaction import read
from crossload.usecases.undoing import UNDO_SCAN_S, undo_event
from worlds import DAY, HOUR, NOW, book, send


def undo(world, told, actor=None):
    return undo_event(actor or world.coordinator, told["id"], now=world.now)


def stands(world, booking):
    return standing.standing(world.coordinator, booking.id, now=world.now)["lines"]


def out(world):
    return [
        {name: one[name] for name in ("tag", "quantity", "unit", "due_at", "out_at")}
        for one in out_now.page(world.coordinator, now=world.now)
    ]


def test_a_piece_that_went_out_by_mistake_leaves_its_line_for_another(world):
    kit = world.a_kit_type(pieces=3)
    first, second, _ = world.tags(kit)
    booking = book(world, "main", (kit, 1))
    before = stands(world, booking)
    undo(world, send(world, Move.OUT, first, booking=booking.id))
    assert (out(world), stands(world, booking)) == ([], before)
    send(world, Move.OUT, second, booking=booking.id)
    assert [one["tag"] for one in out(world)] == [second]
    assert checks.check(world.coordinator, now=NOW) == []


def test_counted_kit_and_consumables_are_there_again(world):
    cells, tape = world.a_kit_type(count=8), world.a_kit_type(count=6, tracking="consumable")
    booking = book(world, "main", (cells, 8), (tape, 6))
    before = stands(world, booking)
    told = send(world, Move.OUT, (cells, 5), (tape, 4), booking=booking.id)
    assert [line["used"] for line in stands(world, booking)] == [0, 4]
    undo(world, told)
    assert (out(world), stands(world, booking)) == ([], before)
    with read(world.pool) as stores:
        assert stores.kit_types.get(tape.id).count == 6


@pytest.mark.parametrize("condition", [Condition.FIT, Condition.DAMAGED, Condition.LOST])
def test_a_piece_that_came_back_is_out_as_it_was(world, condition):
    kit = world.a_kit_type(pieces=2)
    first, _ = world.tags(kit)
    booking = book(world, "main", (kit, 2), end=5 * HOUR)
    send(world, Move.OUT, first, booking=booking.id)
    before = out(world), stands(world, booking)
    world.now = NOW + HOUR
    told = send(world, Move.BACK, first, condition=condition)
    undo(world, told)
    assert (out(world), stands(world, booking)) == before
    with read(world.pool) as stores:
        (piece,) = stores.items.by_code(first)
        line = stores.bookings.get(booking.id).lines[0]
    assert (piece.condition, line.pieces) == (Condition.FIT, (piece.id,))
    assert checks.check(world.coordinator, now=world.now) == []


def test_undone_twice_it_is_undone_once(world):
    kit = world.a_kit_type(count=8)
    booking = book(world, "main", (kit, 5))
    told = send(world, Move.OUT, (kit, 3), booking=booking.id)
    assert undo(world, told) == undo(world, told)
    send(world, Move.OUT, (kit, 5), booking=booking.id)
    undo(world, told)
    assert sum(one["quantity"] for one in out(world)) == 5


def test_what_has_moved_on_is_not_undone(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.tags(kit)
    booking = book(world, "main", (kit, 1))
    went = send(world, Move.OUT, only, booking=booking.id)
    came = send(world, Move.BACK, only)
    with pytest.raises(Conflict, match="something else has happened"):
        undo(world, went)
    send(world, Move.OUT, only, booking=booking.id, key="again")
    with pytest.raises(Conflict, match="something else has happened"):
        undo(world, came)


def test_what_came_back_is_not_out_again_on_a_line_that_was_taken_off(world):
    kit, other = world.a_kit_type(count=4), world.a_kit_type(count=1)
    booking = book(world, "main", (kit, 4), (other, 1))
    send(world, Move.OUT, (kit, 4), booking=booking.id)
    told = send(world, Move.BACK, (kit, 4), booking=booking.id)
    fewer = Changes(lines=(Wanted(other.id, 1, line=booking.lines[1].id),))
    bookings.change(world.coordinator, booking.id, fewer, version=None, now=NOW)
    book(world, "second", (kit, 4))
    with pytest.raises(Conflict, match="something else has happened"):
        undo(world, told)
    assert checks.check(world.coordinator, now=NOW) == []


def test_after_its_time_or_by_somebody_else_nothing_is_undone(world):
    kit = world.a_kit_type(count=8)
    booking = book(world, "main", (kit, 5), end=DAY)
    told = send(world, Move.OUT, (kit, 3), booking=booking.id)
    with pytest.raises(Conflict, match="yourself"):
        undo(world, told, actor=replace(world.mixer("main"), account=booking.id))
    with pytest.raises(NotFound):
        undo(world, {"id": booking.id})
    world.now = NOW + UNDO_SCAN_S + 1
    with pytest.raises(Conflict, match="the time to undo this is over"):
        undo(world, told)
    assert sum(one["quantity"] for one in out(world)) == 3


def test_a_supervisor_undoes_nothing(world):
    kit = world.a_kit_type(count=8)
    told = send(world, Move.OUT, (kit, 3), unit=world.units["main"])
    with pytest.raises(Forbidden):
        undo(world, told, actor=Actor(world.pool, Role.SUPERVISOR))


def test_counted_kit_that_was_set_aside_is_not_undone_by_a_press(world):
    kit = world.a_kit_type(count=5)
    booking = book(world, "main", (kit, 5))
    send(world, Move.OUT, (kit, 5), booking=booking.id)
    told = send(world, Move.BACK, (kit, 2), condition=Condition.DAMAGED)
    with pytest.raises(Conflict, match="set aside"):
        undo(world, told)
