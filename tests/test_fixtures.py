"""The demo is whole: every name in it is known, and what it is meant to show is there."""

import json
import re
from collections import Counter
from dataclasses import dataclass
from datetime import date, time, timedelta
from functools import cache
from itertools import combinations, permutations
from pathlib import Path

import pytest

from crossload.domain.booking import BookingState
from crossload.domain.booking_list import DayTime, ListedBooking
from crossload.domain.hours import read_hours
from crossload.domain.kit import Condition, Tracking
from crossload.domain.kit_list import CATEGORIES, KitList, ListedType
from crossload.domain.shoot import UnitKind
from crossload.domain.shoot_day_list import ShootDayRow
from crossload.domain.window import FOREVER, Window
from crossload.domain.zones import load_zone, local_day, settled_wall
from crossload.formats.bookings import read_bookings
from crossload.formats.house_lists import read_out_of_service, read_people
from crossload.formats.kit_list import read_kit_list, write_kit_list
from crossload.formats.shoot_days import read_shoot_days, write_shoot_days

FIXTURES = Path(__file__).parents[1] / "fixtures"
POOL = json.loads((FIXTURES / "pool.json").read_text(encoding="utf-8"))
ZONE = load_zone(POOL["zone"])
HOURS = read_hours(POOL["opening"], ZONE)
LOW, HIGH = "470 to 548 MHz", "606 to 694 MHz"


def content(name: str) -> bytes:
    return (FIXTURES / name).read_bytes()


@cache
def kit() -> KitList:
    return read_kit_list(content("kit-list.csv"), currency_exponent=2, currency=POOL["currency"])


@cache
def types() -> dict[str, ListedType]:
    return {each.name: each for each in kit().kit_types}


@cache
def tags() -> dict[str, str]:
    """The kit type of each tag."""
    return {row.piece.tag: row.kit_type.name for row in kit().rows if row.piece}


@cache
def days() -> dict[tuple[str, int], ShootDayRow]:
    found = read_shoot_days(content("shoot-days.csv"))
    assert found.problems == ()
    return {(day.unit, day.number): day for day in found.rows}


@cache
def bookings() -> tuple[ListedBooking, ...]:
    found = read_bookings(content("bookings.csv"))
    assert found.problems == ()
    return found.bookings


@cache
def people():
    found = read_people(content("people.csv"))
    assert found.problems == ()
    return found.rows


@cache
def out_of_service():
    found = read_out_of_service(content("out-of-service.csv"))
    assert found.problems == ()
    return found.rows


def instant(day: date, at: time, *, edge: str = "start") -> int:
    return settled_wall(day, at, ZONE, edge=edge)


def at(unit: str, moment: DayTime) -> int:
    day = days()[unit, moment.number].day + timedelta(days=moment.next_day)
    return instant(day, moment.at)


def window(booking: ListedBooking) -> Window:
    first = days()[booking.unit, booking.from_number]
    last = days()[booking.unit, booking.to_number]
    assert booking.to_time is None, "nothing in the demo ends at another time than a wrap"
    return Window(
        instant(first.day, booking.from_time or first.call),
        instant(last.wrap_day, last.wrap, edge="end"),
    )


def occupied(span: Window, kit_type: ListedType) -> Window:
    start = span.start - kit_type.prep_s
    if kit_type.tracking is Tracking.CONSUMABLE:
        return Window(start, FOREVER)
    return Window(start, HOURS.add_open_time(span.end, kit_type.check_in_s))


# --- the kit list


def test_the_kit_list_is_read_without_a_problem_and_is_as_large_as_a_house_s():
    assert kit().problems == ()
    assert len(kit().kit_types) >= 60
    assert sum(row.quantity for row in kit().rows) >= 400
    assert sum(row.piece is not None for row in kit().rows) >= 300
    assert len(kit().boxes) >= 20
    assert kit().kept_columns == ("Bought", "Remarks")


