"""The demo is laid on today, keeps its promises, and is loaded once, whole; on both databases."""

import shutil
from datetime import UTC, date, datetime, time, timedelta

import pytest

from crossload.domain.booking import Ask, BookingState, Wanted
from crossload.domain.kit import Tracking
from crossload.domain.people import Role
from crossload.domain.window import FOREVER, Window
from crossload.domain.zones import load_zone, local_day, settled_wall
from crossload.storage.stores import Stores
from crossload.usecases import board, bookings, checks, demo, pools, radios, sign_in
from crossload.usecases.accounts import add_account
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, NotFound
from crossload.usecases.granting import Granted, Refused
from crossload.usecases.imports import import_kit_list, import_shoot_days
from crossload.usecases.judging import Answer, judge
from crossload.usecases.names import Names
from crossload.usecases.options import find_options
from crossload.usecases.reminders import remind
from crossload.usecases.transaction import read
from tables import FIXTURES, a_fixture, everything

LONDON = load_zone("Europe/London")
TODAY = date(2026, 11, 25)


def instant(day: date, at: time) -> int:
    return settled_wall(day, at, LONDON, edge="start")


NOON = instant(TODAY, time(12))


@pytest.fixture
def pool(opened):
    return demo.load_demo(FIXTURES, now=NOON).id


@pytest.fixture
def stores(pool) -> Stores:
    with read(pool) as stores:
        yield stores


def actor(pool, login) -> Actor:
    with read(pool) as stores:
        account = next(a for a in stores.accounts.all() if a.login == login)
    return Actor(pool, account.role, account.id, account.units)


def unit(pool, name):
    with read(pool) as stores:
        return next(unit.id for unit in stores.units.all() if unit.name == name)


# --- there, once and whole


def test_a_demo_that_is_there_stays_as_it_is(pool):
    before = everything()
    assert demo.load_demo(FIXTURES, now=NOON + 86_400).id == pool
    assert everything() == before
    assert demo.is_loaded()


def test_it_is_as_large_as_a_house_s_week(stores):
    assert len(stores.kit_types.all()) >= 60
    counted = sum(kit.count for kit in stores.kit_types.all())
    assert len(stores.items.all()) + counted >= 400
    assert len(stores.boxes.all()) >= 20
    assert len(stores.bookings.page()) >= 24
    assert len(stores.shoot_days.all()) == 28


def test_one_that_was_broken_off_is_brought_to_its_end(opened, tmp_path):
    shutil.copytree(FIXTURES, tmp_path / "fixtures")
    table = tmp_path / "fixtures" / "bookings.csv"
    whole = table.read_bytes()
    table.write_bytes(whole.replace(b'"Pack, 470 to 548 MHz",6', b'"Pack, 470 to 548 MHz",600'))
    with pytest.raises(RuntimeError, match="B23"):
        demo.load_demo(tmp_path / "fixtures", now=NOON)
    assert not demo.is_loaded()
    with pytest.raises(NotFound):
        sign_in.demo_people()

    pool = demo.load_demo(FIXTURES, now=NOON).id
    assert demo.is_loaded()
    with read(pool) as stores:
        assert len(stores.bookings.page()) == 25
        assert len(stores.items.all()) == 372
        assert len(stores.custodies.out()) > 40
    assert len(pools.all_pools()) == 1


def test_it_takes_nobody_s_sign_in_name(opened):
    house = pools.make_pool("House", zone="Europe/London", currency="GBP", now=NOON)
    add_account(
        Actor.operator(house.id), login="ines", name="Ines", role=Role.COORDINATOR, now=NOON
    )
    before = everything()
    with pytest.raises(Conflict, match="ines"):
        demo.load_demo(FIXTURES, now=NOON)
    assert everything() == before


@pytest.mark.parametrize(
    "now",
    [
        datetime(2026, 11, 25, 0, 0, tzinfo=UTC),
        datetime(2026, 11, 25, 23, 59, 59, tzinfo=UTC),
        datetime(2026, 10, 25, 1, 30, tzinfo=UTC),
        datetime(2026, 3, 29, 0, 59, tzinfo=UTC),
        datetime(2027, 7, 3, 23, 30, tzinfo=UTC),
        datetime(2028, 2, 29, 12, 0, tzinfo=UTC),
    ],
    ids=["midnight", "last second", "autumn change", "spring change", "a summer night", "leap day"],
)
def test_day_8_is_today_at_any_time_of_any_day(opened, now):
    now = int(now.timestamp())
    pool = demo.load_demo(FIXTURES, now=now)
    today = local_day(now, LONDON)
    with read(pool.id) as stores:
        main = next(unit.id for unit in stores.units.all() if unit.name == "Main")
        days = {day.number: day for day in stores.shoot_days.all(unit=main)}
        assert days[8].day == today
        assert datetime.fromtimestamp(days[8].call_s, LONDON).time() == time(7)
        assert days[15].day - days[1].day == timedelta(days=18)
        assert all(c.out_at < instant(today, time(0)) for c in stores.custodies.all())
    assert checks.check(Actor.operator(pool.id), now=now) == []


