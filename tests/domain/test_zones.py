"""Local days and wall times. Transitions: IANA tz rules, tzdata 2026.6 (2026f), as published."""

import zoneinfo
from datetime import UTC, date, datetime, time, timedelta
from importlib import metadata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.instants import format_instant, parse_instant
from crossload.domain.window import EARLIEST, FOREVER
from crossload.domain.zones import (
    day_start,
    day_window,
    days_between,
    load_zone,
    local_day,
    settled_wall,
    wall_to_instant,
    zone_names,
)

LONDON = load_zone("Europe/London")
ODD = [
    "Europe/London",
    "America/New_York",
    "America/Sao_Paulo",
    "America/Havana",
    "America/St_Johns",
    "Asia/Beirut",
    "Australia/Lord_Howe",
    "Antarctica/Troll",
    "Pacific/Apia",
    "Africa/Casablanca",
]


def at(text):
    return parse_instant(text)


def utc(instant):
    return format_instant(instant, None)


@pytest.mark.parametrize(
    ("zone", "change", "offsets_h"),
    [
        # IANA tz rules EU, US, AN, NZ for 2026 and 2027.
        ("Europe/London", "2026-03-29T01:00:00Z", (0, 1)),
        ("Europe/London", "2026-10-25T01:00:00Z", (1, 0)),
        ("Europe/Paris", "2027-03-28T01:00:00Z", (1, 2)),
        ("Europe/Paris", "2027-10-31T01:00:00Z", (2, 1)),
        ("America/New_York", "2026-03-08T07:00:00Z", (-5, -4)),
        ("America/New_York", "2026-11-01T06:00:00Z", (-4, -5)),
        ("America/New_York", "2027-03-14T07:00:00Z", (-5, -4)),
        ("America/New_York", "2027-11-07T06:00:00Z", (-4, -5)),
        ("America/Chicago", "2026-03-08T08:00:00Z", (-6, -5)),
        ("America/Los_Angeles", "2026-03-08T10:00:00Z", (-8, -7)),
        ("America/Los_Angeles", "2026-11-01T09:00:00Z", (-7, -8)),
        ("Australia/Sydney", "2026-04-04T16:00:00Z", (11, 10)),
        ("Australia/Sydney", "2026-10-03T16:00:00Z", (10, 11)),
        ("Pacific/Auckland", "2026-04-04T14:00:00Z", (13, 12)),
        ("Pacific/Auckland", "2026-09-26T14:00:00Z", (12, 13)),
    ],
)
def test_clocks_change_when_the_published_rules_say(zone, change, offsets_h):
    offsets = [
        datetime.fromtimestamp(instant, load_zone(zone)).utcoffset() / timedelta(hours=1)
        for instant in (at(change) - 1, at(change))
    ]
    assert tuple(offsets) == offsets_h


@pytest.mark.parametrize(
    ("zone", "instant"),
    [
        # IANA NEWS 2026b and 2026c: 09:00 on 2026-12-01. A system copy of 2025b gives 17:00Z,
        # 16:00Z and 08:00Z.
        ("America/Vancouver", "2026-12-01T16:00:00Z"),
        ("America/Edmonton", "2026-12-01T15:00:00Z"),
        ("Africa/Casablanca", "2026-12-01T09:00:00Z"),
    ],
)
def test_rules_are_as_new_as_the_package(zone, instant):
    found = wall_to_instant(date(2026, 12, 1), time(9), load_zone(zone), edge="start")
    assert utc(found) == instant
    assert metadata.version("tzdata") >= "2026.6"


def test_the_machines_own_copy_is_never_read(tmp_path):
    wrong = tmp_path / "America" / "Vancouver"
    wrong.parent.mkdir()
    wrong.write_bytes(b"not a zone")
    zoneinfo.reset_tzpath([str(tmp_path)])
    try:
        load_zone.cache_clear()
        moment = datetime(2026, 12, 1, 9, tzinfo=load_zone("America/Vancouver"))
        assert moment.utcoffset() == timedelta(hours=-7)
    finally:
        zoneinfo.reset_tzpath()