def test_the_workbook_is_the_same_list():
    book = read_kit_list(content("kit-list.xlsx"), currency_exponent=2, currency="GBP")
    assert book.problems == ()
    assert book.rows == kit().rows
    assert book.left_out == ("Shelves",)


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_exporting_the_kit_list_and_importing_it_changes_nothing(kind):
    exported = write_kit_list(kit().rows, kind, currency_exponent=2)
    again = read_kit_list(exported, currency_exponent=2, currency="GBP")
    assert again.problems == ()
    assert again.rows == kit().rows
    assert write_kit_list(again.rows, kind, currency_exponent=2) == exported


def test_every_category_is_there_and_no_other():
    assert {each.category for each in kit().kit_types} == set(CATEGORIES)


def test_boxes_stand_in_boxes_in_boxes():
    inside = {box.number: box.inside for box in kit().boxes}
    assert all(outer == "" or outer in inside for outer in inside.values())
    assert any(outer and inside[outer] for outer in inside.values())


def test_packs_receivers_and_frequencies_come_in_both_ranges_and_modes():
    pieces = Counter(row.kit_type.name for row in kit().rows if row.piece)
    assert (pieces[f"Pack, {LOW}"], pieces[f"Pack, {HIGH}"]) == (24, 10)
    receivers = [each for each in kit().kit_types if each.category == "receiver"]
    assert {each.ways for each in receivers} == {2, 4}
    kinds = {(each.traits["range"], each.traits["mode"]) for each in receivers}
    assert len(kinds) == 4
    assert pieces[f"Frequency, {LOW}"] >= 24
    assert pieces[f"Frequency, {HIGH}"] >= 10


def test_what_a_pack_goes_with_is_there_to_go_with_it():
    packs = [each for each in kit().kit_types if each.category == "pack"]
    for pack in packs:
        assert {need.category for need in pack.goes_with} == {
            *("receiver", "lavalier", "battery", "pouch", "frequency")
        }
        for need in pack.goes_with:
            assert any(
                each.category == need.category
                and all(each.traits.get(t) == pack.traits[t] for t in need.match)
                for each in kit().kit_types
            ), (pack.name, need)


def test_some_lavalier_fits_no_pack():
    plugs = {each.traits["plug"] for each in kit().kit_types if each.category == "pack"}
    lavaliers = {each.traits["plug"] for each in kit().kit_types if each.category == "lavalier"}
    assert lavaliers - plugs
    assert len(plugs) > 1


def test_consumables_have_a_reorder_level_and_stock_above_it():
    stock = Counter()
    for row in kit().rows:
        if row.kit_type and row.kit_type.tracking is Tracking.CONSUMABLE:
            stock[row.kit_type.name] += row.quantity
    assert len(stock) >= 4
    assert all(types()[name].reorder_level < count for name, count in stock.items())


def test_some_pieces_have_no_tag_yet_and_some_another_owner():
    pieces = [row.piece for row in kit().rows if row.piece]
    assert any(piece.tag == "" for piece in pieces)
    assert any(piece.consent_required for piece in pieces)
    assert any(piece.condition is Condition.SUSPECT for piece in pieces)


def test_barcodes_are_of_the_house_s_own_use_and_check():
    # GS1 General Specifications: prefix 2 is for restricted circulation; mod 10 as in the worked
    # example 629104150021 → 3.
    def check(digits: str) -> str:
        total = sum(int(d) * (3 if at % 2 else 1) for at, d in enumerate(digits))
        return str(-total % 10)

    assert check("629104150021") == "3"
    codes = [row.piece.barcode for row in kit().rows if row.piece and row.piece.barcode]
    assert len(codes) >= 50
    assert all(len(c) == 13 and c[0] == "2" and check(c[:12]) == c[12] for c in codes)


