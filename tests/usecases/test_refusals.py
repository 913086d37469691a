"""A refusal is an answer: when it is short and by how many, who has the kit, and what a swap does."""

from crossload.domain.booking import BookingState
from crossload.domain.claims import Why
from crossload.domain.custody import Move
from crossload.usecases import telling
from crossload.usecases.judging import Answer, judge
from crossload.usecases.names import Names
from crossload.usecases.transaction import read, write
from worlds import DAY, HOUR, NOW, an_ask, book, send

PENCIL = BookingState.PENCILLED


def shortages(world, *args, **more):
    with read(world.pool) as stores:
        judged = judge(stores, an_ask(world, *args, **more), world.now)
        assert judged.answer is not Answer.YES
        return telling.shortages(Names(stores), judged, world.now)


def test_each_short_line_says_when_and_by_how_many(world):
    kit, enough = world.a_kit_type(count=8), world.a_kit_type(count=8)
    book(world, "main", (kit, 5), start=HOUR, end=3 * HOUR)
    book(world, "splinter", (kit, 2), start=2 * HOUR, end=4 * HOUR)
    (short,) = shortages(world, "second", (enough, 8), (kit, 4), start=0, end=5 * HOUR)
    assert (short["pointer"], short["kit_type_id"], short["quantity"]) == ("#/lines/1", kit.id, 4)
    assert (short["free"], short["why"]) == (1, Why.NUMBERS)
    found = [(one["start"] - NOW, one["end"] - NOW, one["by"]) for one in short["stretches"]]
    assert found == [(HOUR, 2 * HOUR, 1), (2 * HOUR, 3 * HOUR, 3)]


def test_a_refusal_tells_unit_quantity_window_and_what_of_it_is_out(world):
    kit = world.a_kit_type(count=8)
    world.a_person("Main Hand", "assistant", "07700 900111", unit="main")
    theirs = book(world, "main", (kit, 5), start=HOUR, end=9 * HOUR)
    send(world, Move.OUT, (kit, 3), booking=theirs.id)
    book(world, "splinter", (kit, 1), start=20 * HOUR, end=21 * HOUR)
    (short,) = shortages(world, "second", (kit, 4), start=2 * HOUR, end=5 * HOUR)
    (holder,) = short["holders"]
    assert (holder["unit"], holder["state"], holder["quantity"]) == ("main", "confirmed", 5)
    assert (holder["start"] - NOW, holder["end"] - NOW) == (HOUR, 9 * HOUR)
    assert (holder["out"], holder["overdue"]) == (3, False)
    assert (holder["booking_id"], holder["phone"]) == (theirs.id, "07700 900111")


