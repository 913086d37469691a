"""Reminders through the use-cases, on both databases: told once, ended, answered, shown."""

from collections import Counter

import pytest

from crossload.domain.booking import BookingState
from crossload.domain.custody import Move, OutOfService
from crossload.domain.hours import WEEKDAYS
from crossload.domain.instants import format_instant, parse_day, parse_instant
from crossload.domain.kit import Condition, Tracking
from crossload.domain.people import Account, Role
from crossload.domain.told_reminder import ReminderState
from crossload.domain.window import FOREVER, Window
from crossload.storage.ids import new_id
from crossload.usecases import bookings, reminders
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, Forbidden, NotFound
from crossload.usecases.granting import Granted
from crossload.usecases.names import Names
from crossload.usecases.transaction import read, write
from worlds import DAY, HOUR, NOW, a_world, book, send

PENCIL = BookingState.PENCILLED
OFFICE = {day: [["09:00", "18:00"]] for day in WEEKDAYS[:5]}
ENDED = ReminderState.ENDED


def at(text):
    return parse_instant(text)


def tick(world, when):
    return reminders.remind(world.pool, at(when) if isinstance(when, str) else when)


def kept(world, **chosen):
    """What is kept, whatever became of it, oldest first."""
    with read(world.pool) as stores:
        return stores.reminders.page(0, 500, **chosen)


def still(world):
    """What somebody still has to do, as kind and stage."""
    with read(world.pool) as stores:
        return [f"{one.kind} {one.stage}" for one in stores.reminders.open()]


def told(world):
    """How often each key was told, by the journal."""
    with read(world.pool) as stores:
        entries = stores.journal.page(0, 10_000, kind="reminder")
    return Counter(entry.after["key"] for entry in entries if entry.verb == "told")


def goes_out(world, kit, due, *, unit="main", **more):
    return world.has_out(unit, kit, at(due), **more)


def comes_back(world, custody, when):
    with write(world.pool, at(when)) as stores:
        stores.custodies.set(custody.id, back_at=at(when), condition="fit")


# Told once, ended when they no longer apply


def test_each_stage_is_told_once_and_ends_the_one_before(world):
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    stages = []
    for when in ("11:59:59", "12:00:00", "12:00:05", "14:00:00", "15:00:00", "18:00:00"):
        tick(world, f"2026-11-25T{when}Z")
        stages.append(still(world))
    assert stages == [
        [],
        ["return_due ahead"],
        ["return_due ahead"],
        ["return_due due"],
        ["return_due late"],
        ["return_due escalated"],
    ]
    assert [one.state for one in kept(world)] == [*([ENDED] * 3), ReminderState.DUE]
    assert set(told(world).values()) == {1}
    assert len(told(world)) == 4


def test_a_scheduler_that_was_down_over_night_tells_late_ones_at_once_and_once(world):
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T18:00:00Z")
    goes_out(world, world.a_kit_type(count=9), "2026-11-26T10:00:00Z", unit="second")
    made = tick(world, "2026-11-26T08:30:00Z")
    assert (made.told, made.ended) == (2, 0)
    assert still(world) == ["return_due escalated", "return_due ahead"]
    assert tick(world, "2026-11-26T08:30:05Z").told == 0
    assert len(told(world)) == 2


def test_a_round_with_nothing_to_say_writes_nothing(world):
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    tick(world, "2026-11-25T12:00:00Z")
    before = world.revision
    made = tick(world, "2026-11-25T12:00:05Z")
    assert (made.told, made.ended, made.revision) == (0, 0, before)
    assert world.revision == before


def test_a_round_settles_a_pencil_that_lapsed_though_there_is_nothing_to_tell(world):
    kit = world.a_kit_type(count=2)
    pencil = book(world, "main", (kit, 1), state=PENCIL, pencil_expires_at=NOW + 60)
    tick(world, NOW + 59)
    assert world.booking(pencil.id).state is PENCIL
    tick(world, NOW + 60)
    assert world.booking(pencil.id).state is BookingState.LAPSED