def test_it_can_be_laid_on_another_day(opened):
    pool = demo.load_demo(FIXTURES, today=TODAY + timedelta(days=3), now=NOON)
    with read(pool.id) as stores:
        days = [day.day for day in stores.shoot_days.all() if day.number == 8]
    assert set(days) == {TODAY + timedelta(days=3)}


def test_its_own_lists_brought_in_again_change_nothing_but_the_stock_of_what_was_used_up(pool):
    operator = Actor.operator(pool)
    days = import_shoot_days(operator, a_fixture("shoot-days.csv"), dry_run=True, now=NOON)
    assert days.counts == {"new": 0, "changed": 0, "same": 28}
    kit = import_kit_list(operator, a_fixture("kit-list.csv"), dry_run=True, now=NOON)
    assert kit.problems == ()
    happened = {change.name for change in kit.changes if change.kind != "same"}
    assert happened == {"Skin tape, roll", "Cloth tape, black, roll", "AA, single-use"}


# --- who is in it


def test_all_five_kinds_of_people_are_there_and_four_sign_in(pool):
    people = {person.login: person for person in sign_in.demo_people()}
    assert {person.role for person in people.values()} == {
        *(Role.COORDINATOR, Role.MIXER, Role.ASSISTANT, Role.SUPERVISOR)
    }
    assert (people["tobin"].role, people["tobin"].unit) == (Role.MIXER, "Second")
    assert people["ines"].unit is None


def test_everything_has_a_past_with_who_did_it(stores):
    entries = stores.journal.page(limit=10_000)
    asked = [entry for entry in entries if entry.verb == "asked"]
    assert [entry.at for entry in asked] == sorted(entry.at for entry in asked)
    assert all(entry.account for entry in asked)
    assert all(entry.at <= NOON for entry in entries)
    assert {"made", "asked", "confirmed", "pencilled", "handed out", "took back"} <= {
        entry.verb for entry in entries
    }
    said = str([(entry.before, entry.after) for entry in entries])
    assert not any(private in said for private in ("01632 9", "07700 9", "Pellamy", "Corvane"))


# --- what is out, late, short


def test_what_is_out_is_fixed_to_its_line_and_one_piece_is_late(stores):
    tags = {item.id: item.tag for item in stores.items.all()}
    out = stores.custodies.out()
    late = [tags[custody.item] for custody in out if custody.due_at <= NOON]
    assert late == ["LA02"]
    lines = {line.id: line for b in stores.bookings.page() for line in b.lines}
    for custody in out:
        if custody.item is not None:
            line = lines[custody.line]
            assert custody.item in (line.item, *line.pieces)
            assert custody.due_at == line.window.end


def test_used_up_kit_is_gone_from_the_stock_and_from_what_its_line_still_claims(stores):
    types = {kit.name: kit for kit in stores.kit_types.all()}
    tape = types["Skin tape, roll"]
    assert tape.tracking is Tracking.CONSUMABLE
    assert tape.count == 48 - 6
    gone = [
        (line.quantity, line.gone)
        for booking in stores.bookings.page()
        for line in booking.lines
        if line.kit_type == tape.id
    ]
    assert gone == [(6, 6), (4, 0)]


def test_what_cannot_be_used_has_its_condition_and_its_window(stores):
    items = {item.tag: item for item in stores.items.all()}
    windows = {window.item: window for window in stores.out_of_service.all()}
    assert items["PL24"].condition == "in repair"
    assert windows[items["BG03"].id].end_s == FOREVER
    assert windows[None].quantity == 8
    assert items["LB19"].id in windows


def decide(pool, now=NOON) -> set:
    told, _ = board.draw(Actor.operator(pool), now=now)
    return {(one["kind"], one["kit_type"], one["short_by"]) for one in told["decide"]}


