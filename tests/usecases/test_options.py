"""What is offered instead of a refused booking: each option, if taken at once, is granted."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from crossload.domain.booking import BookingState, Wanted
from crossload.domain.instants import parse_instant
from crossload.domain.kit import Need
from crossload.domain.window import Window
from crossload.storage import database
from crossload.usecases import bookings, telling
from crossload.usecases.bookings import Changes
from crossload.usecases.granting import Granted, Refused
from crossload.usecases.names import Names
from crossload.usecases.options import find_options
from crossload.usecases.transaction import read
from worlds import DAY, HOUR, NOW, a_world, an_ask, answer_to, book, refused

PENCIL = BookingState.PENCILLED


def options(world, ask):
    """The options for an ask that is refused."""
    judged = refused(answer_to(world, ask))
    with read(world.pool) as stores:
        return find_options(Names(stores), judged.ask, world.now)


def kinds(found):
    return [option.kind for option in found]


def take(world, option):
    return answer_to(world, option.ask)


def test_fewer_is_the_most_that_fits(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 2))
    (fewer,) = [o for o in options(world, an_ask(world, "second", (kit, 5))) if o.kind == "fewer"]
    assert [line.quantity for line in fewer.ask.lines] == [4]
    assert fewer.lacks == ((kit.id, 1),)
    assert isinstance(take(world, fewer), Granted)


def test_a_substitute_is_offered_for_the_rest_and_for_all(world):
    other = world.a_kit_type(count=9)
    kit = world.a_kit_type(count=6, substitutes=(other.id,))
    book(world, "main", (kit, 2))
    found = options(world, an_ask(world, "second", (kit, 5)))
    mixed, whole = (next(o for o in found if o.kind == kind) for kind in ("mixed", "substitute"))
    assert [(w.kit_type, w.quantity) for w in mixed.ask.lines] == [(kit.id, 4), (other.id, 1)]
    assert [(w.kit_type, w.quantity) for w in whole.ask.lines] == [(other.id, 5)]


def radio_kit(world):
    """Packs and receivers in two ranges, lavaliers that fit both."""
    lavalier = world.a_kit_type(count=20, category="lavalier", traits={"plug": "3"})
    needs = (Need("receiver", 1, ("range",)), Need("lavalier", 1, ("plug",)))
    kit = {}
    for name, packs, receivers in (("high", 6, 3), ("low", 4, 4)):
        traits = {"range": name, "plug": "3"}
        substitutes = (kit["high"].id,) if name == "low" else ()
        kit[name] = world.a_kit_type(
            count=packs, category="pack", traits=traits, goes_with=needs, substitutes=substitutes
        )
        kit[f"{name} way"] = world.a_kit_type(
            count=receivers, category="receiver", traits={"range": name}, ways=2
        )
    return kit | {"lavalier": lavalier}


def radios(kit, packs):
    return (kit["low"], packs), (kit["low way"], -(-packs // 2)), (kit["lavalier"], packs)


def test_a_substitute_pack_brings_its_own_receivers_and_leaves_the_old_ones(world):
    kit = radio_kit(world)
    found = options(world, an_ask(world, "second", *radios(kit, 6)))
    mixed = next(option for option in found if option.kind == "mixed")
    taken = {wanted.kit_type: wanted.quantity for wanted in mixed.ask.lines}
    assert taken == {
        kit["low"].id: 4,
        kit["low way"].id: 2,
        kit["lavalier"].id: 6,
        kit["high"].id: 2,
        kit["high way"].id: 1,
    }
    assert mixed.brings == ((kit["high way"].id, 1),)
    assert isinstance(take(world, mixed), Granted)


def test_a_substitute_that_lacks_its_receivers_is_not_offered(world):
    kit = radio_kit(world)
    book(world, "main", (kit["high way"], 3))
    found = options(world, an_ask(world, "second", *radios(kit, 6)))
    assert "mixed" not in kinds(found)
    assert "substitute" not in kinds(found)


def test_a_units_own_spare_ways_serve_its_substitute_packs(world):
    kit = radio_kit(world)
    book(world, "second", (kit["high way"], 1))
    book(world, "main", (kit["high way"], 2))
    found = options(world, an_ask(world, "second", *radios(kit, 6)))
    mixed = next(option for option in found if option.kind == "mixed")
    assert mixed.brings == ()


def test_fewer_radios_take_less_of_what_goes_with_them(world):
    kit = radio_kit(world)
    book(world, "main", (kit["high"], 6))
    found = options(world, an_ask(world, "second", *radios(kit, 6)))
    fewer = next(option for option in found if option.kind == "fewer")
    taken = {wanted.kit_type: wanted.quantity for wanted in fewer.ask.lines}
    assert taken == {kit["low"].id: 4, kit["low way"].id: 2, kit["lavalier"].id: 4}


@pytest.mark.parametrize(
    ("taken", "kept"),
    [(1, {"pack": 5, "lavalier": 2, "pouch": 5}), (5, {"pack": 1, "lavalier": 1, "pouch": 1})],
    ids=["one short", "five short"],
)
def test_fewer_packs_keep_the_few_lavaliers_that_they_still_have_use_for(world, taken, kept):
    needs = (Need("lavalier", 1), Need("pouch", 1))
    kit = {"pack": world.a_kit_type(count=6, category="pack", goes_with=needs)}
    kit |= {name: world.a_kit_type(count=9, category=name) for name in ("lavalier", "pouch")}
    book(world, "main", (kit["pack"], taken))
    lines = (kit["pack"], 6), (kit["lavalier"], 2), (kit["pouch"], 6)
    found = options(world, an_ask(world, "second", *lines))
    fewer = next(option for option in found if option.kind == "fewer")
    asked = {wanted.kit_type: wanted.quantity for wanted in fewer.ask.lines}
    assert asked == {kit[name].id: quantity for name, quantity in kept.items()}
    assert isinstance(take(world, fewer), Granted)


def test_a_lavalier_that_is_lacking_takes_one_pack_along_and_no_more(world):
    pack = world.a_kit_type(count=6, category="pack", goes_with=(Need("lavalier", 1),))
    lavalier = world.a_kit_type(count=9, category="lavalier")
    book(world, "main", (lavalier, 8))
    found = options(world, an_ask(world, "second", (pack, 6), (lavalier, 2)))
    fewer = next(option for option in found if option.kind == "fewer")
    asked = {wanted.kit_type: wanted.quantity for wanted in fewer.ask.lines}
    assert asked == {pack.id: 5, lavalier.id: 1}


def test_substitutes_are_offered_in_the_order_of_preference(world):
    third, second = world.a_kit_type(count=9), world.a_kit_type(count=9)
    kit = world.a_kit_type(count=6, substitutes=(second.id, third.id))
    book(world, "main", (kit, 6))
    ask = an_ask(world, "second", (kit, 5))

    def offered():
        found = options(world, ask)
        return [w.kit_type for o in found if o.kind == "substitute" for w in o.ask.lines]

    assert offered() == [second.id]
    book(world, "main", (second, 5))
    assert offered() == [third.id]
    book(world, "main", (third, 5))
    assert offered() == []


def test_what_keeps_the_time_and_the_number_comes_before_fewer_and_another_time(world):
    other = world.a_kit_type(count=9)
    kit = world.a_kit_type(count=6, substitutes=(other.id,))
    world.a_shoot_day("second", NOW, NOW + 3 * DAY)
    book(world, "main", (kit, 2))
    found = options(world, an_ask(world, "second", (kit, 5)))
    assert kinds(found) == [
        "mixed",
        "substitute",
        "fewer",
        *["later"] * kinds(found).count("later"),
    ]
    assert "later" in kinds(found)


def test_another_time_says_by_how_much_it_is_shifted(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 6), start=HOUR, end=5 * HOUR)
    found = options(world, an_ask(world, "second", (kit, 6), start=3 * HOUR, end=6 * HOUR))
    shifts = {(o.kind, o.shift_s) for o in found}
    assert shifts == {("later", 2 * HOUR), ("later", DAY)}
    assert all(o.ask.window.length_s == 3 * HOUR for o in found)


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-10-24", 25), ("2027-03-27", 23)], ids=["set back", "set on"]
)
def test_another_day_at_the_same_local_times_is_so_over_a_clock_change(world, day, hours):
    # IANA tz rules EU: the day from noon to noon lasts 25 hours in October, 23 in March.
    noon = parse_instant(f"{day}T11:00:00Z" if hours == 25 else f"{day}T12:00:00Z")
    world.now = noon - DAY
    kit = world.a_kit_type(count=1)
    book(world, "main", (kit, 1), start=DAY, end=DAY + HOUR)
    found = options(world, an_ask(world, "second", (kit, 1), start=DAY, end=DAY + HOUR))
    later = [o.ask.window.start - noon for o in found if o.kind == "later"]
    assert sorted(later) == [HOUR, hours * HOUR]


def test_later_is_the_least_shift_that_fits(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 6), start=HOUR, end=5 * HOUR)
    found = options(world, an_ask(world, "second", (kit, 6), start=3 * HOUR, end=6 * HOUR))
    windows = {option.ask.window for option in found if option.kind == "later"}
    assert Window(NOW + 5 * HOUR, NOW + 8 * HOUR) in windows
    assert Window(NOW + DAY + 3 * HOUR, NOW + DAY + 6 * HOUR) in windows


def test_later_steps_over_what_stands_after_the_asked_window_too(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 6), start=HOUR, end=5 * HOUR)
    book(world, "splinter", (kit, 6), start=7 * HOUR, end=9 * HOUR)
    found = options(world, an_ask(world, "second", (kit, 6), start=3 * HOUR, end=6 * HOUR))
    shifts = {option.shift_s for option in found if option.kind == "later"}
    assert shifts == {6 * HOUR, DAY}


def test_earlier_is_never_before_now(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 6), start=4 * HOUR, end=9 * HOUR)
    found = options(world, an_ask(world, "second", (kit, 6), start=5 * HOUR, end=8 * HOUR))
    starts = [option.ask.window.start for option in found if option.kind == "earlier"]
    assert starts == [NOW + HOUR]
    late = options(world, an_ask(world, "second", (kit, 6), start=5 * HOUR, end=9 * HOUR + 1))
    assert "earlier" not in kinds(late)


def test_a_pencil_behind_a_pencil_says_its_place(world):
    kit = world.a_kit_type(count=6)
    for unit in ("main", "splinter"):
        answer_to(world, an_ask(world, unit, (kit, 6), state=PENCIL))
    found = options(world, an_ask(world, "second", (kit, 6)))
    behind = next(option for option in found if option.kind == "pencil_behind")
    assert behind.place == 3
    assert isinstance(take(world, behind), Granted)


def test_an_option_says_how_much_of_it_lies_outside_call_and_wrap(world):
    kit = world.a_kit_type(count=6)
    world.a_shoot_day("second", NOW, NOW + 7 * HOUR)
    book(world, "main", (kit, 6), start=HOUR, end=5 * HOUR)
    found = options(world, an_ask(world, "second", (kit, 6), start=3 * HOUR, end=6 * HOUR))
    costs = {option.shift_s: option.outside_s for option in found}
    assert costs == {2 * HOUR: HOUR, DAY: 3 * HOUR}


def test_times_outside_the_units_day_come_last(world):
    kit = world.a_kit_type(count=6)
    world.a_shoot_day("second", NOW + DAY, NOW + DAY + 10 * HOUR)
    book(world, "main", (kit, 6), start=HOUR, end=5 * HOUR)
    found = options(world, an_ask(world, "second", (kit, 6), start=3 * HOUR, end=6 * HOUR))
    outside = [option.outside_hours for option in found]
    assert outside == sorted(outside)
    assert any(outside)
    assert not outside[0]


def refused_change(world, booking, changes):
    """The options for a change that is refused, as bodies that take the place of it."""
    answer = bookings.change(world.coordinator, booking.id, changes, version=None, now=world.now)
    assert isinstance(answer, Refused), answer
    with read(world.pool) as stores:
        return find_options(Names(stores), answer.judged.ask, world.now, without=booking.id)


def test_an_option_for_a_refused_change_works_as_that_change(world):
    other = world.a_kit_type(count=9)
    kit = world.a_kit_type(count=8, substitutes=(other.id,))
    booking = book(world, "main", (kit, 4))
    book(world, "second", (kit, 3), start=2 * HOUR, end=9 * HOUR)
    wanted = (Wanted(kit.id, 7, line=booking.lines[0].id),)
    found = refused_change(world, booking, Changes(lines=wanted))
    assert {"mixed", "substitute", "fewer", "later"} <= set(kinds(found))
    with read(world.pool) as stores:
        bodies = [one["body"] for one in telling.options(Names(stores), found)]
    for option, body in zip(found, bodies, strict=True):
        if any(line.kit_type == kit.id for line in option.ask.lines):
            assert body["lines"][0]["id"] == booking.lines[0].id
        as_change = Changes(option.ask.window, option.ask.lines)
        answer = bookings.change(
            world.coordinator, booking.id, as_change, version=None, now=world.now
        )
        assert isinstance(answer, Granted), option.kind
        back = Changes(booking.window, (Wanted(kit.id, 4),))
        assert isinstance(
            bookings.change(world.coordinator, booking.id, back, version=None, now=world.now),
            Granted,
        )
        booking = world.booking(booking.id)


def test_a_pencil_that_cannot_be_confirmed_is_not_offered_the_place_it_has(world):
    kit = world.a_kit_type(count=6)
    book(world, "main", (kit, 4), state=PENCIL)
    mine = book(world, "second", (kit, 4), state=PENCIL)
    answer = bookings.confirm(world.coordinator, mine.id, version=None, now=NOW)
    assert isinstance(answer, Refused)
    with read(world.pool) as stores:
        found = find_options(Names(stores), answer.judged.ask, NOW, without=mine.id)
    assert "fewer" in kinds(found)
    assert "pencil_behind" not in kinds(found)


lines = st.tuples(
    st.integers(0, 2), st.integers(1, 4), st.integers(0, 40), st.integers(1, 12), st.booleans()
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    booked=st.lists(lines, max_size=6),
    wanted=st.lists(st.tuples(st.integers(0, 2), st.integers(1, 7)), min_size=1, max_size=3),
    start=st.integers(0, 30),
    length=st.integers(1, 12),
)
def test_every_option_is_granted_when_taken_at_once(any_world, booked, wanted, start, length):
    world, make = any_world
    kit = make()
    for kind, quantity, at, hours, pencil in booked:
        state = PENCIL if pencil else BookingState.CONFIRMED
        times = {"start": at * HOUR, "end": (at + hours) * HOUR}
        answer_to(world, an_ask(world, "main", (kit[kind], quantity), state=state, **times))
    asked = [(kit[kind], quantity) for kind, quantity in dict(wanted).items()]
    times = {"start": start * HOUR, "end": (start + length) * HOUR}
    answer = answer_to(world, an_ask(world, "second", *asked, **times))
    if isinstance(answer, Granted):
        return
    with read(world.pool) as stores:
        found = find_options(Names(stores), answer.judged.ask, world.now)
    for option in found:
        taken = take(world, option)
        assert isinstance(taken, Granted), (option.kind, taken)
        bookings.undo(world.coordinator, taken.booking.id, version=None, now=world.now)


@pytest.fixture
def any_world(migrated_sqlite, tmp_path):
    """A world on the embedded database, and kit of its own for each example."""
    import shutil

    copy = tmp_path / "options.db"
    shutil.copyfile(migrated_sqlite, copy)
    database.open_database(f"sqlite:///{copy}")
    world = a_world()

    def make():
        third = world.a_kit_type(count=5)
        second = world.a_kit_type(pieces=3, substitutes=(third.id,))
        return [world.a_kit_type(count=4, substitutes=(second.id, third.id)), second, third]

    yield world, make
    database.close_database()