def test_kit_that_comes_back_ends_its_reminder(world):
    custody = goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    tick(world, "2026-11-25T14:00:00Z")
    comes_back(world, custody, "2026-11-25T14:10:00Z")
    made = tick(world, "2026-11-25T14:10:05Z")
    assert (made.told, made.ended, still(world)) == (0, 1, [])


def test_a_reminder_says_what_is_left_when_some_came_back(world):
    kit = world.a_kit_type(pieces=2)
    one, other = world.pieces(kit)
    first = goes_out(world, kit, "2026-11-25T14:00:00Z", item=one.id)
    goes_out(world, kit, "2026-11-25T14:00:00Z", item=other.id)
    tick(world, "2026-11-25T14:00:00Z")
    comes_back(world, first, "2026-11-25T14:10:00Z")
    made = tick(world, "2026-11-25T14:10:05Z")
    assert (made.told, made.ended) == (0, 0)
    (reminder,) = kept(world)
    assert reminder.about.kit == ((kit.id, 1),)
    assert reminder.about.tags == (other.tag,)


def test_a_promise_moves_the_reminders_to_its_instant(world):
    custody = goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    tick(world, "2026-11-25T15:30:00Z")
    assert still(world) == ["return_due late"]
    with write(world.pool, at("2026-11-25T15:31:00Z")) as stores:
        stores.custodies.set(custody.id, promised_at=at("2026-11-25T19:00:00Z"))
    assert tick(world, "2026-11-25T15:31:05Z").ended == 1
    assert still(world) == []
    tick(world, "2026-11-25T17:00:00Z")
    assert still(world) == ["return_due ahead"]


def test_a_reminder_that_applies_again_is_due_again_under_its_key(world):
    custody = goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    tick(world, "2026-11-25T14:00:00Z")
    comes_back(world, custody, "2026-11-25T14:10:00Z")
    tick(world, "2026-11-25T14:10:00Z")
    with write(world.pool, at("2026-11-25T14:20:00Z")) as stores:  # it was another's, after all
        stores.custodies.set(custody.id, back_at=None, condition=None)
    assert tick(world, "2026-11-25T14:20:05Z").told == 1
    (reminder,) = kept(world)
    assert (reminder.state, reminder.ended_at) == (ReminderState.DUE, None)
    assert reminder.told_at == at("2026-11-25T14:20:05Z")


# Bookings


def test_a_booking_is_prepared_the_day_before_and_a_move_ends_that(world):
    world.opens(OFFICE)
    kit = world.a_kit_type(count=9)
    booking = book(world, "main", (kit, 4), start=21 * HOUR, end=30 * HOUR)  # 07:00 on the 26th
    tick(world, "2026-11-25T13:00:00Z")
    assert still(world) == ["prepare due"]
    (reminder,) = kept(world)
    assert (reminder.booking, reminder.about.kit) == (booking.id, ((kit.id, 4),))

    def move(start):
        changes = bookings.Changes(window=Window(NOW + start, NOW + 100 * HOUR))
        done = bookings.change(
            world.coordinator, booking.id, changes, version=None, now=at("2026-11-25T14:00:00Z")
        )
        assert isinstance(done, Granted)

    move(45 * HOUR)  # 07:00 on the 27th: that is prepared tomorrow
    made = tick(world, "2026-11-25T14:00:05Z")
    assert (made.told, made.ended, still(world)) == (0, 1, [])
    tick(world, "2026-11-26T13:00:00Z")
    assert still(world) == ["prepare due"]
    assert set(told(world).values()) == {1} and len(told(world)) == 2


@pytest.mark.parametrize("ending", ["release", "undo"])
def test_a_booking_that_is_no_more_is_not_prepared(world, ending):
    booking = book(world, "main", (world.a_kit_type(count=9), 4), start=2 * HOUR)
    tick(world, NOW)
    assert still(world) == ["prepare due"]
    getattr(bookings, ending)(world.coordinator, booking.id, version=None, now=NOW + 60)
    tick(world, NOW + 65)
    assert still(world) == []


