"""Quiet hours: who is awake when, and when somebody is told of what is due."""

from datetime import time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.hours import WEEKDAYS, read_hours
from crossload.domain.instants import format_instant, parse_instant
from crossload.domain.wakefulness import (
    LEAD_S,
    TAIL_S,
    Awake,
    Habits,
    house_awake,
    shift_to_awake,
    unit_awake,
)
from crossload.domain.window import Window
from crossload.domain.zones import day_window, load_zone, local_day

LONDON = load_zone("Europe/London")


def at(text):
    return None if text is None else parse_instant(text)


def span(start, end):
    return Window(at(start), at(end))


def awake_on(known):
    """Somebody who is awake in one window alone."""

    def spans(window):
        start, end = max(known.start, window.start), min(known.end, window.end)
        return [Window(start, end)] if start < end else []

    return Awake(spans)


def a_unit(*days, zone=LONDON, **habits):
    return unit_awake([span(call, wrap) for call, wrap in days], zone, Habits(**habits))


DAYS = a_unit(
    ("2026-11-25T07:00:00Z", "2026-11-25T18:00:00Z"),
    ("2026-11-26T07:00:00Z", "2026-11-26T18:00:00Z"),
)
NIGHTS = a_unit(
    ("2026-11-25T18:00:00Z", "2026-11-26T05:00:00Z"),
    ("2026-11-26T18:00:00Z", "2026-11-27T05:00:00Z"),
)


def test_a_night_unit_is_awake_at_three_and_a_day_unit_is_not():
    three = at("2026-11-26T03:00:00Z")
    assert NIGHTS.at(three)
    assert not DAYS.at(three)


def test_a_night_unit_sleeps_by_day_before_its_next_call():
    assert not NIGHTS.at(at("2026-11-26T10:00:00Z"))
    assert NIGHTS.next(at("2026-11-26T10:00:00Z")) == at("2026-11-26T17:00:00Z")


@pytest.mark.parametrize(
    ("instant", "awake"),
    [
        ("2026-11-25T05:59:59Z", False),
        ("2026-11-25T06:00:00Z", True),
        ("2026-11-25T18:59:59Z", True),
        ("2026-11-25T19:00:00Z", False),
    ],
)
def test_a_unit_is_awake_from_lead_before_call_to_tail_after_wrap(instant, awake):
    assert (LEAD_S, TAIL_S) == (3600, 3600)
    assert DAYS.at(at(instant)) is awake


@pytest.mark.parametrize(
    ("instant", "awake"),
    [
        ("2026-11-28T07:59:59Z", False),
        ("2026-11-28T08:00:00Z", True),
        ("2026-11-28T19:59:59Z", True),
        ("2026-11-28T20:00:00Z", False),
    ],
)
def test_a_unit_without_a_shoot_day_is_awake_from_eight_to_eight(instant, awake):
    assert DAYS.at(at(instant)) is awake


def test_a_free_day_after_a_night_begins_when_the_rest_is_over():
    # 11 hours in a row, Directive 2003/88/EC article 3 (from memory): 05:00 and 11 h is 16:00.
    assert NIGHTS.next(at("2026-11-27T08:00:00Z")) == at("2026-11-27T16:00:00Z")
    assert NIGHTS.next(at("2026-11-28T06:00:00Z")) == at("2026-11-28T08:00:00Z")


def test_a_rest_counts_from_a_wrap_late_on_the_day_after_its_call():
    unit = a_unit(("2026-11-25T23:30:00Z", "2026-11-26T22:30:00Z"))
    assert unit.next(at("2026-11-27T00:00:00Z")) == at("2026-11-27T09:30:00Z")
    assert unit.at(at("2026-11-26T23:15:00Z"))


def test_a_rest_that_lasts_past_the_free_hours_leaves_none():
    unit = a_unit(("2026-11-25T20:00:00Z", "2026-11-26T10:00:00Z"), tail_s=0)
    assert unit.next(at("2026-11-26T10:00:00Z")) == at("2026-11-27T08:00:00Z")


def test_a_pool_sets_its_own_habits():
    unit = a_unit(
        ("2026-11-25T07:00:00Z", "2026-11-25T18:00:00Z"),
        lead_s=1800,
        tail_s=600,
        free_from=time(9, 30),
        free_to=time(17),
    )
    assert unit.next(at("2026-11-25T03:00:00Z")) == at("2026-11-25T06:30:00Z")
    assert unit.last_before(at("2026-11-26T03:00:00Z")) == at("2026-11-25T18:09:59Z")
    assert unit.next(at("2026-11-26T03:00:00Z")) == at("2026-11-26T09:30:00Z")


@pytest.mark.parametrize("habits", [{"free_from": time(20)}, {"lead_s": -1}, {"rest_s": -1}])
def test_habits_that_cannot_be_are_refused(habits):
    with pytest.raises(ValueError, match=r"free day|not negative"):
        Habits(**habits)


@pytest.mark.parametrize(
    ("instant", "awake_from"),
    [
        # IANA tz rules EU: 08:00 local is 07:00Z from 2026-03-29, and 08:00Z again from 2026-10-25.
        ("2026-03-28T00:00:00Z", "2026-03-28T08:00:00Z"),
        ("2026-03-29T00:00:00Z", "2026-03-29T07:00:00Z"),
        ("2026-10-24T00:00:00Z", "2026-10-24T07:00:00Z"),
        ("2026-10-25T00:00:00Z", "2026-10-25T08:00:00Z"),
    ],
)
def test_free_hours_follow_the_local_clock_over_both_changes(instant, awake_from):
    assert a_unit().next(at(instant)) == at(awake_from)


