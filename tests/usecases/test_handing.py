"""Out and back: what is out, due, overdue and missing is always known."""

import pytest

from crossload.domain.booking import Ask, BookingState, Wanted
from crossload.domain.custody import Move
from crossload.domain.kit import Condition
from crossload.domain.window import Window
from crossload.storage import database
from crossload.usecases import booked, bookings, checks, handing
from crossload.usecases.bookings import Granted, Refused
from crossload.usecases.errors import Conflict, Forbidden, Invalid, KeyReused
from crossload.usecases.handing import Event, Piece
from worlds import DAY, HOUR, NOW, a_world, an_ask


@pytest.fixture
def world(migrated_url):
    database.open_database(migrated_url)
    yield a_world()
    database.close_database()


def book(world, *args, **more):
    answer = bookings.book(world.coordinator, an_ask(world, *args, **more), now=world.now)
    assert isinstance(answer, Granted), answer
    return answer.booking


def is_refused(world, *args, **more):
    ask = an_ask(world, *args, **more)
    return isinstance(bookings.book(world.coordinator, ask, now=world.now), Refused)


def send(world, kind, *pieces, key=None, at=None, actor=None, **more):
    """`pieces` are tags, or (kit type, quantity)."""
    made = tuple(
        Piece(tag=piece) if isinstance(piece, str) else Piece("", piece[0].id, piece[1])
        for piece in pieces
    )
    happened = world.now if at is None else at
    event = Event(key or f"{kind}{pieces}{happened}", kind, happened, made, **more)
    return handing.record(actor or world.coordinator, event, "digest", now=world.now)


def out(world):
    return handing.page(world.coordinator, now=world.now)


def tags(world, kit):
    return [item.tag for item in world.pieces(kit)]


def test_a_piece_goes_out_on_its_booking_and_comes_back(world):
    kit = world.a_kit_type(pieces=3)
    first, *_ = tags(world, kit)
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
    first, *_ = tags(world, kit)
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
    (line,) = booked.standing(world.coordinator, booking.id, now=NOW)["lines"]
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
    (only,) = tags(world, kit)
    booking = book(world, "main", (kit, 1), end=3 * DAY)
    send(world, Move.OUT, only, booking=booking.id)
    send(world, Move.BACK, only)
    assert is_refused(world, "second", (kit, 1), start=DAY, end=2 * DAY)


def test_overdue_kit_is_not_free_and_is_expected_two_midnights_on(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = tags(world, kit)
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
    (only,) = tags(world, kit)
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
    send(world, Move.OUT, *(tags(world, kit) or [(kit, 1)]), booking=booking.id)
    world.now = NOW + 3 * DAY
    back = world.now + HOUR
    send(world, Move.PROMISE, *(tags(world, kit) or [(kit, 1)]), promised_at=back)
    assert is_refused(world, "second", (kit, 1), start=3 * HOUR, end=4 * HOUR)
    assert not is_refused(world, "second", (kit, 1), start=5 * HOUR, end=6 * HOUR)


def test_late_kit_puts_the_next_booking_at_risk(world):
    kit = world.a_kit_type(pieces=1)
    (only,) = tags(world, kit)
    first = book(world, "main", (kit, 1), end=5 * HOUR)
    second = book(world, "second", (kit, 1), start=8 * HOUR, end=9 * HOUR)
    send(world, Move.OUT, only, booking=first.id)
    world.now = NOW + 6 * HOUR
    assert booked.standing(world.coordinator, second.id, now=world.now)["risk"]
    assert checks.check(world.coordinator, now=world.now) == []
    send(world, Move.BACK, only)
    assert not booked.standing(world.coordinator, second.id, now=world.now)["risk"]


def test_a_piece_back_damaged_leaves_capacity_at_once(world):
    kit = world.a_kit_type(pieces=2)
    first, _ = tags(world, kit)
    booking = book(world, "main", (kit, 2), end=5 * HOUR)
    coming = book(world, "second", (kit, 2), start=DAY, end=2 * DAY)
    send(world, Move.OUT, first, booking=booking.id)
    told = send(world, Move.BACK, first, condition=Condition.DAMAGED, words="bent")
    assert {one["booking_id"] for one in told["endangers"]} >= {coming.id}
    assert booked.standing(world.coordinator, coming.id, now=NOW)["risk"]
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
    (only,) = tags(world, kit)
    first = book(world, "main", (kit, 1), end=5 * HOUR)
    second = book(world, "second", (kit, 1), start=5 * HOUR, end=9 * HOUR)
    send(world, Move.OUT, only, booking=first.id)
    world.now = NOW + 4 * HOUR
    send(world, Move.HAND_OVER, only, booking=second.id)
    (there,) = out(world)
    assert (there["unit"], there["due_at"]) == ("second", second.window.end)
    assert checks.check(world.coordinator, now=world.now) == []


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