def test_a_pencil_is_not_prepared(world):
    book(world, "main", (world.a_kit_type(count=9), 4), start=2 * HOUR, state=PENCIL)
    tick(world, NOW)
    assert still(world) == []


def test_what_has_gone_out_is_not_prepared_again_when_it_comes_in_for_the_night(world):
    kit, packs = world.a_kit_type(count=9), world.a_kit_type(pieces=3)
    pack = world.pieces(packs)[0]
    booking = book(world, "main", (kit, 4), (packs, 2), start=2 * HOUR, end=60 * HOUR)

    def left(when):
        tick(world, when)
        found = [one for one in kept(world) if one.kind == "prepare" and one.is_open]
        return dict(found[0].about.kit) if found else {}

    some, named = (kit, 3), pack.tag
    assert left("2026-11-25T10:30:00Z") == {kit.id: 4, packs.id: 2}
    send(world, Move.OUT, some, now=at("2026-11-25T11:00:00Z"), booking=booking.id)
    assert left("2026-11-25T11:00:05Z") == {kit.id: 1, packs.id: 2}
    send(world, Move.OUT, named, now=at("2026-11-25T11:01:00Z"), booking=booking.id)
    assert left("2026-11-25T11:01:05Z") == {kit.id: 1, packs.id: 1}
    send(world, Move.BACK, some, now=at("2026-11-25T20:00:00Z"), booking=booking.id)
    send(world, Move.BACK, named, now=at("2026-11-25T20:01:00Z"), booking=booking.id)
    assert left("2026-11-25T20:01:05Z") == {kit.id: 1, packs.id: 1}


def test_a_piece_that_came_back_unfit_is_to_be_replaced_from_then_on(world):
    packs = world.a_kit_type(pieces=3)
    pack = world.tags(packs)[0]
    booking = book(world, "main", (packs, 1), start=2 * HOUR, end=60 * HOUR)
    send(world, Move.OUT, pack, now=at("2026-11-25T10:01:00Z"), booking=booking.id)
    tick(world, at("2026-11-25T15:00:00Z"))
    assert still(world) == []
    back = {"booking": booking.id, "condition": Condition.DAMAGED, "words": "bent"}
    send(world, Move.BACK, pack, now=at("2026-11-26T16:00:00Z"), **back)
    tick(world, at("2026-11-26T16:01:00Z"))
    (lacking,) = [one for one in kept(world) if one.kind == "prepare" and one.is_open]
    assert lacking.due_at == at("2026-11-26T16:00:00Z")


def test_a_booking_that_has_ended_is_not_to_be_prepared_any_more(world):
    book(world, "main", (world.a_kit_type(count=9), 4), start=2 * HOUR, end=4 * HOUR)
    made = tick(world, NOW)
    assert made.next_at <= NOW + 4 * HOUR
    tick(world, NOW + 4 * HOUR - 1)
    assert still(world) == ["prepare due"]
    tick(world, NOW + 4 * HOUR)
    assert still(world) == []


def test_a_line_that_was_released_is_not_prepared(world):
    kit, other = world.a_kit_type(count=9), world.a_kit_type(count=9)
    booking = book(world, "main", (kit, 4), (other, 2), start=2 * HOUR)
    tick(world, NOW)
    given = {booking.lines[0].id: 4}
    bookings.release(world.coordinator, booking.id, version=None, now=NOW + 60, quantities=given)
    tick(world, NOW + 65)
    (reminder,) = kept(world)
    assert reminder.about.kit == ((other.id, 2),)


def test_the_longest_prep_counts(world):
    slow, quick = world.a_kit_type(count=9, prep_s=30 * HOUR), world.a_kit_type(count=9)
    book(world, "main", (slow, 1), (quick, 1), start=40 * HOUR, end=50 * HOUR)
    tick(world, NOW + 10 * HOUR - 1)
    assert still(world) == []
    tick(world, NOW + 10 * HOUR)
    assert still(world) == ["prepare due"]