def test_free_hours_that_begin_or_end_in_a_fold_are_the_longer():
    # IANA tz rules EU: 01:30 comes at 00:30Z and at 01:30Z on 2026-10-25.
    early, late = a_unit(free_from=time(1, 30)), a_unit(free_from=time(0), free_to=time(1, 30))
    assert early.next(at("2026-10-25T00:00:00Z")) == at("2026-10-25T00:30:00Z")
    assert late.last_before(at("2026-10-25T12:00:00Z")) == at("2026-10-25T01:29:59Z")


def test_a_night_over_a_change_keeps_its_own_instants():
    night = a_unit(("2026-10-24T18:00:00Z", "2026-10-25T05:00:00Z"))
    assert [night.at(at(f"2026-10-25T0{hour}:30:00Z")) for hour in (0, 1, 5, 6)] == [1, 1, 1, 0]


def test_the_house_is_awake_in_its_opening_hours():
    hours = read_hours({"week": {d: [["09:00", "18:00"]] for d in WEEKDAYS[:5]}}, LONDON)
    house = house_awake(hours)
    assert house.next(at("2026-11-27T18:00:00Z")) == at("2026-11-30T09:00:00Z")
    assert house.last_before(at("2026-11-30T07:00:00Z")) == at("2026-11-27T17:59:59Z")


def test_somebody_awake_after_weeks_is_still_found():
    later = awake_on(span("2026-11-01T08:00:00Z", "2026-11-01T20:00:00Z"))
    assert later.next(at("2026-08-20T08:00:00Z")) == at("2026-11-01T08:00:00Z")
    assert later.last_before(at("2027-01-20T08:00:00Z")) == at("2026-11-01T19:59:59Z")
    assert later.next(at("2026-11-01T20:00:00Z")) is None
    assert later.last_before(at("2026-11-01T08:00:00Z")) is None


@pytest.mark.parametrize(
    ("due", "deadline", "told"),
    [
        pytest.param("2026-11-26T12:00:00Z", None, "2026-11-26T12:00:00Z", id="awake: at once"),
        pytest.param("2026-11-26T03:00:00Z", None, "2026-11-26T06:00:00Z", id="asleep: on waking"),
        pytest.param("2026-11-26T19:00:00Z", None, "2026-11-27T08:00:00Z", id="just asleep"),
        pytest.param(
            "2026-11-26T03:00:00Z",
            "2026-11-26T06:00:00Z",
            "2026-11-26T06:00:00Z",
            id="at the deadline",
        ),
        pytest.param(
            "2026-11-26T03:00:00Z",
            "2026-11-26T05:59:59Z",
            "2026-11-25T18:59:59Z",
            id="past the deadline",
        ),
    ],
)
def test_what_is_due_is_told_awake_and_by_the_deadline(due, deadline, told):
    found = shift_to_awake(at(due), at(deadline), DAYS)
    assert format_instant(found, None) == told


def test_a_night_unit_is_told_at_three_at_once():
    three = at("2026-11-26T03:00:00Z")
    assert shift_to_awake(three, None, NIGHTS) == three


@pytest.mark.parametrize("deadline", [None, "2026-11-26T05:00:00Z"])
def test_where_nobody_is_ever_awake_it_is_told_when_it_is_due(deadline):
    due = at("2026-11-26T03:00:00Z")
    assert shift_to_awake(due, at(deadline), Awake(lambda window: [])) == due


WEEK = day_window(local_day(at("2026-10-20T12:00:00Z"), LONDON), LONDON).start


@st.composite
def units(draw):
    """A unit with shoot days and nights over the October change."""
    shoots = []
    for day in range(10):
        if draw(st.booleans()):
            call = WEEK + day * 86_400 + draw(st.integers(8, 40)) * 1800
            shoots.append(Window(call, call + draw(st.integers(4, 28)) * 1800))
    return unit_awake(shoots, LONDON)


@given(units(), st.integers(WEEK, WEEK + 9 * 86_400), st.none() | st.integers(0, 2 * 86_400))
def test_somebody_told_is_awake_and_never_told_past_the_deadline(unit, due, wait_s):
    deadline = None if wait_s is None else due + wait_s
    told = shift_to_awake(due, deadline, unit)
    assert unit.at(told)
    assert deadline is None or told <= deadline
    sleeping = (Window(due, told) if told > due else None) if deadline is None else None
    assert sleeping is None or not unit.spans(sleeping)


@given(units(), st.integers(WEEK, WEEK + 9 * 86_400), st.integers(1, 3 * 86_400))
def test_spans_do_not_depend_on_the_window_asked_for(unit, start, length_s):
    window = Window(start, start + length_s)
    wide = Window(start - 5 * 86_400, start + length_s + 5 * 86_400)
    cut = [
        Window(max(s.start, window.start), min(s.end, window.end))
        for s in unit.spans(wide)
        if s.overlaps(window)
    ]
    assert list(unit.spans(window)) == cut


@given(units())
def test_a_day_without_a_call_never_adds_hours_outside_the_free_ones(unit):
    empty_day = local_day(WEEK + 14 * 86_400, LONDON) + timedelta(days=1)
    spans = unit.spans(day_window(empty_day, LONDON))
    assert [s.length_s for s in spans] == [12 * 3600]
