"""What is free, on both databases: against the judges' own claims, and case by case."""

from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from crossload.domain.availability import Kind
from crossload.domain.booking import Ask, BookingState, Line
from crossload.domain.capacity import least_free
from crossload.domain.custody import Custody, Move, OutOfService
from crossload.domain.holdings import Ground
from crossload.domain.kit import Condition, Item, KitType, Tracking
from crossload.domain.shoot import ShootDay
from crossload.domain.window import FOREVER, Id, Window
from crossload.domain.zones import day_window, days_between, load_zone, local_day
from crossload.storage.ids import new_id
from crossload.usecases import availability, bookings
from crossload.usecases.availability import Chosen, Per
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.conditions import set_condition
from crossload.usecases.errors import Invalid, NotFound
from crossload.usecases.recorded import look
from crossload.usecases.transaction import read, write
from worlds import DAY, HOUR, NOW, a_world, book, send

LONDON = load_zone("Europe/London")
TODAY = date(2026, 11, 25)
"""The local day of `worlds.NOW`."""

FIGURES = ("free", "if_pencils_fall", "booked", "pencilled", "out", "overdue", "out_of_service")


def days(world, kit, *, now=NOW, days=3, **chosen):
    """The figures of one kit type, day by day, as a dict each."""
    last = TODAY + timedelta(days=days - 1)
    chosen = Chosen(**{"first": TODAY, "last": last, "kit_types": (kit.id,)} | chosen)
    found = availability.availability(world.coordinator, chosen, now=now)
    assert [each.id for each in found.kit] == [kit.id]
    return [
        {name: int(getattr(found.figures, name)[0, column]) for name in (*FIGURES, "at")}
        | {"idle": int(found.idle[0, column])}
        for column in range(len(found.days))
    ]


def column(world, kit, name, **more):
    return [day[name] for day in days(world, kit, **more)]


# case by case; now is 10:00 on the first day, and by London's winter time


def test_a_booking_is_counted_on_its_days_with_prep_and_check_in(world):
    kit = world.a_kit_type(count=8, prep_s=HOUR, check_in_s=2 * HOUR)
    book(world, "main", (kit, 3), start=14 * HOUR + 1800, end=36 * HOUR + 1)
    assert column(world, kit, "free", days=4) == [5, 5, 5, 8]
    assert column(world, kit, "at", days=1) == [NOW + 13 * HOUR + 1800]
    tight = world.a_kit_type(count=8)
    book(world, "main", (tight, 3), start=14 * HOUR, end=38 * HOUR)
    assert column(world, tight, "free") == [8, 5, 8]


def test_what_has_ended_counts_on_its_day_and_until_it_is_checked_in(world):
    kit = world.a_kit_type(count=8, check_in_s=14 * HOUR)
    book(world, "main", (kit, 3), end=5 * HOUR)
    assert column(world, kit, "free", now=NOW + 6 * HOUR) == [5, 5, 8]


def test_a_pencil_stands_apart_from_what_is_booked(world):
    kit = world.a_kit_type(count=8)
    book(world, "main", (kit, 3))
    book(world, "second", (kit, 4), state=BookingState.PENCILLED)
    (today,) = days(world, kit, days=1)
    assert (today["booked"], today["pencilled"]) == (3, 4)
    assert (today["free"], today["if_pencils_fall"]) == (1, 5)


def test_what_is_released_is_free_again(world):
    kit = world.a_kit_type(count=8)
    booking = book(world, "main", (kit, 3))
    bookings.release(world.coordinator, booking.id, version=None, now=NOW)
    assert column(world, kit, "free") == [8, 8, 8]


def test_overdue_kit_is_booked_until_it_is_expected(world):
    kit = world.a_kit_type(pieces=4)
    booking = book(world, "main", (kit, 2), end=5 * HOUR)
    first, second, *_ = [piece.tag for piece in world.pieces(kit)]
    send(world, Move.OUT, first, second, booking=booking.id)
    assert column(world, kit, "out") == [2, 0, 0]
    later = NOW + 6 * HOUR
    # Without a shoot day to come: until the next local midnight but one.
    found = days(world, kit, now=later)
    assert [day["free"] for day in found] == [2, 2, 4]
    assert [day["overdue"] for day in found] == [2, 2, 0]
    assert [day["booked"] for day in found] == [2, 2, 0]