def test_frequencies_are_not_prepared(world):
    frequency = world.a_kit_type(pieces=2, tracking=Tracking.FREQUENCY)
    book(world, "main", (frequency, 1), start=2 * HOUR)
    tick(world, NOW)
    assert still(world) == []


# Charging, service, consumables


def test_rechargeable_kit_is_put_on_charge_the_evening_it_is_back(world):
    kit = world.a_kit_type(count=9, rechargeable=True)
    custody = goes_out(world, kit, "2026-11-25T17:00:00Z", quantity=3)
    comes_back(world, custody, "2026-11-25T16:30:00Z")
    tick(world, "2026-11-25T16:30:05Z")
    (reminder,) = kept(world)
    assert reminder.key == f"charge/unit:{world.units['main']}/2026-11-25/due"
    assert reminder.about.kit == ((kit.id, 3),)
    tick(world, "2026-11-26T23:59:59Z")
    assert still(world) == ["charge due"]
    tick(world, "2026-11-27T00:00:00Z")  # of the day before yesterday nobody wants to hear
    assert still(world) == []


def test_a_service_that_ends_is_told_and_vanishes_as_it_ends(world):
    kit = world.a_kit_type(pieces=1)
    (piece,) = world.pieces(kit)
    end = at("2026-11-26T12:00:00Z")
    service = OutOfService(new_id(), kit.id, 1, NOW - DAY, end, item=piece.id)
    with write(world.pool, NOW) as stores:
        stores.out_of_service.add(service)
    made = tick(world, "2026-11-25T11:59:59Z")
    assert (still(world), made.next_at) == ([], at("2026-11-25T12:00:00Z"))
    tick(world, "2026-11-25T12:00:00Z")
    assert still(world) == ["service_ending due"]
    assert kept(world)[0].about.tags == (piece.tag,)
    assert tick(world, end - 10).next_at == end
    tick(world, end)
    assert still(world) == []


def test_a_service_that_somebody_ends_is_not_said_to_end(world):
    kit = world.a_kit_type(count=9)
    service = OutOfService(new_id(), kit.id, 2, NOW - DAY, FOREVER)
    with write(world.pool, NOW) as stores:
        stores.out_of_service.add(service)
        stores.out_of_service.change(service.id, None, end_s=NOW)
    tick(world, NOW)
    assert kept(world) == []


class TestConsumables:
    """Tape: 25 there, to be ordered below 20."""

    @pytest.fixture
    def tape(self, world):
        return world.a_kit_type(count=25, tracking=Tracking.CONSUMABLE, reorder_level=20)

    def uses(self, world, tape, quantity, when):
        send(world, Move.OUT, (tape, quantity), now=at(when), unit=world.units["main"])

    def counts(self, world, tape, count, when):
        """As an import or a hand at the desk changes it."""
        with write(world.pool, at(when)) as stores:
            before = stores.kit_types.get(tape.id).count
            stores.kit_types.change(tape.id, None, count=count)
            pair = {"count": before}, {"count": count}
            stores.journal.write(None, "changed", "kit_type", tape.id, at(when), *pair)

    def test_what_falls_below_its_level_is_reordered_once(self, world, tape):
        self.uses(world, tape, 5, "2026-11-25T10:10:00Z")
        tick(world, "2026-11-25T10:10:05Z")
        assert still(world) == []
        self.uses(world, tape, 1, "2026-11-25T10:20:00Z")
        tick(world, "2026-11-25T10:20:05Z")
        self.uses(world, tape, 3, "2026-11-25T10:30:00Z")
        tick(world, "2026-11-25T10:30:05Z")
        (reminder,) = kept(world)
        assert reminder.key == f"reorder/kit_type:{tape.id}/2026-11-25T10:20:00Z/due"
        assert reminder.about.kit == ((tape.id, 16),)

    def test_what_is_laid_in_again_is_told_when_it_falls_again(self, world, tape):
        self.uses(world, tape, 6, "2026-11-25T10:10:00Z")
        tick(world, "2026-11-25T10:10:05Z")
        self.counts(world, tape, 40, "2026-11-25T11:00:00Z")
        tick(world, "2026-11-25T11:00:05Z")
        assert still(world) == []
        self.uses(world, tape, 21, "2026-11-25T12:00:00Z")
        tick(world, "2026-11-25T12:00:05Z")
        assert [one.key.split("/")[2] for one in kept(world)] == [
            "2026-11-25T10:10:00Z",
            "2026-11-25T12:00:00Z",
        ]

    def test_a_little_laid_in_is_no_news_and_a_count_by_hand_can_be(self, world, tape):
        self.uses(world, tape, 10, "2026-11-25T10:10:00Z")
        tick(world, "2026-11-25T10:10:05Z")
        self.counts(world, tape, 18, "2026-11-25T11:00:00Z")
        assert tick(world, "2026-11-25T11:00:05Z").told == 0
        self.counts(world, tape, 30, "2026-11-25T12:00:00Z")
        self.counts(world, tape, 3, "2026-11-25T13:00:00Z")
        tick(world, "2026-11-25T13:00:05Z")
        (reminder,) = kept(world, states=[ReminderState.DUE])
        assert reminder.key.split("/")[2] == "2026-11-25T13:00:00Z"

    def test_what_goes_out_on_a_booking_counts_too(self, world, tape):
        booking = book(world, "main", (tape, 8), start=3 * DAY, end=4 * DAY)
        when = at("2026-11-25T10:10:00Z")
        send(world, Move.OUT, (tape, 8), now=when, booking=booking.id)
        tick(world, "2026-11-25T10:10:05Z")
        assert still(world) == ["reorder due"]