def test_every_name_loads_and_gives_the_same_zone_again():
    assert len(zone_names()) > 400
    for name in zone_names():
        assert load_zone(name) is load_zone(name)


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("Eurpe/London", "Europe/London"),
        ("london", "Europe/London"),
        ("New York", "America/New_York"),
        ("xyzzy", "such as Europe/London"),
        ("../../etc/passwd", "not a time zone"),
        ("Europe", "not a time zone"),
        ("", "not a time zone"),
        ("a\ud800" * 10_000, "not a time zone"),
    ],
)
def test_an_unknown_zone_is_refused_with_close_names(name, hint):
    with pytest.raises(ValueError, match="not a time zone") as refused:
        load_zone(name)
    assert hint in str(refused.value)
    assert len(str(refused.value)) < 250


@pytest.mark.parametrize(
    ("zone", "day", "start", "hours"),
    [
        ("Europe/London", "2026-03-28", "2026-03-28T00:00:00Z", 24),
        ("Europe/London", "2026-03-29", "2026-03-29T00:00:00Z", 23),
        ("Europe/London", "2026-10-25", "2026-10-24T23:00:00Z", 25),
        ("America/New_York", "2026-03-08", "2026-03-08T05:00:00Z", 23),
        ("America/New_York", "2026-11-01", "2026-11-01T04:00:00Z", 25),
        # IANA tz rules LH: half an hour, 2026-10-04 02:00 to 02:30 and back on 2026-04-05.
        ("Australia/Lord_Howe", "2026-10-04", "2026-10-03T13:30:00Z", 23.5),
        ("Australia/Lord_Howe", "2026-04-05", "2026-04-04T13:00:00Z", 24.5),
        # IANA tz rules Lebanon: the clocks go on at 00:00, and back from 00:00 to 23:00.
        ("Asia/Beirut", "2026-03-29", "2026-03-28T22:00:00Z", 23),
        ("Asia/Beirut", "2026-10-24", "2026-10-23T21:00:00Z", 25),
        # IANA tz rules Cuba: 01:00 goes back to 00:00, which comes twice.
        ("America/Havana", "2024-11-03", "2024-11-03T04:00:00Z", 25),
    ],
)
def test_a_day_runs_from_its_first_instant_to_that_of_the_next(zone, day, start, hours):
    window = day_window(date.fromisoformat(day), load_zone(zone))
    assert utc(window.start) == start
    assert window.length_s == hours * 3600


def test_a_day_without_midnight_begins_at_one():
    window = day_window(date(2026, 3, 29), load_zone("Asia/Beirut"))
    first = datetime.fromtimestamp(window.start, load_zone("Asia/Beirut"))
    assert (first.date(), first.time()) == (date(2026, 3, 29), time(1))


def test_a_day_whose_midnight_lies_within_a_gap_begins_at_the_gaps_end():
    # IANA tz, northamerica: Toronto went from 23:30 on 1919-03-30 to 00:30 on the 31st.
    assert utc(day_start(date(1919, 3, 31), load_zone("America/Toronto"))) == "1919-03-31T04:30:00Z"


def test_a_date_that_a_zone_left_out_is_refused_and_not_listed():
    # IANA tz, australasia: Samoa went from 2011-12-29 straight to 2011-12-31.
    apia = load_zone("Pacific/Apia")
    with pytest.raises(ValueError, match="2011-12-30 does not exist in Pacific/Apia"):
        day_window(date(2011, 12, 30), apia)
    days = days_between(date(2011, 12, 29), date(2011, 12, 31), apia)
    assert days == [date(2011, 12, 29), date(2011, 12, 31)]
    assert day_window(days[0], apia).end == day_window(days[1], apia).start