def test_a_promise_says_until_when_overdue_kit_is_missed(world):
    kit = world.a_kit_type(pieces=4, check_in_s=HOUR)
    booking = book(world, "main", (kit, 1), end=5 * HOUR)
    tag = world.pieces(kit)[0].tag
    send(world, Move.OUT, tag, booking=booking.id)
    send(world, Move.PROMISE, tag, now=NOW + HOUR, promised_at=NOW + 37 * HOUR + 1800)
    assert column(world, kit, "free", now=NOW + 6 * HOUR, days=4) == [3, 3, 3, 4]
    assert column(world, kit, "overdue", now=NOW + 6 * HOUR, days=2) == [1, 1]


def test_kit_out_of_service_is_neither_booked_nor_free(world):
    kit = world.a_kit_type(count=8)
    world.is_out_of_service(kit, 3, 20 * HOUR, FOREVER)
    book(world, "main", (kit, 2), start=20 * HOUR, end=21 * HOUR)
    assert column(world, kit, "out_of_service") == [0, 3, 3]
    assert column(world, kit, "free") == [8, 3, 5]


def test_a_piece_both_out_and_out_of_service_counts_once(world):
    kit = world.a_kit_type(pieces=4)
    booking = book(world, "main", (kit, 2), end=40 * HOUR)
    piece = world.pieces(kit)[0]
    send(world, Move.OUT, piece.tag, booking=booking.id)
    with write(world.pool, NOW) as stores:
        set_condition(stores, piece, Condition.SUSPECT, NOW)
    tomorrow = days(world, kit)[1]
    # The line is open again for another piece, so it is booked in full beside the suspect one.
    assert (tomorrow["booked"], tomorrow["out_of_service"], tomorrow["free"]) == (2, 1, 1)
    assert tomorrow["out"] == 0


def test_overlapping_windows_of_one_piece_count_once(world):
    kit = world.a_kit_type(pieces=4)
    piece = world.pieces(kit)[0].id
    world.is_out_of_service(kit, 1, 0, 30 * HOUR, item=piece)
    world.is_out_of_service(kit, 1, 20 * HOUR, 60 * HOUR, item=piece)
    assert column(world, kit, "out_of_service") == [1, 1, 1]


def test_a_retired_piece_is_no_part_of_the_stock(world):
    kit = world.a_kit_type(pieces=4)
    piece = world.pieces(kit)[0]
    with write(world.pool, NOW) as stores:
        set_condition(stores, piece, Condition.RETIRED, NOW)
    assert column(world, kit, "free") == [3, 3, 3]


def test_consumables_are_gone_for_good_until_their_booking_has_ended(world):
    tape = world.a_kit_type(count=40, tracking=Tracking.CONSUMABLE)
    booking = book(world, "main", (tape, 12), start=20 * HOUR, end=30 * HOUR)
    assert column(world, tape, "free") == [40, 28, 28]
    assert column(world, tape, "idle") == [0, 0, 0]
    send(world, Move.OUT, (tape, 5), booking=booking.id, now=NOW + 20 * HOUR)
    # Five are out of the stock, seven still to be collected.
    assert column(world, tape, "free", now=NOW + 20 * HOUR) == [35, 28, 28]
    assert column(world, tape, "free", now=NOW + 31 * HOUR) == [35, 35, 35]