# Quiet hours and clock changes


def test_at_three_at_night_a_night_unit_is_told_and_a_day_unit_is_not(world):
    kit = world.a_kit_type(count=9)
    world.a_shoot_day("main", at("2026-11-25T07:00:00Z"), at("2026-11-25T18:00:00Z"))
    world.a_shoot_day("main", at("2026-11-26T07:00:00Z"), at("2026-11-26T18:00:00Z"), 2)
    world.a_shoot_day("second", at("2026-11-25T17:00:00Z"), at("2026-11-26T04:00:00Z"))
    for unit in ("main", "second"):
        goes_out(world, kit, "2026-11-26T03:00:00Z", unit=unit, since=at("2026-11-26T02:00:00Z"))
    tick(world, "2026-11-26T03:00:00Z")
    assert [one.unit for one in kept(world)] == [world.units["second"]]
    tick(world, "2026-11-26T05:59:59Z")
    assert {one.unit for one in kept(world)} == {world.units["second"]}
    tick(world, "2026-11-26T06:00:00Z")  # an hour before its call
    assert {one.unit for one in kept(world)} == {world.units["main"], world.units["second"]}


@pytest.mark.parametrize(
    ("first", "changes_at"),
    [
        # IANA tz rules EU: 2026-03-29 has 23 hours, 2026-10-25 has 25; both change at 01:00Z.
        pytest.param("2026-03-27T12:00:00Z", "2026-03-29T01:00:00Z", id="spring"),
        pytest.param("2026-10-23T12:00:00Z", "2026-10-25T01:00:00Z", id="autumn"),
    ],
)
def test_over_a_clock_change_each_reminder_is_told_exactly_once(world, first, changes_at):
    kit = world.a_kit_type(count=99, rechargeable=True)
    start, change = at(first), at(changes_at)
    world.now = start
    for hours in range(-12, 14, 2):  # due every two hours around the change, for two units
        due = format_instant(change + hours * HOUR, None)
        for unit in ("main", "second"):
            goes_out(world, kit, due, unit=unit, since=start)
    night = change - 7 * HOUR, change + 4 * HOUR
    world.a_shoot_day("second", *night)
    rounds = range(start, change + 30 * HOUR, 1800)
    told_in_all = sum(tick(world, when).told for when in rounds)
    counts = told(world)
    assert set(counts.values()) == {1}
    assert told_in_all == len(counts)
    causes = {key.rsplit("/", 1)[0] for key in counts}
    days = {key.split("/")[2] for key in counts if key.startswith("charge/")}
    assert len(causes) == 2 * 13 + 4  # every return, and two local days of charging a unit
    assert days == {changes_at[:10], format_instant(change - DAY, None)[:10]}
    escalated = [key for key in counts if key.endswith("/escalated")]
    assert len(escalated) == 2 * 13