@pytest.mark.parametrize("name", ODD)
def test_days_lie_end_to_end_and_hold_their_own_instants(name):
    zone = load_zone(name)
    for year in (2000, 2006, 2011, 2026):
        days = days_between(date(year, 1, 1), date(year + 1, 1, 1), zone)
        windows = [day_window(day, zone) for day in days]
        for day, window, following in zip(days, windows, windows[1:], strict=False):
            assert window.end == following.start
            assert local_day(window.start, zone) == day
            assert local_day(window.end - 1, zone) == day


@given(st.integers(EARLIEST, FOREVER), st.sampled_from(ODD))
def test_an_instant_is_in_the_window_of_its_local_day(instant, name):
    window = day_window(local_day(instant, load_zone(name)), load_zone(name))
    assert window.start <= instant < window.end


def test_an_hour_that_comes_back_after_midnight_belongs_to_the_day_that_had_begun():
    # IANA tz rules StJohns: until 2011 the clocks went back at 00:01, to 23:01 of the day before.
    zone = load_zone("America/St_Johns")
    start = day_start(date(2006, 10, 29), zone)
    for minutes in (0, 1, 59, 61):
        assert local_day(start + minutes * 60, zone) == date(2006, 10, 29)
    assert local_day(start - 1, zone) == date(2006, 10, 28)


def test_days_are_listed_with_the_last_and_end_where_the_next_begins():
    # RFC 5545 section 3.6.1: DTSTART 20070628 with DTEND 20070709, which is not included, is the
    # event of the days from 28 June to 8 July.
    days = days_between(date(2007, 6, 28), date(2007, 7, 8), LONDON)
    assert len(days) == 11
    assert day_window(days[-1], LONDON).end == day_start(date(2007, 7, 9), LONDON)


def test_no_day_lies_between_a_day_and_an_earlier_one():
    assert days_between(date(2026, 11, 26), date(2026, 11, 26), LONDON) == [date(2026, 11, 26)]
    assert days_between(date(2026, 11, 27), date(2026, 11, 26), LONDON) == []


@pytest.mark.parametrize(
    ("day", "wall", "edge", "instant"),
    [
        # PEP 495 on IANA tz rules EU: 01:30 comes at 00:30Z (fold 0) and at 01:30Z (fold 1).
        ("2026-10-25", "01:30", "start", "2026-10-25T00:30:00Z"),
        ("2026-10-25", "01:30", "end", "2026-10-25T01:30:00Z"),
        ("2026-10-25", "00:59", "end", "2026-10-24T23:59:00Z"),
        ("2026-10-25", "01:00", "start", "2026-10-25T00:00:00Z"),
        ("2026-10-25", "01:00", "end", "2026-10-25T01:00:00Z"),
        ("2026-10-25", "02:00", "start", "2026-10-25T02:00:00Z"),
        ("2026-03-29", "00:59", "end", "2026-03-29T00:59:00Z"),
        ("2026-03-29", "02:00", "start", "2026-03-29T01:00:00Z"),
        # RFC 5545 section 3.3.6: days are nominal. 18:00 and a day is 18:00, 25 h or 23 h later.
        ("2026-10-24", "18:00", "start", "2026-10-24T17:00:00Z"),
        ("2026-10-25", "18:00", "start", "2026-10-25T18:00:00Z"),
        ("2026-03-28", "18:00", "start", "2026-03-28T18:00:00Z"),
        ("2026-03-29", "18:00", "start", "2026-03-29T17:00:00Z"),
    ],
)
def test_a_wall_time_is_an_instant_and_a_fold_widens(day, wall, edge, instant):
    found = wall_to_instant(date.fromisoformat(day), time.fromisoformat(wall), LONDON, edge=edge)
    assert utc(found) == instant