def test_what_a_unit_does_not_use_that_day_is_idle(world):
    pack = world.a_kit_type(count=20, category="pack")
    stand = world.a_kit_type(count=20)
    world.a_shoot_day("main", NOW + 20 * HOUR, NOW + 31 * HOUR, radios=6)
    for kit in (pack, stand):
        book(world, "main", (kit, 8), start=-2 * DAY, end=80 * HOUR)
        book(world, "second", (kit, 1), start=-2 * DAY, end=80 * HOUR)
        book(world, "second", (kit, 3), state=BookingState.PENCILLED, end=80 * HOUR)
    assert column(world, pack, "idle") == [9, 3, 9]
    assert column(world, stand, "idle") == [9, 1, 9]


def test_kit_that_is_prepared_or_checked_in_is_not_idle_with_its_unit(world):
    kit = world.a_kit_type(count=8, prep_s=20 * HOUR, check_in_s=20 * HOUR)
    book(world, "main", (kit, 2), start=15 * HOUR, end=37 * HOUR)
    found = days(world, kit, days=4)
    assert [day["booked"] for day in found] == [2, 2, 2, 0]
    assert [day["idle"] for day in found] == [0, 0, 0, 0]
    assert found[1]["at"] == NOW + 14 * HOUR


def test_the_least_free_instant_of_a_shoot_day_lies_between_call_and_wrap(world):
    kit = world.a_kit_type(count=8)
    world.a_shoot_day("second", NOW + 8 * HOUR, NOW + 19 * HOUR, number=4)
    world.a_shoot_day("main", NOW - 3 * HOUR, NOW + 7 * HOUR, number=9)
    book(world, "main", (kit, 5), start=HOUR, end=7 * HOUR)
    book(world, "splinter", (kit, 2), start=17 * HOUR, end=18 * HOUR)
    chosen = Chosen(TODAY, TODAY, Per.SHOOT_DAY, world.units["second"], (kit.id,))
    found = availability.availability(world.coordinator, chosen, now=NOW)
    (day,) = found.days
    assert (day.window, day.label) == (Window(NOW + 8 * HOUR, NOW + 19 * HOUR), "day 4, Wed 25 Nov")
    assert [(unit.name, unit.number) for unit in day.unit_days] == [("second", 4)]
    assert found.figures.free.tolist() == [[6]]
    assert found.figures.at.tolist() == [[NOW + 17 * HOUR]]
    assert column(world, kit, "free") == [3, 6, 8]


def test_days_name_the_units_that_work(world):
    world.a_shoot_day("second", NOW + 20 * HOUR, NOW + 30 * HOUR, number=4)
    world.a_shoot_day("main", NOW + 19 * HOUR, NOW + 30 * HOUR, number=9)
    found = availability.availability(world.coordinator, Chosen(), now=NOW)
    assert (found.first, found.last, len(found.days)) == (TODAY, TODAY + timedelta(days=8), 9)
    assert [(unit.name, unit.number) for unit in found.days[1].unit_days] == [
        ("main", 9),
        ("second", 4),
    ]
    assert found.days[0].unit_days == ()
    assert found.days[1].label == "Thu 26 Nov"


def test_kit_is_narrowed_by_category_and_kept_in_order(world):
    pack = world.a_kit_type(name="pack b", category="pack", count=2)
    other = world.a_kit_type(name="Pack a", category="pack", count=2)
    boom = world.a_kit_type(category="boom", count=1)

    def found(**chosen):
        kit = availability.availability(world.coordinator, Chosen(**chosen), now=NOW).kit
        return [each.id for each in kit]

    assert found() == [boom.id, other.id, pack.id]
    assert found(category="pack") == [other.id, pack.id]
    assert found(kit_types=(boom.id, pack.id)) == [boom.id, pack.id]
    assert found(category="nothing") == []


@pytest.mark.parametrize(
    ("chosen", "pointer"),
    [
        pytest.param({"first": TODAY, "last": TODAY - timedelta(1)}, "/to", id="reversed"),
        pytest.param({"first": TODAY, "last": TODAY + timedelta(366)}, "/to", id="over a year"),
        pytest.param({"per": Per.SHOOT_DAY}, "/unit", id="nobody's shoot days"),
    ],
)
def test_days_that_make_no_range_are_refused(world, chosen, pointer):
    with pytest.raises(Invalid) as refused:
        availability.availability(world.coordinator, Chosen(**chosen), now=NOW)
    assert [where for where, _ in refused.value.wrong] == [pointer]