# The board: what is coming, and until when it stands


def board(world, when):
    with read(world.pool) as stores:
        return reminders.of_board(Names(stores), at(when))


def test_what_is_coming_is_shown_by_one_stage_and_not_stored(world):
    kit = world.a_kit_type(pieces=1)
    (piece,) = world.pieces(kit)
    goes_out(world, kit, "2026-11-25T18:00:00Z", item=piece.id)
    rows, next_due = board(world, "2026-11-25T12:00:00Z")
    (row,) = rows
    assert (row["state"], row["stage"], row["id"]) == ("coming", "ahead", None)
    assert row["due_at"] == next_due == at("2026-11-25T16:00:00Z")
    assert (row["unit"], row["kit_type"], row["tags"]) == ("main", kit.name, [piece.tag])
    assert kept(world) == []


def test_what_is_due_and_not_told_yet_stands_on_the_board_as_due(world):
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    rows, _ = board(world, "2026-11-25T14:00:00Z")
    assert [(row["stage"], row["state"], row["id"]) for row in rows] == [("due", "due", None)]
    tick(world, "2026-11-25T14:00:00Z")
    rows, next_due = board(world, "2026-11-25T14:00:00Z")
    assert [(row["stage"], row["state"]) for row in rows] == [("due", "due")]
    assert rows[0]["id"] == kept(world)[0].id
    assert next_due == at("2026-11-25T15:00:00Z")


def test_what_was_done_stays_on_the_board_for_the_day(world):
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    tick(world, "2026-11-25T14:00:00Z")
    reminders.done(world.coordinator, kept(world)[0].id, at("2026-11-25T14:05:00Z"))
    rows, _ = board(world, "2026-11-25T14:59:59Z")
    assert [(row["stage"], row["state"]) for row in rows] == [("due", "done")]
    rows, _ = board(world, "2026-11-26T00:00:00Z")
    assert [row["stage"] for row in rows] == ["escalated"]  # it is not back, whatever was said


def test_the_next_due_is_none_where_nothing_is_to_come(world):
    with read(world.pool) as stores:
        assert reminders.Outlook(stores, NOW).next_due is None
        assert reminders.Outlook(stores, NOW).coming(FOREVER) == []
        assert reminders.of_board(Names(stores), NOW) == ([], FOREVER)


def test_what_is_coming_ends_at_the_horizon(world):
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    with read(world.pool) as stores:
        ahead = at("2026-11-25T12:00:00Z")
        outlook = reminders.Outlook(stores, NOW)
        assert outlook.next_due == ahead
        assert [one.due_at for one in outlook.coming(ahead)] == [ahead]
        assert outlook.coming(ahead - 1) == []


# Answering


@pytest.fixture
def reminder(world):
    """One that is due since 14:00."""
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T14:00:00Z")
    tick(world, "2026-11-25T14:00:00Z")
    return kept(world)[0]


LATER = parse_instant("2026-11-25T14:05:00Z")


def test_seen_then_done_says_by_whom_and_when(world, reminder):
    with write(world.pool, NOW) as stores:
        ines, tom = new_id(), new_id()
        stores.accounts.add_new(Account(ines, "ines", "Ines", Role.COORDINATOR))
        stores.accounts.add_new(Account(tom, "tom", "Tom", Role.ASSISTANT))
    first = Actor(world.pool, Role.COORDINATOR, ines)
    second = Actor(world.pool, Role.ASSISTANT, tom)
    row = reminders.seen(first, reminder.id, LATER)
    assert (row["state"], row["seen_at"], row["seen_by"]) == ("seen", LATER, "Ines")
    row = reminders.done(second, reminder.id, LATER + 60)
    assert (row["state"], row["done_at"], row["done_by"]) == ("done", LATER + 60, "Tom")
    again = reminders.done(first, reminder.id, LATER + 120)
    assert again == row
    assert reminders.seen(first, reminder.id, LATER + 180) == row
    with read(world.pool) as stores:
        entries = stores.journal.page(0, 100, kind="reminder", subject=reminder.id)
    assert [(entry.verb, entry.account) for entry in entries] == [
        ("told", None),
        ("seen", ines),
        ("done", tom),
    ]