def test_a_daily_wall_time_follows_the_clocks():
    # RFC 5545 section 3.8.5.3: daily 09:00 New York, 1997-09-02 until 1997-12-24T00:00Z is 113
    # times, 54 of them in summer time, which ends on 26 October. Wall times before 2000 are read
    # through `settled_wall`, which has no limits.
    new_york = load_zone("America/New_York")
    days = days_between(date(1997, 9, 2), date(1997, 12, 23), new_york)
    found = [settled_wall(day, time(9), new_york, edge="start") for day in days]
    hours = [datetime.fromtimestamp(instant, UTC).hour for instant in found]
    assert (len(hours), hours.count(13), hours.count(14)) == (113, 54, 59)
    assert hours[days.index(date(1997, 10, 25))] == 13
    assert hours[days.index(date(1997, 10, 26))] == 14


@pytest.mark.parametrize(
    ("zone", "day", "wall", "gap"),
    [
        ("Europe/London", "2026-03-29", "01:30", "the clocks go from 01:00 to 02:00"),
        ("Europe/London", "2026-03-29", "01:00", "01:00 does not exist on 2026-03-29"),
        ("Europe/London", "2026-03-29", "01:59:59", "01:59:59 does not exist"),
        ("Australia/Lord_Howe", "2026-10-04", "02:15", "from 02:00 to 02:30"),
        ("Asia/Beirut", "2026-03-29", "00:00", "from 00:00 to 01:00"),
        ("Pacific/Apia", "2011-12-30", "12:00", "from 00:00 to 2011-12-31 00:00"),
    ],
)
@pytest.mark.parametrize("edge", ["start", "end"])
def test_a_wall_time_in_a_gap_is_refused_and_the_gap_named(zone, day, wall, gap, edge):
    with pytest.raises(ValueError, match="does not exist") as refused:
        wall_to_instant(
            date.fromisoformat(day), time.fromisoformat(wall), load_zone(zone), edge=edge
        )
    assert gap in str(refused.value)


def test_a_settled_time_that_comes_twice_widens_as_well():
    day, wall = date(2026, 10, 25), time(1, 30)
    assert utc(settled_wall(day, wall, LONDON, edge="start")) == "2026-10-25T00:30:00Z"
    assert utc(settled_wall(day, wall, LONDON, edge="end")) == "2026-10-25T01:30:00Z"


@pytest.mark.parametrize("edge", ["start", "end"])
def test_a_settled_time_in_a_gap_is_the_end_of_the_gap(edge):
    found = settled_wall(date(2026, 3, 29), time(1, 30), LONDON, edge=edge)
    assert utc(found) == "2026-03-29T01:00:00Z"


@pytest.mark.parametrize(
    ("day", "zone"), [(date(2000, 1, 1), "Asia/Tokyo"), (date(2100, 1, 1), "America/New_York")]
)
def test_a_wall_time_outside_the_years_kept_is_refused(day, zone):
    with pytest.raises(ValueError, match="outside 2000 to 2100"):
        wall_to_instant(day, time(0), load_zone(zone), edge="start")


def test_the_first_and_the_last_instant_kept_have_a_wall_time():
    assert wall_to_instant(date(2000, 1, 1), time(0), LONDON, edge="start") == EARLIEST
    assert wall_to_instant(date(2100, 1, 1), time(0), LONDON, edge="end") == FOREVER


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-03-28", 23), ("2026-06-01", 24), ("2026-10-24", 25)]
)
def test_noon_to_noon_is_23_24_or_25_hours(day, hours):
    # PEP 495 on IANA tz rules EU.
    first = date.fromisoformat(day)
    noon = wall_to_instant(first, time(12), LONDON, edge="start")
    next_noon = wall_to_instant(first + timedelta(days=1), time(12), LONDON, edge="end")
    assert next_noon - noon == hours * 3600


def test_a_window_of_one_repeated_wall_time_lasts_the_fold():
    day = date(2026, 10, 25)
    start, end = (wall_to_instant(day, time(1, 30), LONDON, edge=edge) for edge in ("start", "end"))
    assert end - start == 3600