def test_another_pools_kit_and_units_are_not_found(world):
    other = a_world()
    kit = other.a_kit_type(count=3)
    for chosen in (Chosen(kit_types=(kit.id,)), Chosen(unit=other.units["main"])):
        with pytest.raises(NotFound):
            availability.availability(world.coordinator, chosen, now=NOW)
    with pytest.raises(NotFound):
        availability.hours(world.coordinator, kit.id, TODAY, now=NOW)
    assert availability.availability(world.coordinator, Chosen(), now=NOW).kit == ()


def test_what_was_read_holds_until_the_next_thing_that_changes_it(world):
    def until(now=NOW):
        return availability.availability(world.coordinator, Chosen(), now=now).tag.until

    midnight = NOW + 14 * HOUR
    kit = world.a_kit_type(pieces=2)
    booking = book(world, "main", (kit, 1))
    assert until() == midnight
    send(world, Move.OUT, world.pieces(kit)[0].tag, booking=booking.id)
    assert until() == booking.window.end
    assert until(booking.window.end) == midnight
    tape = world.a_kit_type(count=9, tracking=Tracking.CONSUMABLE)
    book(world, "main", (tape, 1), end=2 * HOUR)
    assert until() == NOW + 2 * HOUR


# hours and holders


def hours(world, kit, day=TODAY, now=NOW):
    return availability.hours(world.coordinator, kit.id, day, now=now)[0]


def test_each_hour_has_its_own_figures(world):
    kit = world.a_kit_type(count=8)
    book(world, "main", (kit, 5), start=HOUR, end=3 * HOUR + 1)
    book(world, "second", (kit, 2), start=2 * HOUR + 1800, end=6 * HOUR)
    told = hours(world, kit)["hours"]
    assert len(told) == 24
    assert [hour["free"] for hour in told[10:17]] == [8, 3, 1, 1, 6, 6, 8]
    assert (told[0]["start"], told[23]["end"]) == (NOW - 10 * HOUR, NOW + 14 * HOUR)


@pytest.mark.parametrize(
    ("day", "count"), [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25)], ids=["on", "back"]
)
def test_a_day_has_as_many_hours_as_it_lasts(world, day, count):
    assert len(hours(world, world.a_kit_type(count=1), day)["hours"]) == count


def test_a_day_tells_who_has_the_kit_and_whom_to_call(world):
    kit = world.a_kit_type(pieces=9, category="pack")
    world.a_person("Ada Voss", "sound assistant", "07700 900111", "main")
    world.a_person("Cy Orme", "kit coordinator", "07700 900100")
    world.a_shoot_day("main", NOW - 3 * HOUR, NOW + 8 * HOUR, radios=3)
    main = book(world, "main", (kit, 4), end=40 * HOUR)
    first, second, *_, last = world.pieces(kit)
    send(world, Move.OUT, first.tag, second.tag, booking=main.id)
    pencil = book(world, "second", (kit, 4), state=BookingState.PENCILLED, end=6 * HOUR)
    send(world, Move.OUT, last.tag, unit=world.units["splinter"], person="Rue Tansley")
    world.is_out_of_service(kit, 1, 0, FOREVER, item=world.pieces(kit)[5].id)
    told = {holder["state"]: holder for holder in hours(world, kit)["holders"]}
    assert set(told) == {"confirmed", "pencilled", "out", "out_of_service"}
    booked = told["confirmed"]
    assert (booked["booking_id"], booked["unit"], booked["quantity"]) == (main.id, "main", 4)
    assert (booked["start"], booked["end"]) == (main.window.start, main.window.end)
    assert (booked["out"], booked["overdue"], booked["idle"]) == (2, False, 1)
    assert booked["tags"] == sorted((first.tag, second.tag))
    assert (booked["person"], booked["phone"]) == ("Ada Voss", "07700 900111")
    waiting = told["pencilled"]
    assert (waiting["booking_id"], waiting["place"]) == (pencil.id, 1)
    assert waiting["expires_at"] == pencil.pencil_expires_at
    assert (waiting["person"], waiting["phone"]) == ("Cy Orme", "07700 900100")
    away = told["out"]
    assert (away["unit"], away["person"], away["out"]) == ("splinter", "Rue Tansley", 1)
    assert away["phone"] == "07700 900100"
    assert (away["booking_id"], away["idle"]) == (None, 1)
    service = told["out_of_service"]
    assert (service["quantity"], service["end"], service["unit"]) == (1, FOREVER, None)


