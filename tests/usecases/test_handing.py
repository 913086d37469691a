"""Out and back: what is out, due, overdue and missing is always known."""

import pytest

from crossload.domain.booking import Ask, BookingState, Wanted
from crossload.domain.custody import Move
from crossload.domain.kit import Condition
from crossload.domain.window import Window
from crossload.usecases import bookings, checks, handing, out_now, standing
from crossload.usecases.bookings import Changes
from crossload.usecases.conditions import set_condition
from crossload.usecases.errors import Conflict, Forbidden, Invalid, KeyReused
from crossload.usecases.granting import Granted, Refused
from crossload.usecases.moving import Event, Piece
from crossload.usecases.transaction import write
from worlds import DAY, HOUR, NOW, an_ask, answer_to, book, send


def is_refused(world, *args, **more):
    return isinstance(answer_to(world, an_ask(world, *args, **more)), Refused)


def out(world):
    return out_now.page(world.coordinator, now=world.now)


def test_a_piece_goes_out_on_its_booking_and_comes_back(world):
    kit = world.a_kit_type(pieces=3)
    first, *_ = world.tags(kit)
    booking = book(world, "main", (kit, 2))
    told = send(world, Move.OUT, first, booking=booking.id, person="Runner")
    assert [one["tag"] for one in told["moved"]] == [first]
    (there,) = out(world)
    assert (there["tag"], there["unit"], there["person"]) == (first, "main", "Runner")
    assert there["due_at"] == booking.window.end
    send(world, Move.BACK, first)
    assert out(world) == []


def test_a_piece_that_is_out_does_not_go_out_again(world):
    kit = world.a_kit_type(pieces=3)
    first, *_ = world.tags(kit)
    booking = book(world, "main", (kit, 2))
    send(world, Move.OUT, first, booking=booking.id)
    with pytest.raises(Conflict, match="main"):
        send(world, Move.OUT, first, booking=booking.id, key="again")


def test_the_same_event_twice_happens_once(world):
    kit = world.a_kit_type(count=8)
    booking = book(world, "main", (kit, 5))
    once = send(world, Move.OUT, (kit, 3), booking=booking.id, key="k")
    again = send(world, Move.OUT, (kit, 3), booking=booking.id, key="k")
    assert once == again
    assert sum(one["quantity"] for one in out(world)) == 3
    event = Event("k", Move.OUT, NOW, (Piece("", kit.id, 1),), booking=booking.id)
    with pytest.raises(KeyReused):
        handing.record(world.coordinator, event, "another", now=NOW)


def test_counted_kit_comes_back_in_part(world):
    kit = world.a_kit_type(count=8)
    booking = book(world, "main", (kit, 5))
    send(world, Move.OUT, (kit, 5), booking=booking.id)
    send(world, Move.BACK, (kit, 2), booking=booking.id)
    (line,) = standing.standing(world.coordinator, booking.id, now=NOW)["lines"]
    assert (line["out"], line["back"]) == (3, 2)
    with pytest.raises(Invalid):
        send(world, Move.BACK, (kit, 4), booking=booking.id)


def test_no_more_goes_out_than_the_line_has(world):
    kit = world.a_kit_type(count=8)
    booking = book(world, "main", (kit, 5))
    with pytest.raises(Conflict):
        send(world, Move.OUT, (kit, 6), booking=booking.id)