def test_kit_that_is_late_is_told_as_overdue_and_with_whom_it_is(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.pieces(kit)
    theirs = book(world, "main", (kit, 1), start=0, end=HOUR)
    send(world, Move.OUT, only.tag, booking=theirs.id, person="Runner")
    world.now = NOW + 2 * HOUR
    (short,) = shortages(world, "second", (kit, 1), start=0, end=3 * HOUR)
    (holder,) = short["holders"]
    assert (holder["out"], holder["overdue"], holder["tags"]) == (1, True, [only.tag])


def test_kit_that_a_unit_does_not_use_that_day_is_told_as_idle(world):
    kit = world.a_kit_type(count=12, category="pack")
    book(world, "main", (kit, 3), start=DAY, end=3 * DAY)
    book(world, "splinter", (kit, 4), start=DAY, end=3 * DAY)
    book(world, "second", (kit, 2), start=DAY, end=3 * DAY, state=PENCIL)
    world.a_shoot_day("splinter", NOW + DAY, NOW + DAY + 8 * HOUR, radios=3)
    (short,) = shortages(world, "second", (kit, 6), start=DAY, end=DAY + HOUR)
    assert {one["unit"]: one["idle"] for one in short["holders"]} == {"main": 3, "splinter": 1}
    (short,) = shortages(world, "second", (kit, 6), start=2 * DAY, end=2 * DAY + HOUR)
    assert {one["unit"]: one["idle"] for one in short["holders"]} == {"main": 3, "splinter": 4}


def test_of_a_window_that_has_begun_what_is_idle_today_is_told(world):
    kit = world.a_kit_type(count=4, category="pack")
    book(world, "main", (kit, 3), start=-2 * DAY, end=2 * DAY)
    world.a_shoot_day("main", NOW - 3 * HOUR, NOW + 8 * HOUR, radios=2)
    (short,) = shortages(world, "second", (kit, 2), start=-DAY, end=HOUR)
    assert [one["idle"] for one in short["holders"]] == [1]


def test_nobody_has_consumables_idle(world):
    tape = world.a_kit_type(count=6, tracking="consumable")
    book(world, "main", (tape, 5))
    (short,) = shortages(world, "second", (tape, 2))
    assert [(one["quantity"], one["idle"]) for one in short["holders"]] == [(5, 0)]


def test_of_kit_that_no_shoot_day_counts_nothing_is_idle_while_its_unit_shoots(world):
    kit = world.a_kit_type(count=8)
    book(world, "main", (kit, 3), start=DAY, end=3 * DAY)
    book(world, "splinter", (kit, 4), start=DAY, end=3 * DAY)
    world.a_shoot_day("splinter", NOW + DAY, NOW + DAY + 8 * HOUR)
    (short,) = shortages(world, "second", (kit, 2), start=DAY, end=DAY + HOUR)
    assert {one["unit"]: one["idle"] for one in short["holders"]} == {"main": 3, "splinter": 0}


def test_kit_out_of_service_is_told_with_its_reason_and_nobody_has_it(world):
    kit = world.a_kit_type(count=4)
    world.is_out_of_service(kit, 3, 0, DAY, reason="cracked")
    (short,) = shortages(world, "second", (kit, 2))
    (holder,) = short["holders"]
    assert (holder["state"], holder["quantity"]) == ("out_of_service", 3)
    assert (holder["reason"], holder["unit"], holder["booking_id"]) == ("cracked", None, None)


def test_who_holds_kit_at_other_times_alone_is_not_told(world):
    kit = world.a_kit_type(count=4)
    book(world, "main", (kit, 4), start=HOUR, end=2 * HOUR)
    book(world, "splinter", (kit, 2), start=2 * HOUR, end=9 * HOUR)
    (short,) = shortages(world, "second", (kit, 2), start=HOUR, end=9 * HOUR)
    assert [one["unit"] for one in short["holders"]] == ["main"]


def test_kit_that_two_units_have_without_a_booking_is_told_unit_by_unit(world):
    kit = world.a_kit_type(count=4)
    for unit in ("main", "splinter"):
        for _ in range(2):
            world.has_out(unit, kit, NOW + 9 * HOUR)
    (short,) = shortages(world, "second", (kit, 1))
    found = [(one["unit"], one["quantity"], one["out"]) for one in short["holders"]]
    assert sorted(found) == [("main", 2, 2), ("splinter", 2, 2)]


def test_behind_a_pencil_says_so_with_what_is_free_if_it_falls(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 1))
    until = NOW + 8 * HOUR
    book(world, "splinter", (kit, 4), state=PENCIL, pencil_expires_at=until)
    (short,) = shortages(world, "second", (kit, 3))
    assert (short["why"], short["free"], short["if_pencils_fall"]) == ("pencil", 1, 5)
    assert {one["unit"]: (one["state"], one["expires_at"]) for one in short["holders"]} == {
        "main": ("confirmed", None),
        "splinter": ("pencilled", until),
    }


def test_short_beside_confirmed_kit_is_short_and_not_behind_a_pencil(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 4))
    book(world, "splinter", (kit, 2), state=PENCIL)
    (short,) = shortages(world, "second", (kit, 3))
    assert (short["why"], short["free"], short["if_pencils_fall"]) == (Why.NUMBERS, 0, 2)


def test_when_only_a_swap_would_serve_the_refusal_says_when(world):
    """The piece of one booking until noon and that of another from two: no piece from eleven on."""
    kit = world.a_kit_type(pieces=2)
    one, two = world.pieces(kit)
    book(world, "main", one, start=HOUR, end=4 * HOUR)
    book(world, "second", two, start=6 * HOUR, end=9 * HOUR)
    (short,) = shortages(world, "splinter", (kit, 1), start=3 * HOUR, end=7 * HOUR)
    assert (short["why"], short["free"], short["stretches"]) == (Why.NAMES, 1, [])
    assert short["swap_at"] == [NOW + 6 * HOUR]  # as late as can be
    assert {holder["unit"] for holder in short["holders"]} == {"main", "second"}


def test_no_swap_is_spoken_of_where_it_would_not_serve(world):
    kit = world.a_kit_type(pieces=2)
    one, two = world.pieces(kit)
    book(world, "main", one, start=HOUR, end=5 * HOUR)
    book(world, "second", two, start=4 * HOUR, end=9 * HOUR)
    (short,) = shortages(world, "splinter", (kit, 1), start=3 * HOUR, end=7 * HOUR)
    assert (short["why"], short["swap_at"]) == (Why.NUMBERS, [])
    (short,) = shortages(world, "splinter", one, start=3 * HOUR, end=7 * HOUR)
    assert short["swap_at"] == []


def test_a_retired_piece_is_in_no_swap(world):
    kit = world.a_kit_type(pieces=3)
    one, two, three = world.pieces(kit)
    book(world, "main", one, start=HOUR, end=4 * HOUR)
    book(world, "second", two, start=6 * HOUR, end=9 * HOUR)
    with write(world.pool, NOW) as stores:
        stores.items.change(three.id, None, condition="retired")
    (short,) = shortages(world, "splinter", (kit, 1), start=3 * HOUR, end=7 * HOUR)
    assert short["swap_at"] == [NOW + 6 * HOUR]