def test_a_pencil_that_waits_for_another_has_the_second_place(world):
    kit = world.a_kit_type(count=5)
    for unit in ("main", "second"):
        book(world, unit, (kit, 4), state=BookingState.PENCILLED)
    told = hours(world, kit)["holders"]
    assert [(holder["unit"], holder["place"]) for holder in told] == [("main", 1), ("second", 2)]


def test_a_holder_of_another_day_is_not_told(world):
    kit = world.a_kit_type(count=5)
    book(world, "main", (kit, 4))
    assert len(hours(world, kit)["holders"]) == 1
    assert hours(world, kit, TODAY + timedelta(1))["holders"] == []


def test_late_kit_is_told_as_overdue_with_its_line(world):
    kit = world.a_kit_type(pieces=2)
    booking = book(world, "main", (kit, 1))
    send(world, Move.OUT, world.pieces(kit)[0].tag, booking=booking.id)
    later = NOW + 20 * HOUR
    (holder,) = hours(world, kit, TODAY + timedelta(1), now=later)["holders"]
    assert (holder["overdue"], holder["out"], holder["quantity"]) == (True, 1, 1)


def test_a_piece_that_is_out_and_retired_is_had_by_nobody(world):
    kit = world.a_kit_type(pieces=2)
    stays, gone = world.pieces(kit)
    for item in (stays, gone):
        world.has_out("main", kit, NOW + 9 * HOUR, item=item.id)
    with write(world.pool, NOW) as stores:
        stores.items.change(gone.id, None, condition=Condition.RETIRED)
    (holder,) = hours(world, kit)["holders"]
    assert (holder["quantity"], holder["tags"]) == (1, [stays.tag])


def test_a_pencil_whose_time_is_over_or_whose_piece_is_gone_has_no_place(world):
    kit = world.a_kit_type(pieces=2)
    over, gone = world.pieces(kit)
    book(world, "main", over, state=BookingState.PENCILLED, end=2 * HOUR)
    book(world, "second", gone, state=BookingState.PENCILLED, end=6 * HOUR)
    places = [holder["place"] for holder in hours(world, kit)["holders"]]
    assert places == [1, 1]
    with write(world.pool, NOW) as stores:
        stores.items.change(gone.id, None, condition=Condition.RETIRED)
    places = [holder["place"] for holder in hours(world, kit, now=NOW + 3 * HOUR)["holders"]]
    assert places == [None, None]


# against the judges' own claims

EVE = day_window(date(2026, 10, 24), LONDON)
"""The day before clocks go back: the range below has a day of 25 hours."""

OPENING = {"week": {day: [["09:00", "18:00"]] for day in ("mon", "tue", "wed", "thu", "fri")}}
STATES = (*[BookingState.CONFIRMED] * 5, *[BookingState.PENCILLED] * 3, BookingState.RELEASED)
_kinds = ("pack", "stand", "listening receiver", "wireless boom")