@pytest.mark.parametrize("name", [LOW, HIGH])
def test_the_hand_entered_frequencies_can_be_used_together(name):
    low, high = (int(edge) * 10**6 for edge in re.findall(r"\d+", name))
    hertz = [
        row.piece.frequency_hz
        for row in kit().rows
        if row.piece and row.kit_type.name == f"Frequency, {name}"
    ]
    assert all(low < f < high and f % 25_000 == 0 for f in hertz)
    assert min(abs(a - b) for a, b in combinations(hertz, 2)) >= 400_000
    # Third-order products of two carriers, 2A − B (ITU-R SM.1134): none within 25 kHz of another.
    members = set(hertz)
    for a, b in permutations(hertz, 2):
        near = {2 * a - b + off for off in (-25_000, 0, 25_000)} - {a, b}
        assert not near & members


# --- days and people


def test_three_units_work_over_fifteen_days_with_free_weekends_and_some_nights():
    assert {unit for unit, _ in days()} == {"Main", "Second", "Splinter"}
    assert [number for unit, number in days() if unit == "Main"] == list(range(1, 16))
    assert all(day.day.weekday() < 5 for day in days().values())
    assert sum(day.wrap_day > day.day for day in days().values()) >= 4
    dates = {}
    for (_, number), day in days().items():
        assert dates.setdefault(number, day.day) == day.day
    assert {day.mute for day in days().values()} == {True, False}
    assert {day.inside for day in days().values()} == {True, False}
    assert None in {day.latitude_e7 for day in days().values()}


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_exporting_the_shoot_days_and_importing_them_changes_nothing(kind):
    rows = tuple(days().values())
    assert read_shoot_days(write_shoot_days(rows, kind)).rows == rows


def test_day_8_of_main_is_the_demo_s_today():
    today = POOL["today"]
    day = days()[today["unit"], today["day"]]
    assert today["day"] == 8
    assert day.day.isoformat() == today["date"]


def test_no_time_lies_in_the_hour_that_a_clock_change_takes_or_gives():
    # Europe/London changes between 01:00 and 02:00 (IANA tzdata: EU rules at 01:00 UTC).
    for name in ("shoot-days.csv", "bookings.csv", "out-of-service.csv"):
        text = content(name).decode()
        assert re.search(r"\d\d:\d\d", text)
        assert not re.search(r"\b0?1:[0-5]\d\b", text), name


def test_the_pool_has_a_house_that_opens_and_units_of_known_kinds():
    assert HOURS.is_open(instant(date(2026, 11, 25), time(12)))
    assert not HOURS.is_open(instant(date(2026, 11, 25), time(21)))
    assert {UnitKind(unit["kind"]) for unit in POOL["units"]} == {
        *(UnitKind.MAIN, UnitKind.SECOND, UnitKind.SPLINTER)
    }
    assert {unit["name"] for unit in POOL["units"]} == {unit for unit, _ in days()}


def test_all_five_kinds_of_people_can_sign_in():
    roles = Counter(str(person.role) for person in people() if person.role)
    assert set(roles) == {"coordinator", "mixer", "assistant", "supervisor"}
    assert {p.unit for p in people() if str(p.role) == "mixer"} == {"Main", "Second", "Splinter"}
    assert {p.unit for p in people()} == {"", "Main", "Second", "Splinter"}
    assert "ines" in {person.login for person in people()}


def test_telephone_numbers_are_those_kept_for_drama():
    # Ofcom, "Telephone numbers for use in TV and radio drama programmes": no area 01632 960000 to
    # 960999, mobile 07700 900000 to 900999.
    kept = re.compile(r"01632 960\d{3}|07700 900\d{3}")
    phones = [person.phone for person in people()]
    phones += [POOL["phone"], *(unit["phone"] for unit in POOL["units"])]
    assert all(kept.fullmatch(phone) for phone in phones)


# --- bookings


def test_bookings_name_only_what_there_is():
    assert len(bookings()) >= 24
    counted = (Tracking.COUNT, Tracking.CONSUMABLE)
    names = {person.name for person in people()}
    for booking in bookings():
        assert {(booking.unit, booking.from_number), (booking.unit, booking.to_number)} <= set(
            days()
        )
        for line in booking.lines:
            assert line.kit_type in types(), line
            named = {*line.pieces, *([line.tag] if line.tag else [])}
            assert all(tags()[tag] == line.kit_type for tag in named), line
            if line.out and types()[line.kit_type].tracking not in counted:
                assert len(named) == line.quantity, line
            assert not line.person or line.person in names