def test_kit_back_inside_its_window_keeps_the_booking(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.tags(kit)
    booking = book(world, "main", (kit, 1), end=3 * DAY)
    send(world, Move.OUT, only, booking=booking.id)
    send(world, Move.BACK, only)
    assert is_refused(world, "second", (kit, 1), start=DAY, end=2 * DAY)


def test_overdue_kit_is_not_free_and_is_expected_two_midnights_on(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.tags(kit)
    booking = book(world, "main", (kit, 1), end=5 * HOUR)
    send(world, Move.OUT, only, booking=booking.id)
    world.now = NOW + 6 * HOUR
    (late,) = out(world)
    assert late["overdue"]
    midnight_but_one = NOW + 14 * HOUR + DAY
    assert late["expected_at"] == midnight_but_one
    assert is_refused(world, "second", (kit, 1), start=8 * HOUR, end=9 * HOUR)
    week = 7 * DAY
    assert not is_refused(world, "second", (kit, 1), start=week, end=week + HOUR)


def test_a_promise_sets_when_it_is_expected(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.tags(kit)
    booking = book(world, "main", (kit, 1), end=5 * HOUR)
    send(world, Move.OUT, only, booking=booking.id)
    world.now = NOW + 6 * HOUR
    send(world, Move.PROMISE, only, promised_at=NOW + 7 * HOUR)
    assert out(world)[0]["expected_at"] == NOW + 7 * HOUR
    assert not is_refused(world, "second", (kit, 1), start=8 * HOUR, end=9 * HOUR)


@pytest.mark.parametrize("much", [{"count": 1}, {"pieces": 1}], ids=["count", "piece"])
def test_late_kit_is_checked_in_for_as_long_as_its_own_line_says(world, much):
    kit = world.a_kit_type(**much)
    window = Window(NOW, NOW + 5 * HOUR)
    ask = Ask(world.units["main"], window, (Wanted(kit.id, 1, check_in_s=3 * HOUR),))
    booking = bookings.book(world.coordinator, ask, now=NOW).booking
    send(world, Move.OUT, *(world.tags(kit) or [(kit, 1)]), booking=booking.id)
    world.now = NOW + 3 * DAY
    back = world.now + HOUR
    send(world, Move.PROMISE, *(world.tags(kit) or [(kit, 1)]), promised_at=back)
    assert is_refused(world, "second", (kit, 1), start=3 * HOUR, end=4 * HOUR)
    assert not is_refused(world, "second", (kit, 1), start=5 * HOUR, end=6 * HOUR)


def test_late_kit_puts_the_next_booking_at_risk(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.tags(kit)
    first = book(world, "main", (kit, 1), end=5 * HOUR)
    second = book(world, "second", (kit, 1), start=8 * HOUR, end=9 * HOUR)
    send(world, Move.OUT, only, booking=first.id)
    world.now = NOW + 6 * HOUR
    assert standing.standing(world.coordinator, second.id, now=world.now)["risk"]
    assert checks.check(world.coordinator, now=world.now) == []
    send(world, Move.BACK, only)
    assert not standing.standing(world.coordinator, second.id, now=world.now)["risk"]


def test_a_piece_back_damaged_leaves_capacity_at_once(world):
    kit = world.a_kit_type(pieces=2)
    first, _ = world.tags(kit)
    booking = book(world, "main", (kit, 2), end=5 * HOUR)
    coming = book(world, "second", (kit, 2), start=DAY, end=2 * DAY)
    send(world, Move.OUT, first, booking=booking.id)
    told = send(world, Move.BACK, first, condition=Condition.DAMAGED, words="bent")
    assert {one["booking_id"] for one in told["endangers"]} >= {coming.id}
    assert standing.standing(world.coordinator, coming.id, now=NOW)["risk"]
    assert is_refused(world, "splinter", (kit, 2), start=3 * DAY, end=4 * DAY)
    assert not is_refused(world, "splinter", (kit, 1), start=3 * DAY, end=4 * DAY)


def test_a_piece_promised_by_name_to_another_is_kept_for_them(world):
    kit = world.a_kit_type(pieces=2)
    first, second = world.pieces(kit)
    book(world, "second", first, start=2 * HOUR, end=4 * HOUR)
    mine = book(world, "main", (kit, 1), end=5 * HOUR)
    with pytest.raises(Conflict) as error:
        send(world, Move.OUT, first.tag, booking=mine.id)
    assert error.value.members["take_instead"] == [second.tag]
    told = send(world, Move.OUT, first.tag, booking=mine.id, anyway=True, key="anyway")
    assert told["endangers"]


def test_consumables_go_out_and_do_not_come_back(world):
    kit = world.a_kit_type(count=10, tracking="consumable")
    booking = book(world, "main", (kit, 6))
    send(world, Move.OUT, (kit, 4), booking=booking.id)
    assert out(world) == []
    assert is_refused(world, "second", (kit, 5))
    assert not is_refused(world, "second", (kit, 4))
    with pytest.raises(Invalid):
        send(world, Move.BACK, (kit, 1), booking=booking.id)


def test_kit_hands_over_between_units_without_the_house(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.tags(kit)
    first = book(world, "main", (kit, 1), end=5 * HOUR)
    second = book(world, "second", (kit, 1), start=5 * HOUR, end=9 * HOUR)
    send(world, Move.OUT, only, booking=first.id)
    world.now = NOW + 4 * HOUR
    send(world, Move.HAND_OVER, only, booking=second.id)
    (there,) = out(world)
    assert (there["unit"], there["due_at"]) == ("second", second.window.end)
    assert checks.check(world.coordinator, now=world.now) == []


def a_piece_out(world, unit="main", **more):
    kit = world.a_kit_type(pieces=2)
    first, _ = world.tags(kit)
    booking = book(world, unit, (kit, 1), **more)
    send(world, Move.OUT, first, booking=booking.id)
    return kit, first, booking


def test_kit_is_not_handed_over_to_who_has_it(world):
    _, first, booking = a_piece_out(world)
    with pytest.raises(Conflict, match="main already"):
        send(world, Move.HAND_OVER, first, unit=world.units["main"])
    with pytest.raises(Conflict, match="main already"):
        send(world, Move.HAND_OVER, first, booking=booking.id, key="by booking")
    assert out(world)[0]["booking_id"] == booking.id


def test_a_piece_that_is_handed_over_serves_its_old_line_no_longer(world):
    _, first, old = a_piece_out(world)
    send(world, Move.HAND_OVER, first, unit=world.units["second"])
    assert [line.pieces for line in world.booking(old.id).lines] == [()]


def test_kit_is_not_handed_over_before_it_went_out(world):
    _, first, _ = a_piece_out(world)
    with pytest.raises(Invalid, match="before it went out"):
        send(world, Move.HAND_OVER, first, unit=world.units["second"], at=NOW - HOUR)


def test_kit_does_not_go_out_again_at_a_time_before_it_came_back(world):
    _, first, booking = a_piece_out(world)
    world.now = NOW + 2 * HOUR
    send(world, Move.BACK, first)
    with pytest.raises(Invalid, match="before it came back"):
        send(world, Move.OUT, first, booking=booking.id, at=NOW + HOUR, key="too early")
    send(world, Move.OUT, first, booking=booking.id, at=world.now - 60, key="a slow clock")


def test_a_promise_is_for_kit_that_is_out_and_for_as_much_as_it_says(world):
    kit = world.a_kit_type(count=8)
    pieces = world.a_kit_type(pieces=1)
    booking = book(world, "main", (kit, 5))
    send(world, Move.OUT, (kit, 5), booking=booking.id)
    with pytest.raises(Conflict, match="not out"):
        send(world, Move.PROMISE, *world.tags(pieces), promised_at=NOW + DAY)
    with pytest.raises(Invalid, match="5 of"):
        send(world, Move.PROMISE, (kit, 6), promised_at=NOW + DAY)
    send(world, Move.PROMISE, (kit, 2), promised_at=NOW + DAY)
    told = {(one["quantity"], one["expected_at"]) for one in out(world)}
    assert told == {(2, NOW + DAY), (3, booking.window.end)}


def test_a_promise_for_some_is_for_those_that_were_due_first(world):
    kit = world.a_kit_type(count=4)
    long = book(world, "main", (kit, 2), end=2 * DAY)
    short = book(world, "main", (kit, 2), end=2 * HOUR)
    send(world, Move.OUT, (kit, 2), booking=long.id)
    send(world, Move.OUT, (kit, 2), booking=short.id, key="later out")
    world.now = NOW + 3 * HOUR
    send(world, Move.PROMISE, (kit, 2), unit=world.units["main"], promised_at=NOW + DAY)
    told = {one["booking_id"]: one["expected_at"] for one in out(world)}
    assert told == {long.id: long.window.end, short.id: NOW + DAY}


@pytest.mark.parametrize("condition", [Condition.SUSPECT, Condition.DAMAGED, Condition.LOST])
def test_counted_kit_that_comes_back_unfit_is_out_of_service(world, condition):
    kit = world.a_kit_type(count=5)
    booking = book(world, "main", (kit, 5))
    coming = book(world, "second", (kit, 5), start=DAY, end=2 * DAY)
    send(world, Move.OUT, (kit, 5), booking=booking.id)
    told = send(world, Move.BACK, (kit, 2), condition=condition)
    assert coming.id in {one["booking_id"] for one in told["endangers"]}
    assert is_refused(world, "splinter", (kit, 4), start=3 * DAY, end=4 * DAY)
    assert not is_refused(world, "splinter", (kit, 3), start=3 * DAY, end=4 * DAY)
    assert checks.check(world.coordinator, now=NOW) == []


def test_a_retired_piece_goes_nowhere(world):
    kit = world.a_kit_type(pieces=2)
    first, _ = world.pieces(kit)
    with write(world.pool, NOW) as stores:
        set_condition(stores, first, Condition.RETIRED, NOW)
    unit = world.units["main"]
    with pytest.raises(Conflict, match="retired"):
        send(world, Move.OUT, first.tag, unit=unit, anyway=True)
    with pytest.raises(Conflict, match="retired"):
        send(world, Move.BACK, first.tag, condition=Condition.DAMAGED)


def test_a_mixer_says_nothing_of_the_condition_of_kit_that_is_not_theirs(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.tags(kit)
    with pytest.raises(Forbidden):
        send(world, Move.BACK, only, condition=Condition.LOST, actor=world.mixer("second"))
    assert send(world, Move.BACK, only, condition=Condition.LOST)["moved"]


def test_kit_that_goes_out_before_its_time_is_judged_from_now_on(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = world.tags(kit)
    first = book(world, "main", (kit, 1), start=2 * HOUR, end=4 * HOUR)
    later = book(world, "second", (kit, 1), start=DAY, end=2 * DAY)
    with pytest.raises(Conflict, match="promised to another"):
        send(world, Move.OUT, only, booking=later.id)
    told = send(world, Move.OUT, only, booking=later.id, anyway=True, key="anyway")
    assert [one["booking_id"] for one in told["endangers"]] == [first.id]


def test_counted_kit_that_goes_out_before_its_time_says_whom_it_endangers(world):
    kit = world.a_kit_type(count=2)
    first = book(world, "main", (kit, 2), start=2 * HOUR, end=4 * HOUR)
    later = book(world, "second", (kit, 2), start=DAY, end=2 * DAY)
    told = send(world, Move.OUT, (kit, 2), booking=later.id)
    assert [one["booking_id"] for one in told["endangers"]] == [first.id]


def test_a_line_keeps_what_is_out_on_it_whatever_else_leaves(world):
    kit = world.a_kit_type(pieces=3)
    first, second, _ = world.tags(kit)
    booking = book(world, "main", (kit, 2))
    send(world, Move.OUT, first, second, booking=booking.id)
    send(world, Move.BACK, first)
    line = booking.lines[0]
    fewer = Changes(lines=(Wanted(kit.id, 1, line=line.id),))
    changed = bookings.change(world.coordinator, booking.id, fewer, version=None, now=NOW)
    (kept,) = changed.booking.lines[0].pieces
    assert kept == out(world)[0]["item_id"]


def test_a_line_does_not_become_other_kit_while_it_is_out(world):
    kit, _, booking = a_piece_out(world)
    other = world.a_kit_type(pieces=3)
    changed = Changes(lines=(Wanted(other.id, 1, line=booking.lines[0].id),))
    with pytest.raises(Conflict, match="are out"):
        bookings.change(world.coordinator, booking.id, changed, version=None, now=NOW)
    send(world, Move.BACK, world.tags(kit)[0])
    answer = bookings.change(world.coordinator, booking.id, changed, version=None, now=NOW)
    assert isinstance(answer, Granted)


def test_what_is_out_is_due_when_its_booking_ends_however_that_moves(world):
    _, _, booking = a_piece_out(world)
    longer = Changes(window=Window(booking.window.start, NOW + 9 * HOUR))
    bookings.change(world.coordinator, booking.id, longer, version=None, now=NOW)
    assert out(world)[0]["due_at"] == NOW + 9 * HOUR


def test_a_booking_does_not_leap_over_another_while_its_kit_is_out(world):
    kit = world.a_kit_type(pieces=1)
    booking = book(world, "main", (kit, 1))
    between = book(world, "second", (kit, 1), start=6 * HOUR, end=9 * HOUR)
    send(world, Move.OUT, *world.tags(kit), booking=booking.id)
    later = Changes(window=Window(NOW + DAY, NOW + 2 * DAY))
    with pytest.raises(Conflict, match="is out"):
        bookings.change(world.coordinator, booking.id, later, version=None, now=NOW)
    assert not standing.standing(world.coordinator, between.id, now=NOW)["risk"]


def consumables_used(world, quantity=6, used=4):
    kit = world.a_kit_type(count=quantity, tracking="consumable")
    booking = book(world, "main", (kit, quantity))
    send(world, Move.OUT, (kit, used), booking=booking.id)
    return kit, booking


def test_what_goes_out_twice_in_one_event_is_used_up_twice(world):
    tape = world.a_kit_type(count=9, tracking="consumable")
    booking = book(world, "main", (tape, 3))
    with pytest.raises(Conflict, match="has 1 of"):
        send(world, Move.OUT, (tape, 2), (tape, 2), booking=booking.id)
    send(world, Move.OUT, (tape, 2), (tape, 1), booking=booking.id)
    assert world.booking(booking.id).lines[0].gone == 3
    assert checks.check(world.coordinator, now=NOW) == []


def test_what_is_used_up_is_not_undone_and_not_taken_off_its_line(world):
    kit, booking = consumables_used(world)
    with pytest.raises(Conflict):
        bookings.undo(world.coordinator, booking.id, version=None, now=NOW)
    fewer = Changes(lines=(Wanted(kit.id, 3, line=booking.lines[0].id),))
    with pytest.raises(Conflict, match="used up"):
        bookings.change(world.coordinator, booking.id, fewer, version=None, now=NOW)
    assert checks.check(world.coordinator, now=NOW) == []


def test_what_is_used_up_counts_once_when_its_booking_moves(world):
    _, booking = consumables_used(world)
    longer = Changes(window=Window(NOW + HOUR, NOW + DAY))
    answer = bookings.change(world.coordinator, booking.id, longer, version=None, now=NOW)
    assert isinstance(answer, Granted)
    assert answer.booking.lines[0].gone == 4


def test_a_line_that_is_used_up_whole_stays_when_its_booking_moves(world):
    tape, stand = world.a_kit_type(count=6, tracking="consumable"), world.a_kit_type(count=1)
    booking = book(world, "main", (tape, 6), (stand, 1))
    send(world, Move.OUT, (tape, 6), booking=booking.id)
    longer = Changes(window=Window(NOW + HOUR, NOW + DAY))
    answer = bookings.change(world.coordinator, booking.id, longer, version=None, now=NOW)
    assert isinstance(answer, Granted)
    assert [line.quantity for line in answer.booking.lines] == [6, 1]
    assert {line.state for line in answer.booking.lines} == {BookingState.CONFIRMED}


@pytest.mark.parametrize("used", [4, 6])
def test_releasing_a_booking_gives_back_what_was_not_used_up(world, used):
    kit, booking = consumables_used(world, used=used)
    released = bookings.release(world.coordinator, booking.id, version=None, now=NOW)
    assert released.state is BookingState.RELEASED
    assert is_refused(world, "second", (kit, 7 - used))
    assert used == 6 or not is_refused(world, "second", (kit, 6 - used))
    assert checks.check(world.coordinator, now=NOW) == []


def test_kit_does_not_go_out_on_a_pencil(world):
    kit = world.a_kit_type(count=3)
    pencil = book(world, "main", (kit, 1), state=BookingState.PENCILLED)
    with pytest.raises(Conflict):
        send(world, Move.OUT, (kit, 1), booking=pencil.id)


def test_what_is_out_is_not_released_or_undone(world):
    kit = world.a_kit_type(count=3)
    booking = book(world, "main", (kit, 3))
    send(world, Move.OUT, (kit, 2), booking=booking.id)
    with pytest.raises(Conflict):
        bookings.release(world.coordinator, booking.id, version=None, now=NOW)
    with pytest.raises(Conflict):
        bookings.undo(world.coordinator, booking.id, version=None, now=NOW)


def test_an_event_of_the_future_is_refused_and_one_of_the_past_is_taken(world):
    kit = world.a_kit_type(count=3)
    booking = book(world, "main", (kit, 3))
    with pytest.raises(Invalid):
        send(world, Move.OUT, (kit, 1), booking=booking.id, at=NOW + DAY)
    world.now = NOW + 2 * HOUR
    send(world, Move.OUT, (kit, 1), booking=booking.id, at=NOW + HOUR)
    assert out(world)[0]["out_at"] == NOW + HOUR


def test_a_mixer_hands_out_for_their_own_unit_alone(world):
    kit = world.a_kit_type(count=3)
    booking = book(world, "main", (kit, 3))
    with pytest.raises(Forbidden):
        send(world, Move.OUT, (kit, 1), booking=booking.id, actor=world.mixer("second"))


def test_an_unknown_tag_is_refused_by_name(world):
    kit = world.a_kit_type(pieces=1)
    booking = book(world, "main", (kit, 1))
    with pytest.raises(Invalid, match="X99"):
        send(world, Move.OUT, "X99", booking=booking.id)


def test_what_is_said_of_worn_kit_is_said_when_it_goes_out_and_not_when_it_comes_back(world):
    pack = world.a_kit_type(pieces=1, category="pack")
    cells = world.a_kit_type(count=4, category="battery")
    booking = book(world, "main", (pack, 1), (cells, 4))
    gone = send(world, Move.OUT, *world.tags(pack), (cells, 4), booking=booking.id)
    assert [text.split(":")[0] for text in gone["cautions"]] == [
        "Adhesive on skin",
        "Lithium batteries",
    ]
    back = send(world, Move.BACK, *world.tags(pack), (cells, 4))
    assert [text.split(":")[0] for text in back["cautions"]] == ["Lithium batteries"]


def test_what_moved_says_which_unit_had_it(world):
    kit = world.a_kit_type(pieces=1)
    tape = world.a_kit_type(count=6, tracking="consumable")
    booking = book(world, "second", (kit, 1), (tape, 2))
    told = send(world, Move.OUT, *world.tags(kit), (tape, 2), booking=booking.id)
    assert [one["unit"] for one in told["moved"]] == ["second", "second"]
    told = send(world, Move.BACK, *world.tags(kit))
    assert [one["unit"] for one in told["moved"]] == ["second"]


def test_a_tag_that_was_typed_with_a_space_moves_its_piece(world):
    kit = world.a_kit_type(pieces=1)
    (tag,) = world.tags(kit)
    told = send(world, Move.OUT, f" {tag.lower().replace('-', ' ')} ", unit=world.units["main"])
    assert [one["tag"] for one in told["moved"]] == [tag]