@pytest.mark.parametrize("at", [time(0, 5), time(7), time(12), time(19)], ids=str)
def test_one_thing_is_late_one_at_risk_and_two_clashes_wait(pool, at):
    assert decide(pool, instant(TODAY, at)) == {
        ("overdue", "Long arm", 0),
        ("at_risk", "Long gun, outside", 1),
        ("clash", "Long arm", 1),
        ("clash", "Wireless boom, 470 to 548 MHz", 1),
    }


def test_nothing_is_broken_in_its_data(pool):
    assert checks.check(Actor.operator(pool), now=NOON) == []


def test_reminders_are_due_at_once_and_more_come_in_the_evening(pool):
    remind(pool, NOON)
    told, _ = board.draw(Actor.operator(pool), now=NOON)
    due = {(one["kind"], one["kit_type"]) for one in told["reminders"] if one["state"] == "due"}
    assert ("return_due", "Long arm") in due
    assert any(kind == "prepare" for kind, _ in due)
    coming = {one["kind"] for one in told["reminders"] if one["state"] == "coming"}
    assert {"return_due", "charge"} <= coming


def test_kit_goes_out_and_comes_back_today(pool):
    told, _ = board.draw(Actor.operator(pool), now=NOON)
    assert ("Main", "prepare") in {(one["unit"], one["state"]) for one in told["going_out"]}
    assert told["counts"]["out"] > 100
    assert told["counts"]["overdue"] == 1
    assert told["counts"]["due_today"] > 0


# --- the main job


def six_radios(pool, now=NOON):
    """What second unit's mixer asks for: six radios for the next shoot day, call to wrap."""
    tobin, second = actor(pool, "tobin"), unit(pool, "Second")
    proposed = radios.propose(tobin, unit=second, quantity=6, now=now)
    lines = tuple(Wanted(p["kit_type_id"], p["quantity"]) for p in proposed["lines"])
    window = Window(proposed["window"]["start"], proposed["window"]["end"])
    return tobin, proposed, Ask(second, window, lines)


def test_second_unit_is_offered_day_9_and_sees_the_four_radios_it_has(pool):
    _, proposed, _ = six_radios(pool)
    assert proposed["window"]["shoot_day"]["number"] == 9
    assert proposed["held"] == {"radios": 4, "ways": 4}


def test_six_more_radios_for_day_9_are_refused_for_want_of_packs_alone(pool):
    tobin, _, ask = six_radios(pool)
    answer = bookings.book(tobin, ask, now=NOON)
    assert isinstance(answer, Refused)
    assert answer.judged.answer is Answer.SHORT
    short = [v for v in answer.judged.types if v.answer is not Answer.YES]
    assert [verdict.kit.name for verdict in short] == ["Pack, 470 to 548 MHz"]
    assert (short[0].confirmed.free, short[0].all.free) == (4, 2)


def test_other_radios_fewer_and_later_are_offered_and_each_works_when_it_is_taken(pool):
    tobin, _, ask = six_radios(pool)
    with read(pool) as stores:
        found = find_options(Names(stores), ask, NOON)
    assert {"substitute", "fewer", "later"} <= {option.kind for option in found}
    substitute = next(option for option in found if option.kind == "substitute")
    names = {kit.id: kit.name for kit in kit_types(pool)}
    wanted = {names[line.kit_type]: line.quantity for line in substitute.ask.lines}
    assert wanted["Pack, 606 to 694 MHz"] == 6
    for option in found:
        answer = bookings.book(tobin, option.ask, now=NOON)
        assert isinstance(answer, Granted), option.kind
        bookings.undo(tobin, answer.booking.id, version=None, now=NOON)


def kit_types(pool):
    with read(pool) as stores:
        return stores.kit_types.all()


def test_when_the_pencil_falls_four_are_free(pool):
    # Splinter's pencil for the twins lapses at 08:00 on day 9.
    eight = instant(TODAY + timedelta(days=1), time(8))
    tobin, _, ask = six_radios(pool)
    pack = ask.lines[0].kit_type
    fewer = Ask(ask.unit, ask.window, (Wanted(pack, 4),))
    with read(pool) as stores:
        assert judge(stores, fewer, NOON).answer is Answer.BEHIND_PENCIL
    late = Ask(ask.unit, Window(eight + 3600, ask.window.end), (Wanted(pack, 4),))
    assert isinstance(bookings.book(tobin, late, now=eight), Granted)
    with read(pool) as stores:
        lapsed = [b.purpose for b in stores.bookings.page(state=BookingState.LAPSED)]
    assert lapsed == ["the twins, if they come"]