def test_pencils_have_a_deadline_that_is_still_ahead_and_confirmed_bookings_an_order():
    tonight = instant(days()["Main", 8].day + timedelta(days=1), time(0))
    states = Counter(booking.state for booking in bookings())
    assert states[BookingState.PENCILLED] >= 5
    for booking in bookings():
        if booking.state is BookingState.PENCILLED:
            assert booking.pencil_expires
            assert at(booking.unit, booking.pencil_expires) > tonight
        else:
            assert booking.order_number


def test_what_is_out_went_out_before_today_and_no_piece_twice():
    midnight = instant(days()["Main", 8].day, time(0))
    held: dict[str, list[Window]] = {}
    for booking in bookings():
        for line in booking.lines:
            if not line.out:
                continue
            out = at(booking.unit, line.out)
            back = at(booking.unit, line.back) if line.back else FOREVER
            assert out >= window(booking).start
            assert out < back
            assert out < midnight
            assert not line.back or back < midnight
            for tag in (*line.pieces, *([line.tag] if line.tag else [])):
                spans = held.setdefault(tag, [])
                assert not any(Window(out, back).overlaps(span) for span in spans), tag
                spans.append(Window(out, back))
    assert len([tag for tag, spans in held.items() if spans[-1].end == FOREVER]) >= 40


def test_one_piece_is_overdue_and_something_is_due_back_today():
    now = instant(days()["Main", 8].day, time(12))
    evening = instant(days()["Main", 8].day, time(23))
    late, due = [], []
    for booking in bookings():
        for line in booking.lines:
            if not line.out or line.back:
                continue
            if types()[line.kit_type].tracking is Tracking.CONSUMABLE:
                continue
            end = window(booking).end
            if end <= now:
                late.append(line.tag)
            elif end <= evening:
                due.append(line.kit_type)
    assert late == ["LA02"]
    assert f"Camera link, {HIGH}" in due


def test_something_goes_out_today():
    starting = [b for b in bookings() if b.from_number == 8 and not b.lines[0].out]
    assert starting
    assert all(b.state is BookingState.CONFIRMED for b in starting)


# --- what there is and what is claimed: a sweep of its own, over the ends of windows


@dataclass(frozen=True)
class Held:
    span: Window
    quantity: int
    firm: bool


def claims(name: str, *, today_overdue: bool = True) -> list[Held]:
    kit_type = types()[name]
    found = []
    for booking in bookings():
        for line in booking.lines:
            if line.kit_type == name:
                span = window(booking)
                if line.out and not line.back and today_overdue:
                    # A piece that is late is expected at its unit's next wrap.
                    wrap = days()["Main", 8]
                    expected = instant(wrap.wrap_day, wrap.wrap)
                    span = Window(span.start, max(span.end, expected))
                firm = booking.state is BookingState.CONFIRMED
                found.append(Held(occupied(span, kit_type), line.quantity, firm))
    for row in out_of_service():
        if row.kit_type == name:
            until = instant(row.until_day, row.until_time) if row.until_day else FOREVER
            span = Window(instant(row.from_day, row.from_time), until)
            found.append(Held(span, row.quantity, firm=True))
    return found


def capacity(name: str) -> int:
    fit = (Condition.FIT,)
    return sum(
        row.quantity
        for row in kit().rows
        if row.kit_type
        and row.kit_type.name == name
        and (row.piece is None or row.piece.condition in fit)
    )


def least_free(name: str, span: Window, *, pencils: bool) -> int:
    held = [claim for claim in claims(name) if (claim.firm or pencils)]
    ends = {span.start, *(c.span.start for c in held if span.start <= c.span.start < span.end)}
    return min(
        capacity(name) - sum(c.quantity for c in held if c.span.start <= end < c.span.end)
        for end in ends
    )