class Recorder:
    """Writes a random pool as it might have come about, whether or not it can be served."""

    def __init__(self, random: Random):
        self.random = random
        self.now = EVE.start + random.randrange(0, 3 * DAY, 600)
        self.world = a_world()
        with write(self.world.pool, NOW) as stores:
            self.stores, self.clockwork = stores, Clockwork(stores, self.now)
            if random.random() < 0.5:
                stores.own_pool.change(None, opening=OPENING)
            self.units = list(self.world.units.values())
            self.kit = [self._kit(tracking) for tracking in Tracking for _ in range(2)]
            self.pieces = {kit.id: self._pieces(kit) for kit in self.kit}
            self.free = {kit.id: list(self.pieces[kit.id]) for kit in self.kit}
            for _ in range(random.randrange(14)):
                self._booking()
            for _ in range(random.randrange(4)):
                self._loose()
            for _ in range(random.randrange(5)):
                self._service()
            for unit in self.units:
                self._shoot_days(unit)

    def instant(self, ahead=0):
        return EVE.start + ahead + self.random.randrange(-3 * DAY, 5 * DAY, 1800)

    def _kit(self, tracking):
        pick = self.random.choice
        kit = KitType(
            new_id(), f"kit {new_id()}", pick(_kinds), tracking, pick((0, 3, 6)),
            prep_s=pick((0, 1800, DAY)), check_in_s=pick((0, HOUR, DAY)),
        )  # fmt: skip
        self.stores.kit_types.add(kit)
        return kit

    def _pieces(self, kit) -> list[Id]:
        if kit.tracking not in (Tracking.SERIAL, Tracking.FREQUENCY):
            return []
        items = [
            Item(
                new_id(), kit.id, f"tag {new_id()}",
                condition=Condition.RETIRED if self.random.random() < 0.2 else Condition.FIT,
            )
            for _ in range(5)
        ]  # fmt: skip
        self.stores.items.add(*items)
        return [item.id for item in items]

    def _booking(self):
        random, start = self.random, self.instant()
        window = Window(start, start + random.randrange(1800, 4 * DAY, 1800))
        unit, state = random.choice(self.units), random.choice(STATES)
        ask = Ask(unit, window, (), state)
        id = self.stores.bookings.add(ask, now=self.now, account=None, undo_until=None).id
        lines = [self._line(id, window, state) for _ in range(random.randint(1, 3))]
        self.stores.bookings.add_lines(id, unit, lines)
        found = self.stores.bookings.get(id)
        for line in found.lines:
            if state is not BookingState.PENCILLED and random.random() < 0.6:
                self._out_on(line, unit, window)

    def _line(self, booking, window, state) -> Line:
        random, kit = self.random, self.random.choice(self.kit)
        check_in = random.choice((None, None, 0, 3 * HOUR))
        quantity = random.randint(1, 4)
        pieces = self.pieces[kit.id]
        item = random.choice(pieces) if pieces and random.random() < 0.3 else None
        consumable = kit.tracking is Tracking.CONSUMABLE
        return Line(
            id=0, booking=booking, kit_type=kit.id, quantity=1 if item else quantity,
            window=window, occupied=self.clockwork.occupied(window, kit, None, check_in),
            state=state, item=item, check_in_s=check_in,
            pieces=tuple(random.sample(pieces, min(2, quantity))) if pieces and not item else (),
            gone=random.randint(0, quantity) if consumable else 0,
            rank=random.randint(1, 9),
        )  # fmt: skip

    def _out_on(self, line, unit, window):
        kit = next(kit for kit in self.kit if kit.id == line.kit_type)
        due = window.end
        if kit.tracking is Tracking.COUNT:
            for _ in range(self.random.randint(1, 2)):
                self._out(kit, unit, due, self.random.randint(1, 3), line=line)
        for piece in (*line.pieces, line.item, *self.free[kit.id][:1]):
            if piece in self.free[kit.id] and self.random.random() < 0.7:
                self.free[kit.id].remove(piece)
                self._out(kit, unit, due, 1, piece, line)

    def _loose(self):
        kit = self.random.choice(self.kit)
        unit, due = self.random.choice(self.units), self.instant(DAY)
        if kit.tracking is Tracking.COUNT:
            self._out(kit, unit, due, 1)
        elif self.free[kit.id]:
            self._out(kit, unit, due, 1, self.free[kit.id].pop())

    def _out(self, kit, unit, due, quantity, item=None, line=None):
        out_at = min(self.now, due - 1, self.instant())
        promised = self.instant(2 * DAY) if self.random.random() < 0.4 else None
        custody = Custody(
            new_id(), kit.id, quantity, unit, out_at, due, item,
            booking=line.booking if line else None, line=line.id if line else None,
            promised_at=promised,
        )  # fmt: skip
        self.stores.custodies.add(custody)

    def _service(self):
        kit, start = self.random.choice(self.kit), self.instant()
        end = self.random.choice((FOREVER, start + self.random.randrange(1800, 4 * DAY, 1800)))
        pieces = self.pieces[kit.id]
        item = self.random.choice(pieces) if pieces else None
        quantity = 1 if item else self.random.randint(1, 3)
        window = OutOfService(new_id(), kit.id, quantity, start, end, item)
        self.stores.out_of_service.add(window)

    def _shoot_days(self, unit):
        for number in range(-2, 6):
            if self.random.random() < 0.5:
                continue
            day = date(2026, 10, 24) + timedelta(days=number)
            call = day_window(day, LONDON).start + self.random.randrange(0, DAY - HOUR, 1800)
            wrap = call + self.random.randrange(HOUR, 16 * HOUR, 1800)
            used = [self.random.randint(0, 4) for _ in range(3)]
            self.stores.shoot_days.add(
                ShootDay(
                    new_id(), unit, day, number + 3, call, wrap,
                    radios=used[0], booms=used[1], listeners=used[2],
                )
            )  # fmt: skip