def test_what_is_done_is_not_told_again(world, reminder):
    reminders.done(world.coordinator, reminder.id, LATER)
    assert tick(world, "2026-11-25T14:59:59Z").told == 0
    assert still(world) == []


def test_one_that_has_ended_cannot_be_answered(world, reminder):
    tick(world, "2026-11-25T15:00:00Z")
    with pytest.raises(Conflict, match="has ended"):
        reminders.done(world.coordinator, reminder.id, LATER)


@pytest.mark.parametrize("role", [Role.SUPERVISOR, Role.WALL])
def test_who_only_reads_cannot_answer(world, reminder, role):
    with pytest.raises(Forbidden):
        reminders.seen(Actor(world.pool, role), reminder.id, LATER)


def test_another_pools_reminder_is_not_found_and_not_told(world, reminder):
    other = a_world()
    with pytest.raises(NotFound):
        reminders.done(other.coordinator, reminder.id, LATER)
    tick(other, "2026-11-25T14:00:00Z")
    assert kept(other) == []


def test_the_list_holds_what_is_open_unless_a_state_is_asked_for(world, reminder):
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T20:00:00Z", unit="second")
    tick(world, "2026-11-25T19:00:00Z")

    def listed(**chosen):
        return [row["stage"] for row in reminders.page(world.coordinator, 0, 100, **chosen)]

    assert listed() == ["ahead", "escalated"]
    assert listed(state=ENDED) == ["due"]
    assert listed(state=ReminderState.DONE) == []
    assert listed(since=parse_day("2026-11-25")) == ["ahead", "escalated"]
    assert listed(since=parse_day("2026-11-26")) == []
    (first,) = reminders.page(world.coordinator, 0, 1)
    (second,) = reminders.page(world.coordinator, first["id"], 1)
    assert [first["stage"], second["stage"]] == ["ahead", "escalated"]


# Which pools need a look


def test_a_pool_is_looked_at_when_it_was_written_to_or_something_falls_due(world):
    goes_out(world, world.a_kit_type(count=9), "2026-11-25T10:40:00Z", since=NOW)
    rounds = reminders.Rounds()
    assert rounds.waiting(NOW) == [world.pool]
    rounds.note(world.pool, tick(world, NOW))
    assert rounds.waiting(NOW + 2399) == []
    assert rounds.waiting(NOW + 2400) == [world.pool]
    rounds.note(world.pool, tick(world, NOW + 2400))
    assert rounds.waiting(NOW + 2400) == []
    world.a_kit_type(count=1)
    assert rounds.waiting(NOW + 2400) == [world.pool]


def test_a_pool_is_looked_at_when_a_pencil_lapses_and_every_hour(world):
    kit = world.a_kit_type(count=2)
    book(world, "main", (kit, 1), state=PENCIL, pencil_expires_at=NOW + 60)
    rounds = reminders.Rounds()
    rounds.note(world.pool, tick(world, NOW))
    assert (rounds.waiting(NOW + 59), rounds.waiting(NOW + 60)) == ([], [world.pool])
    rounds.note(world.pool, tick(world, NOW + 60))
    assert rounds.waiting(NOW + 3659) == []
    assert rounds.waiting(NOW + 3660) == [world.pool]


def test_other_pools_are_left_alone_by_a_write(world):
    other = a_world()
    rounds = reminders.Rounds()
    for pool in rounds.waiting(NOW):
        rounds.note(pool, reminders.remind(pool, NOW))
    other.a_kit_type(count=1)
    assert rounds.waiting(NOW) == [other.pool]