def test_what_is_confirmed_can_be_kept_but_for_the_long_guns_that_are_at_risk():
    everything = Window(instant(date(2026, 11, 1), time(0)), instant(date(2027, 1, 1), time(0)))
    short = {name: least_free(name, everything, pencils=False) for name in types()}
    assert {name: free for name, free in short.items() if free < 0} == {"Long gun, outside": -1}
    before = Window(everything.start, ask(10, "Main").end)
    assert least_free("Long gun, outside", before, pencils=False) >= 0


def test_exactly_two_clashes_wait_to_happen():
    found = []
    for name in types():
        held = claims(name)
        clashing = False
        for end in sorted({end for claim in held for end in (claim.span.start, claim.span.end)}):
            now = [claim for claim in held if claim.span.start <= end < claim.span.end]
            over = sum(claim.quantity for claim in now)
            pencilled = any(not claim.firm for claim in now)
            if over > capacity(name) and pencilled and not clashing:
                found.append((local_day(end, ZONE), name))
            clashing = over > capacity(name)
    assert sorted(found) == [
        (days()["Second", 10].day, "Long arm"),
        (days()["Splinter", 12].day, f"Wireless boom, {LOW}"),
    ]


def ask(number: int, unit: str = "Second") -> Window:
    """The unit's day, call to wrap."""
    day = days()[unit, number]
    return Window(instant(day.day, day.call), instant(day.wrap_day, day.wrap, edge="end"))


def test_second_unit_is_refused_six_more_radios_tomorrow_for_want_of_packs_alone():
    pack = types()[f"Pack, {LOW}"]
    span = occupied(ask(9), pack)
    assert least_free(pack.name, span, pencils=True) == 2
    assert least_free(pack.name, span, pencils=False) == 4
    ways = 4 * least_free(f"Receiver, four-way, {LOW}", ask(9), pencils=True)
    ways += 2 * least_free(f"Receiver, two-way, {LOW}", ask(9), pencils=True)
    assert ways >= 6
    _there_is_for_six("4-pin", LOW)


def _there_is_for_six(plug: str, name: str) -> None:
    free = {
        each.name: least_free(each.name, occupied(ask(9), each), pencils=True)
        for each in kit().kit_types
    }
    lavaliers = [e.name for e in kit().kit_types if e.traits.get("plug") == plug]
    assert max(free[n] for n in lavaliers if types()[n].category == "lavalier") >= 6
    assert free["AA, rechargeable"] >= 12
    assert free["Pouch, small"] >= 6
    assert free[f"Frequency, {name}"] >= 6


def test_the_other_range_is_free_for_six_with_its_receivers():
    pack = types()[f"Pack, {HIGH}"]
    assert pack.name in types()[f"Pack, {LOW}"].substitutes
    assert least_free(pack.name, occupied(ask(9), pack), pencils=True) >= 6
    ways = 4 * least_free(f"Receiver, four-way, {HIGH}", ask(9), pencils=True)
    ways += 2 * least_free(f"Receiver, two-way, {HIGH}", ask(9), pencils=True)
    assert ways >= 6
    _there_is_for_six(pack.traits["plug"], HIGH)


def test_six_of_the_low_range_are_free_again_on_second_unit_s_next_week():
    pack = types()[f"Pack, {LOW}"]
    assert least_free(pack.name, occupied(ask(13), pack), pencils=True) >= 6


def test_what_is_out_of_service_is_known():
    for row in out_of_service():
        assert row.kit_type in types()
        assert not row.tag or tags()[row.tag] == row.kit_type
        assert row.quantity <= capacity(row.kit_type)
    assert any(row.until_day is None for row in out_of_service())
    assert any(row.until_day and not row.tag for row in out_of_service())


# --- nothing left behind


def test_every_file_is_told_of_in_the_readme():
    told = content("README.md").decode()
    for path in FIXTURES.rglob("*"):
        if path.is_file() and path.name != "README.md":
            assert f"`{path.name}`" in told, path.name
