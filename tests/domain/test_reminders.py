"""Reminders, derived from facts: what is told, when, to whom, and under which key."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.custody import Custody, OutOfService
from crossload.domain.hours import WEEKDAYS, read_hours
from crossload.domain.instants import format_instant, parse_instant
from crossload.domain.kit import KitType, Tracking
from crossload.domain.reminders import (
    Facts,
    Kind,
    Level,
    Severity,
    Stage,
    Starting,
    Timing,
    To,
    UnitTimes,
    derive,
    next_due,
    overtaken,
)
from crossload.domain.wakefulness import Habits, house_awake, unit_awake
from crossload.domain.window import FOREVER, Window
from crossload.domain.zones import load_zone

LONDON = load_zone("Europe/London")
HOUSE = house_awake(read_hours({"week": {d: [["09:00", "18:00"]] for d in WEEKDAYS[:5]}}, LONDON))
PACK, ARM, TAPE, COVER = 1, 2, 3, 4
KIT = {
    PACK: KitType(PACK, "Pack", "pack", Tracking.SERIAL, rechargeable=True),
    ARM: KitType(ARM, "Arm", "arm", Tracking.COUNT),
    TAPE: KitType(TAPE, "Tape", "tape", Tracking.CONSUMABLE, reorder_level=20),
    COVER: KitType(COVER, "Cover", "cover", Tracking.COUNT),
}
MAIN, SECOND = 11, 12
LATER = parse_instant("2027-06-01T00:00:00Z")
CALL, WRAP = "2026-11-26T07:00:00Z", "2026-11-26T18:00:00Z"


def at(text):
    return None if text is None else parse_instant(text)


def utc(instant):
    return format_instant(instant, None)


def a_unit(*days):
    windows = [Window(at(call), at(wrap)) for call, wrap in days]
    return UnitTimes(unit_awake(windows, LONDON), [window.start for window in windows])


BY_DAY = a_unit((CALL, WRAP), ("2026-11-27T07:00:00Z", "2026-11-27T18:00:00Z"))
BY_NIGHT = a_unit(("2026-11-26T17:00:00Z", "2026-11-27T04:00:00Z"))


def out(due=WRAP, *, kit=PACK, quantity=1, unit=MAIN, since="2026-11-25T18:00:00Z", **more):
    for name in ("promised_at", "back_at"):
        more[name] = at(more.get(name))
    return Custody(more.pop("id", 1), kit, quantity, unit, at(since), at(due), **more)


def facts(*custodies, units=None, **more):
    units = {MAIN: BY_DAY, SECOND: BY_NIGHT} if units is None else units
    return Facts(more.pop("zone", LONDON), HOUSE, KIT, units, custodies, **more)


def told(reminders, kind):
    """Stage and due of one kind, in order."""
    return [(r.key.stage, utc(r.due_at)) for r in reminders if r.key.kind is kind]


def the(kind, world, timing=None):
    found = [r for r in derive(world, LATER, timing or Timing()) if r.key.kind is kind]
    assert len(found) == 1
    return found[0]


def test_kit_out_is_said_ahead_when_due_when_late_and_then_to_the_house():
    found = derive(facts(out("2026-11-26T12:00:00Z", kit=ARM)), LATER)
    assert [(r.key.stage, utc(r.due_at), r.to, r.severity) for r in found] == [
        (Stage.AHEAD, "2026-11-26T10:00:00Z", To.UNIT, Severity.INFO),
        (Stage.DUE, "2026-11-26T12:00:00Z", To.UNIT, Severity.SOON),
        (Stage.LATE, "2026-11-26T13:00:00Z", To.UNIT, Severity.LATE),
        (Stage.ESCALATED, "2026-11-26T16:00:00Z", To.HOUSE, Severity.LATE),
    ]
    assert {str(r.key) for r in found} == {
        f"return_due/unit:11/2026-11-26T12:00:00Z/{stage}"
        for stage in ("ahead", "due", "late", "escalated")
    }
    assert {r.unit for r in found} == {MAIN}


def test_a_pool_sets_its_own_times():
    timing = Timing(ahead_s=3600, late_s=600, escalate_s=1200)
    found = derive(facts(out("2026-11-26T12:00:00Z", kit=ARM)), LATER, timing)
    assert [utc(r.due_at)[11:16] for r in found] == ["11:00", "12:00", "12:10", "12:20"]


def test_late_and_escalated_may_come_together():
    assert Timing(late_s=600, escalate_s=600).late_s == 600


@pytest.mark.parametrize("times", [{"late_s": -1}, {"late_s": 7200, "escalate_s": 3600}])
def test_times_that_cannot_be_are_refused(times):
    with pytest.raises(ValueError, match=r"not negative|called late before"):
        Timing(**times)


def test_what_is_due_at_night_is_told_to_a_day_unit_before_and_after_and_to_a_night_unit_at_once():
    due = "2026-11-27T03:00:00Z"
    by_day = told(derive(facts(out(due, kit=ARM)), LATER), Kind.RETURN_DUE)
    assert by_day == [
        (Stage.AHEAD, "2026-11-26T18:59:59Z"),
        (Stage.DUE, "2026-11-27T06:00:00Z"),
        (Stage.LATE, "2026-11-27T06:00:00Z"),
        (Stage.ESCALATED, "2026-11-27T09:00:00Z"),
    ]
    by_night = told(derive(facts(out(due, kit=ARM, unit=SECOND)), LATER), Kind.RETURN_DUE)
    assert by_night[:3] == [
        (Stage.AHEAD, "2026-11-27T01:00:00Z"),
        (Stage.DUE, "2026-11-27T03:00:00Z"),
        (Stage.LATE, "2026-11-27T04:00:00Z"),
    ]


def test_what_is_with_a_listener_or_with_costume_is_told_to_the_units_assistant():
    found = derive(facts(out(kit=ARM, person="director", unit=SECOND)), LATER)
    assert [(r.to, r.unit) for r in found][:3] == [(To.UNIT, SECOND)] * 3


def test_a_unit_of_which_nothing_is_known_has_the_houses_quiet_hours():
    found = derive(facts(out("2026-11-28T12:00:00Z", kit=ARM), units={}), LATER)
    assert told(found, Kind.RETURN_DUE)[1] == (Stage.DUE, "2026-11-30T09:00:00Z")


def test_kit_of_one_booking_due_together_is_one_reminder_with_quantities_and_tags():
    world = facts(
        out(item=1, booking=5, id=1),
        out(item=2, booking=5, id=2),
        out(kit=ARM, quantity=3, booking=5, id=3),
        out(item=9, booking=6, id=4),
        out(item=8, id=5),
        tags={1: "K7PK-3", 2: "A336-F", 9: "A339-9"},
    )
    found = [r for r in derive(world, LATER) if r.key.stage is Stage.LATE]
    assert [(r.booking, r.kit, r.tags) for r in sorted(found, key=lambda r: r.key)] == [
        (None, ((PACK, 1),), ()),
        (5, ((PACK, 2), (ARM, 3)), ("A336-F", "K7PK-3")),
        (6, ((PACK, 1),), ("A339-9",)),
    ]


def test_kit_back_and_consumables_and_kit_out_for_good_are_not_reminded_of():
    world = facts(
        out(kit=ARM, back_at="2026-11-26T12:00:00Z"),
        out(kit=TAPE),
        replace(out(kit=ARM), due_at=FOREVER),
        replace(out(), due_at=FOREVER),
    )
    assert derive(world, FOREVER + 10 * 86_400) == []


def test_what_is_due_as_the_unit_wakes_is_said_ahead_the_evening_before():
    found = derive(facts(out("2026-11-28T08:00:00Z", kit=ARM)), LATER)
    assert told(found, Kind.RETURN_DUE)[:2] == [
        (Stage.AHEAD, "2026-11-27T18:59:59Z"),
        (Stage.DUE, "2026-11-28T08:00:00Z"),
    ]


def test_kit_that_went_out_within_the_lead_is_not_said_ahead():
    for since, stages in (("2026-11-26T10:00:00Z", 4), ("2026-11-26T10:00:01Z", 3)):
        assert (
            len(derive(facts(out("2026-11-26T12:00:00Z", kit=ARM, since=since)), LATER)) == stages
        )


@pytest.mark.parametrize(
    ("promised", "cause"),
    [
        ("2026-11-27T12:00:00Z", "2026-11-27T12:00:00Z"),
        ("2026-11-26T12:00:00Z", WRAP),
        (None, WRAP),
    ],
)
def test_a_later_promise_counts_instead_of_the_due(promised, cause):
    found = derive(facts(out(kit=ARM, promised_at=promised)), LATER)
    assert {r.key.cause for r in found} == {cause}
    assert {utc(r.at) for r in found} == {cause}


def test_charging_is_one_reminder_a_unit_and_day_as_soon_as_kit_is_back():
    world = facts(
        out(id=1),
        out(id=2, quantity=2, back_at="2026-11-26T15:00:00Z"),
        out(id=3, kit=ARM),
        out(id=4, unit=SECOND, due="2026-11-27T04:00:00Z"),
        out(id=5, due="2026-11-27T18:00:00Z"),
    )
    found = [r for r in derive(world, LATER) if r.key.kind is Kind.CHARGE]
    assert [(str(r.key), utc(r.due_at), r.kit, r.unit) for r in found] == [
        ("charge/unit:11/2026-11-26/due", "2026-11-26T15:00:00Z", ((PACK, 3),), MAIN),
        ("charge/unit:12/2026-11-27/due", "2026-11-27T04:00:00Z", ((PACK, 1),), SECOND),
        ("charge/unit:11/2026-11-27/due", "2026-11-27T18:00:00Z", ((PACK, 1),), MAIN),
    ]
    assert {r.to for r in found} == {To.UNIT}


def test_kit_back_after_the_units_bedtime_is_told_before_it_when_the_next_call_is_early():
    # Back at 23:00, call at 07:00: on waking at 06:00 it would be too late to charge for 4 hours.
    assert (
        utc(the(Kind.CHARGE, facts(out("2026-11-26T23:00:00Z"))).due_at) == "2026-11-26T18:59:59Z"
    )
    # The day after has no call: on waking is soon enough.
    assert (
        utc(the(Kind.CHARGE, facts(out("2026-11-27T23:00:00Z"))).due_at) == "2026-11-28T08:00:00Z"
    )


def test_the_next_call_of_several_counts():
    early = the(Kind.CHARGE, facts(out("2026-11-25T23:00:00Z")))
    assert utc(early.due_at) == "2026-11-25T19:59:59Z"


@pytest.mark.parametrize(
    ("lead_s", "told_at"),
    [(4 * 3600, "2026-11-27T03:00:00Z"), (4 * 3600 - 1, "2026-11-26T23:59:59Z")],
)
def test_four_hours_before_the_call_is_soon_enough_to_charge(lead_s, told_at):
    shoots = [
        Window(at("2026-11-26T12:00:00Z"), at("2026-11-26T23:00:00Z")),
        Window(at("2026-11-27T07:00:00Z"), at("2026-11-27T18:00:00Z")),
    ]
    awake = unit_awake(shoots, LONDON, Habits(lead_s=lead_s))
    units = {MAIN: UnitTimes(awake, [shoot.start for shoot in shoots])}
    assert utc(the(Kind.CHARGE, facts(out("2026-11-27T01:00:00Z"), units=units)).due_at) == told_at


def test_kit_back_too_late_to_be_charged_in_time_is_told_at_once():
    found = the(
        Kind.CHARGE, facts(out("2026-11-26T18:30:00Z", unit=SECOND)), Timing(charge_s=90_000)
    )
    assert utc(found.due_at) == "2026-11-26T18:30:00Z"
    soon = the(Kind.CHARGE, facts(out("2026-11-26T16:30:00Z", unit=SECOND)))
    assert utc(soon.due_at) == "2026-11-26T16:30:00Z"


@pytest.mark.parametrize(
    ("zone", "due", "day"),
    [
        # IANA tz rules EU: 23:30Z is already the 30th at summer time, still the 29th a day later
        # in winter; New York (rules US) is a day behind.
        ("Europe/London", "2026-03-28T23:30:00Z", "2026-03-28"),
        ("Europe/London", "2026-03-29T23:30:00Z", "2026-03-30"),
        ("Europe/London", "2026-10-24T23:30:00Z", "2026-10-25"),
        ("Europe/London", "2026-10-25T23:30:00Z", "2026-10-25"),
        ("America/New_York", "2026-11-01T03:59:00Z", "2026-10-31"),
        ("America/New_York", "2026-11-02T04:59:00Z", "2026-11-01"),
    ],
)
def test_a_charging_day_is_a_local_day_over_both_changes(zone, due, day):
    world = facts(out(due, since="2026-01-01T00:00:00Z"), zone=load_zone(zone), units={})
    assert the(Kind.CHARGE, world).key.cause == day


@pytest.mark.parametrize(
    ("due", "ahead", "on_waking"),
    [
        # IANA tz rules EU: a free day's 08:00 is 08:00Z on 2026-03-28 and 2026-10-25, 07:00Z on
        # 2026-03-29 and 2026-10-24; 20:00 the day before is 20:00Z or 19:00Z.
        ("2026-03-28T04:00:00Z", "2026-03-27T19:59:59Z", "2026-03-28T08:00:00Z"),
        ("2026-03-29T04:00:00Z", "2026-03-28T19:59:59Z", "2026-03-29T07:00:00Z"),
        ("2026-10-24T04:00:00Z", "2026-10-23T18:59:59Z", "2026-10-24T07:00:00Z"),
        ("2026-10-25T04:00:00Z", "2026-10-24T18:59:59Z", "2026-10-25T08:00:00Z"),
    ],
)
def test_quiet_hours_follow_the_local_clock_over_both_changes(due, ahead, on_waking):
    world = facts(out(due, kit=ARM, since="2026-01-01T00:00:00Z"), units={MAIN: a_unit()})
    assert told(derive(world, LATER), Kind.RETURN_DUE)[:2] == [
        (Stage.AHEAD, ahead),
        (Stage.DUE, on_waking),
    ]


def starting(start, *, prep_s=0, **kit):
    return facts(starting=[Starting(5, MAIN, at(start), kit.get("kit", {PACK: 4}), prep_s)])


@pytest.mark.parametrize(
    ("start", "due"),
    [
        # Collected the afternoon before: common practice, no published source.
        pytest.param("2026-11-26T07:00:00Z", "2026-11-25T13:00:00Z", id="a morning call"),
        pytest.param("2026-11-26T18:00:00Z", "2026-11-26T09:00:00Z", id="a night: that morning"),
        pytest.param("2026-11-30T07:00:00Z", "2026-11-27T17:59:59Z", id="Monday: Friday's last"),
        pytest.param("2026-11-30T09:00:00Z", "2026-11-27T17:59:59Z", id="as the house opens"),
        pytest.param("2026-11-30T09:30:00Z", "2026-11-30T09:00:00Z", id="half an hour after"),
        pytest.param("2026-03-30T06:00:00Z", "2026-03-27T17:59:59Z", id="over the spring change"),
        pytest.param("2026-10-26T07:00:00Z", "2026-10-23T16:59:59Z", id="over the autumn change"),
    ],
)
def test_a_booking_is_prepared_in_opening_hours_before_it_starts(start, due):
    found = the(Kind.PREPARE, starting(start))
    assert utc(found.due_at) == due
    assert str(found.key) == f"prepare/booking:5/{start}/due"
    assert (found.to, found.unit, found.booking, found.kit) == (To.HOUSE, MAIN, 5, ((PACK, 4),))


def test_kit_that_takes_long_to_prepare_is_begun_in_time():
    found = the(Kind.PREPARE, starting("2026-11-26T12:00:00Z", prep_s=86_400))
    assert utc(found.due_at) == "2026-11-25T12:00:00Z"


@pytest.mark.parametrize("kit", [{}, {PACK: 0}])
def test_a_booking_with_nothing_left_to_hand_out_is_not_prepared(kit):
    assert derive(starting("2026-11-26T07:00:00Z", kit=kit), LATER) == []


@pytest.mark.parametrize(
    ("start", "end", "due"),
    [
        ("2026-11-20T09:00:00Z", "2026-11-26T12:00:00Z", "2026-11-25T12:00:00Z"),
        ("2026-11-26T10:00:00Z", "2026-11-26T12:00:00Z", "2026-11-26T10:00:00Z"),
        ("2026-11-20T09:00:00Z", "2026-11-29T12:00:00Z", "2026-11-27T17:59:59Z"),
    ],
)
def test_a_service_that_ends_is_said_a_day_ahead_while_the_house_is_open(start, end, due):
    service = OutOfService(7, PACK, 1, at(start), at(end), item=1)
    found = the(Kind.SERVICE_ENDING, facts(services=[service], tags={1: "K7PK-3"}))
    assert (utc(found.due_at), found.tags) == (due, ("K7PK-3",))
    assert str(found.key) == f"service_ending/out_of_service:7/{end}/due"


def test_a_service_until_further_notice_is_not_said_to_end():
    service = OutOfService(7, PACK, 1, at(CALL), FOREVER)
    assert derive(facts(services=[service]), FOREVER) == []


@pytest.mark.parametrize(
    ("kit", "left", "said"),
    [(TAPE, 20, False), (TAPE, 19, True), (TAPE, 0, True), (COVER, 0, False)],
)
def test_a_consumable_below_its_level_is_reordered(kit, left, said):
    found = derive(facts(levels=[Level(kit, left, at("2026-11-28T12:00:00Z"))]), LATER)
    key, due = "reorder/kit_type:3/2026-11-28T12:00:00Z/due", "2026-11-30T09:00:00Z"
    expected = [(key, due, To.HOUSE)] if said else []
    assert [(str(r.key), utc(r.due_at), r.to) for r in found] == expected


def test_a_reorder_says_how_much_is_left():
    fell = at("2026-11-27T12:00:00Z")
    assert the(Kind.REORDER, facts(levels=[Level(TAPE, 7, fell)])).kit == ((TAPE, 7),)


def test_what_is_due_after_the_horizon_is_left_out_and_at_it_is_not():
    world, due = facts(out("2026-11-26T12:00:00Z", kit=ARM)), at("2026-11-26T12:00:00Z")
    assert [r.key.stage for r in derive(world, due)] == [Stage.AHEAD, Stage.DUE]
    assert [r.key.stage for r in derive(world, due - 1)] == [Stage.AHEAD]


def test_the_next_due_is_the_first_after_now():
    found = derive(facts(out("2026-11-26T12:00:00Z", kit=ARM)), LATER)
    due = at("2026-11-26T12:00:00Z")
    assert next_due(found, due - 1) == due
    assert next_due(found, due) == due + 3600
    assert next_due(found, due + 4 * 3600) is None
    assert next_due([], due) is None


def test_a_late_scheduler_tells_only_the_furthest_stage_of_each_cause():
    world = facts(out("2026-11-26T12:00:00Z", kit=ARM), out("2026-11-26T13:30:00Z", kit=ARM, id=2))
    found = derive(world, LATER)
    passed = overtaken(found, at("2026-11-26T14:00:00Z"))
    left = [r for r in found if r.due_at <= at("2026-11-26T14:00:00Z") and r.key not in passed]
    assert [(utc(r.at), r.key.stage) for r in left] == [
        ("2026-11-26T12:00:00Z", Stage.LATE),
        ("2026-11-26T13:30:00Z", Stage.DUE),
    ]
    assert overtaken(found, at("2026-11-26T10:00:00Z")) == set()
    as_due_comes = overtaken(found, at("2026-11-26T12:00:00Z"))
    assert (Stage.AHEAD, "2026-11-26T12:00:00Z") in {(k.stage, k.cause) for k in as_due_comes}


START = at("2026-10-20T00:00:00Z")
moments = st.integers(START, START + 10 * 86_400)


@st.composite
def worlds(draw):
    """Kit out, kit back and bookings over the October change, for a day and a night unit."""
    custodies = [
        Custody(
            n,
            draw(st.sampled_from((PACK, ARM, TAPE))),
            draw(st.integers(1, 4)),
            draw(st.sampled_from((MAIN, SECOND, 13))),
            draw(moments) - 10 * 86_400,
            draw(moments),
            booking=draw(st.none() | st.integers(1, 3)),
            promised_at=draw(st.none() | moments),
            back_at=draw(st.none() | moments),
        )
        for n in range(draw(st.integers(0, 8)))
    ]
    bookings = [Starting(20 + n, MAIN, draw(moments), {PACK: 1}) for n in range(2)]
    services = [OutOfService(30, PACK, 1, START - 86_400, draw(moments))]
    shoots = [
        Window(START + n * 86_400 + 6 * 3600, START + n * 86_400 + 17 * 3600) for n in range(7)
    ]
    nights = [Window(shoot.start + 11 * 3600, shoot.end + 11 * 3600) for shoot in shoots]
    units = {
        unit: UnitTimes(unit_awake(windows, LONDON), [window.start for window in windows])
        for unit, windows in ((MAIN, shoots), (SECOND, nights))
    }
    return Facts(LONDON, HOUSE, KIT, units, custodies, bookings, services)


@given(worlds(), moments, moments)
def test_each_stage_appears_once_and_stays_the_same_whenever_it_is_derived(world, now, later):
    now, later = sorted((now, later))
    earlier_list, later_list = derive(world, now), derive(world, later)
    keys = [str(r.key) for r in later_list]
    assert len(set(keys)) == len(keys)
    assert [r for r in later_list if r.due_at <= now] == earlier_list


@given(worlds(), st.integers(0, 4 * 3600), st.integers(0, 3600))
def test_settings_move_what_is_due_but_never_a_key(world, more_s, less_s):
    usual, other = Timing(), Timing(late_s=less_s, escalate_s=3600 + more_s, prepare_s=more_s)
    keys = {r.key for r in derive(world, FOREVER, usual)}
    assert {r.key for r in derive(world, FOREVER, other)} == keys


@given(worlds())
def test_whoever_is_told_is_awake_and_stages_come_in_order(world):
    causes = {}
    for reminder in derive(world, FOREVER):
        units = world.units if reminder.to is To.UNIT else {}
        awake = units[reminder.unit].awake if reminder.unit in units else HOUSE
        assert awake.at(reminder.due_at)
        key = reminder.key
        causes.setdefault((key.kind, key.subject, key.cause), []).append(reminder)
    for stages in causes.values():
        dues = [r.due_at for r in sorted(stages, key=lambda r: tuple(Stage).index(r.key.stage))]
        assert dues[:3] == sorted(dues[:3])