class Slowly:
    """The same figures, from the judges' claims, by looking at each instant where some change."""

    def __init__(self, stores, recorder: Recorder, first: date, last: date):
        self.now, self.kit = recorder.now, {kit.id: kit for kit in recorder.kit}
        self.start = day_window(first, LONDON).start
        self.looked = look(stores, list(self.kit), self.now, self.start)
        self.clockwork = Clockwork(stores, self.now)
        self.shoot_days = stores.shoot_days.all()

    def claims(self, kit_type):
        stock = self.looked.stock[kit_type]
        return [
            claim
            for claim in self.looked.claims(kit_type, lambda held: True)
            if claim.rank > 0 or set(claim.items) <= set(stock.items)
        ]

    def kind(self, claim):
        about = claim.about
        if about.ground is Ground.SERVICE:
            return Kind.OUT_OF_SERVICE
        if about.custody:
            return Kind.OVERDUE if about.custody.due_at <= self.now else Kind.OUT
        return Kind.PENCILLED if about.held.state is BookingState.PENCILLED else Kind.BOOKED

    def cell(self, kit_type, day, window):
        claims = [c for c in self.claims(kit_type) if c.window.overlaps(window)]
        edges = {edge for c in claims for edge in (c.window.start, c.window.end)}
        instants = sorted({window.start, *(e for e in edges if window.start <= e < window.end)})

        def here(at):
            """What counts at an instant: a piece out of service is not out as well."""
            found = [c for c in claims if c.window.start <= at < c.window.end]
            unfit = {i for c in found if self.kind(c) is Kind.OUT_OF_SERVICE for i in c.items}
            return [
                c
                for c in found
                if c.rank > 0 or self.kind(c) is Kind.OUT_OF_SERVICE or not unfit & set(c.items)
            ]

        at = max(instants, key=lambda at: (sum(c.quantity for c in here(at)), -at))
        level = dict.fromkeys(Kind, 0)
        for claim in here(at):
            level[self.kind(claim)] += claim.quantity
        out = level[Kind.OUT] + level[Kind.OVERDUE]
        booked = level[Kind.BOOKED] + out
        capacity = self.looked.stock[kit_type].capacity
        kept = capacity - booked - level[Kind.OUT_OF_SERVICE]
        return {
            "at": at, "free": kept - level[Kind.PENCILLED], "if_pencils_fall": kept,
            "booked": booked, "pencilled": level[Kind.PENCILLED], "out": out,
            "overdue": level[Kind.OVERDUE], "out_of_service": level[Kind.OUT_OF_SERVICE],
            "idle": self.idle(kit_type, here(at), at, day, window),
        }  # fmt: skip

    def idle(self, kit_type, claims, at, day, window):
        kit = self.kit[kit_type]
        if kit.tracking is Tracking.CONSUMABLE:
            return 0
        has: dict[Id, int] = {}
        for claim in claims:
            about = claim.about
            spans = []
            if about.custody:
                unit = about.custody.unit
                spans.append((about.custody.out_at, self.clockwork.expected(about.custody)))
            elif about.held is None or about.held.state is BookingState.PENCILLED:
                continue
            if about.held:
                unit = about.custody.unit if about.custody else about.held.unit
                spans.append((about.held.start, about.held.end))
            if min(start for start, _ in spans) <= at < max(end for _, end in spans):
                has[unit] = has.get(unit, 0) + claim.quantity
        return sum(max(0, n - self.used(kit, unit, day, window)) for unit, n in has.items())

    def used(self, kit, unit, day, window):
        working = [
            each
            for each in self.shoot_days
            if each.unit == unit and (each.day == day or each.window.overlaps(window))
        ]
        field = {
            "pack": "radios", "wireless boom": "booms", "listening receiver": "listeners"
        }.get(kit.category)  # fmt: skip
        if not working:
            return 0
        return max(getattr(each, field) for each in working) if field else 10**9


@given(st.integers(0, 2**32), st.integers(-2, 2), st.booleans())
@settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_every_figure_is_what_the_judges_claims_say(opened, seed, begin, by_shoot_day):
    recorder = Recorder(Random(seed))
    first = date(2026, 10, 24) + timedelta(days=begin)
    last = first + timedelta(days=4)
    unit = recorder.units[0] if by_shoot_day else None
    per = Per.SHOOT_DAY if by_shoot_day else Per.DAY
    found = availability.availability(
        recorder.world.coordinator, Chosen(first, last, per, unit), now=recorder.now
    )
    with read(recorder.world.pool) as stores:
        slow = Slowly(stores, recorder, first, last)
        if not by_shoot_day:
            assert [day.date for day in found.days] == days_between(first, last, LONDON)
        for row, kit in enumerate(found.kit):
            for column, day in enumerate(found.days):
                told = {
                    name: int(getattr(found.figures, name)[row, column])
                    for name in (*FIGURES, "at")
                } | {"idle": int(found.idle[row, column])}
                assert told == slow.cell(kit.id, day.date, day.window), (kit, day)
                claims = slow.claims(kit.id)
                assert told["free"] == least_free(slow.looked.stock[kit.id], claims, day.window)
    assert local_day(recorder.now, LONDON) >= date(2026, 10, 24)


def test_what_went_out_and_came_back_is_still_booked(world):
    kit = world.a_kit_type(count=4)
    mine = book(world, "main", (kit, 3), start=0, end=5 * HOUR)
    send(world, Move.OUT, (kit, 2), booking=mine.id)
    world.now = NOW + HOUR
    send(world, Move.BACK, (kit, 2), booking=mine.id)
    told, _ = availability.hours(world.coordinator, kit.id, TODAY, now=world.now)
    at = next(hour for hour in told["hours"] if hour["start"] == NOW + 2 * HOUR)
    assert (at["free"], at["booked"]) == (1, 3)


def test_days_past_2038_are_counted_like_any(world):
    kit = world.a_kit_type(count=4)
    start = 2_214_208_800  # 2040-03-01T10:00:00Z, past what 31 bits of seconds hold
    book(world, "main", (kit, 3), start=start - NOW, end=start + HOUR - NOW)
    told, _ = availability.hours(world.coordinator, kit.id, date(2040, 3, 1), now=NOW)
    assert [hour["free"] for hour in told["hours"]] == [4] * 10 + [1] + [4] * 13
