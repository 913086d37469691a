"""Opening hours, against a slow model that walks minute by minute."""

from datetime import date, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crossload.domain.hours import WEEKDAYS, BadHours, Hours, plain_hours, read_hours
from crossload.domain.instants import format_instant, parse_instant
from crossload.domain.window import EARLIEST, FOREVER, Window
from crossload.domain.zones import load_zone

LONDON = load_zone("Europe/London")
HOUSE = {
    "week": {name: [["09:00", "18:00"]] for name in WEEKDAYS[:5]} | {"sat": [["10:00", "13:00"]]},
    "exceptions": {
        "2026-12-24": [["09:00", "13:00"]],
        "2026-12-25": [],
        "2026-12-26": [],
        "2026-12-28": [],
    },
}
NIGHTS = {"week": {"fri": [["22:00", "02:30"]], "sun": [["00:30", "03:00"]]}}


def at(text):
    return parse_instant(text)


def house(plain=None, zone=LONDON):
    return read_hours(HOUSE if plain is None else plain, zone)


def written(instant, zone=LONDON):
    return format_instant(instant, zone)


def opens_after(hours, instant):
    """The instant itself while the house is open, else when it next opens."""
    return hours.open_spans(Window(instant, instant + 200 * 86_400))[0].start


def open_by_the_wall(plain, instant, zone):
    """Slowly: is the wall time of this instant within an opening of its date or the one before?"""
    local = datetime.fromtimestamp(instant, zone)
    week = plain.get("week", {})
    always = not any(week.values())
    for back in (0, 1):
        day = local.date() - timedelta(days=back)
        usual = [["00:00", "24:00"]] if always else week.get(WEEKDAYS[day.weekday()], [])
        minute = local.hour * 60 + local.minute + back * 1440
        for opens, closes in plain.get("exceptions", {}).get(day.isoformat(), usual):
            first, last = (int(text[:2]) * 60 + int(text[3:]) for text in (opens, closes))
            if first <= minute < (last if last > first else last + 1440):
                return True
    return False


@st.composite
def plains(draw):
    """Hours on the half hour, with nights; the walls around 01:00 to 03:00 stay free of edges.

    A fold widens a stretch, which a wall clock alone cannot tell; those have their own tests.
    """
    stretches = st.sampled_from(
        [
            [],
            [["09:00", "18:00"]],
            [["08:30", "12:00"], ["13:30", "17:00"]],
            [["00:00", "24:00"]],
            [["18:00", "00:30"]],
            [["22:00", "04:00"]],
            [["00:00", "00:30"]],
            [["04:00", "24:00"]],
            [["06:00", "05:30"]],
        ]
    )
    week = {name: draw(stretches) for name in WEEKDAYS}
    first = date(2026, 3, 20) if draw(st.booleans()) else date(2026, 10, 20)
    days = [first + timedelta(days=ahead) for ahead in range(12)]
    dated = st.dictionaries(st.sampled_from(days), stretches, max_size=3)
    exceptions = {day.isoformat(): openings for day, openings in draw(dated).items()}
    start = datetime(first.year, first.month, first.day, tzinfo=LONDON)
    minutes = draw(st.integers(0, 10 * 1440))
    return {"week": week, "exceptions": exceptions}, int(start.timestamp()) + 60 * minutes


@given(plains(), st.integers(0, 12 * 60))
@settings(max_examples=150)
def test_open_time_counts_as_a_walk_minute_by_minute_does(world, minutes):
    plain, instant = world
    walked, left = instant, minutes
    while left:
        left -= open_by_the_wall(plain, walked, LONDON)
        walked += 60
        if walked > instant + 21 * 86_400:
            return
    assert house(plain).add_open_time(instant, minutes * 60) == walked


@given(plains())
@settings(max_examples=150)
def test_spans_cover_just_the_minutes_that_the_wall_clock_calls_open(world):
    plain, instant = world
    window = Window(instant, instant + 3 * 86_400 + 1800)
    spans = house(plain).open_spans(window)
    minutes = range(window.start, window.end, 60)
    expected = {minute for minute in minutes if open_by_the_wall(plain, minute, LONDON)}
    assert {m for span in spans for m in range(span.start, span.end, 60)} == expected
    assert all(a.end < b.start for a, b in pairwise(spans))


@given(plains())
@settings(max_examples=150)
def test_opening_closing_and_asking_agree_with_each_other(world):
    plain, instant = world
    hours = house(plain)
    assert hours.is_open(instant) == open_by_the_wall(plain, instant, LONDON)
    opens, closed = opens_after(hours, instant), hours.closes_at(instant)
    assert opens >= instant and hours.is_open(opens)
    assert (opens == instant) == hours.is_open(instant)
    assert (closed is None) == (opens > instant)
    if closed not in (None, FOREVER):
        assert not hours.is_open(closed) and hours.is_open(closed - 1)
    last = hours.last_open_before(instant)
    assert last <= instant and hours.is_open(last - 1)
    assert last == instant or not hours.open_spans(Window(last, instant))


@given(plains(), st.integers(0, 40 * 3600), st.integers(0, 40 * 3600))
def test_counting_twice_is_counting_the_sum(world, first_s, second_s):
    plain, instant = world
    hours = house(plain)
    twice = hours.add_open_time(hours.add_open_time(instant, first_s), second_s)
    assert twice == hours.add_open_time(instant, first_s + second_s)


@pytest.mark.parametrize(
    ("instant", "seconds", "reached"),
    [
        ("2026-11-27T12:00:00+00:00", 0, "2026-11-27T12:00:00+00:00"),
        ("2026-11-27T23:00:00+00:00", 0, "2026-11-27T23:00:00+00:00"),
        ("2026-11-27T12:00:00+00:00", 3600, "2026-11-27T13:00:00+00:00"),
        ("2026-11-27T17:00:00+00:00", 3600, "2026-11-27T18:00:00+00:00"),
        ("2026-11-27T17:00:00+00:00", 3601, "2026-11-28T10:00:01+00:00"),
        ("2026-11-27T18:00:00+00:00", 1, "2026-11-28T10:00:01+00:00"),
        ("2026-11-28T12:00:00+00:00", 7200, "2026-11-30T10:00:00+00:00"),
        ("2026-12-24T12:00:00+00:00", 7200, "2026-12-29T10:00:00+00:00"),
        # Both changes of the clocks fall on a Sunday, when this house is closed.
        ("2026-03-28T12:00:00+00:00", 7200, "2026-03-30T10:00:00+01:00"),
        ("2026-10-24T12:00:00+01:00", 7200, "2026-10-26T10:00:00+00:00"),
    ],
)
def test_check_in_is_counted_while_the_house_is_open(instant, seconds, reached):
    assert written(house().add_open_time(at(instant), seconds)) == reached


@pytest.mark.parametrize(
    ("instant", "seconds", "reached"),
    [
        # IANA tz rules EU: on 2026-03-29 01:00 becomes 02:00, on 2026-10-25 02:00 becomes 01:00.
        ("2026-03-29T00:30:00+00:00", 3600, "2026-03-29T02:30:00+01:00"),
        ("2026-03-29T00:30:00+00:00", 5400, "2026-03-29T03:00:00+01:00"),
        ("2026-10-25T00:30:00+01:00", 3600, "2026-10-25T01:30:00+01:00"),
        ("2026-10-25T00:30:00+01:00", 9000, "2026-10-25T02:00:00+00:00"),
        ("2026-10-25T00:30:00+01:00", 12600, "2026-10-25T03:00:00+00:00"),
    ],
)
def test_a_night_of_a_clock_change_counts_the_hours_that_pass(instant, seconds, reached):
    assert written(house(NIGHTS).add_open_time(at(instant), seconds)) == reached


def test_a_closing_time_that_comes_twice_is_the_later_and_an_opening_the_earlier():
    plain = {"week": {"sun": [["00:15", "01:15"], ["01:30", "02:30"]]}}
    spans = house(plain).open_spans(Window(at("2026-10-25T00:00:00Z"), at("2026-10-26T00:00:00Z")))
    assert [(written(s.start), written(s.end)) for s in spans] == [
        ("2026-10-25T01:00:00+01:00", "2026-10-25T02:30:00+00:00")
    ]


def test_an_opening_within_the_gap_opens_after_it_and_one_wholly_within_it_never():
    plain = {"week": {"sun": [["01:00", "01:30"], ["01:45", "03:00"]]}}
    spans = house(plain).open_spans(Window(at("2026-03-29T00:00:00Z"), at("2026-03-30T00:00:00Z")))
    assert [(written(s.start), written(s.end)) for s in spans] == [
        ("2026-03-29T02:00:00+01:00", "2026-03-29T03:00:00+01:00")
    ]


@pytest.mark.parametrize("plain", [None, {}, {"week": {}}, {"week": {"mon": []}, "exceptions": {}}])
def test_a_house_without_hours_is_always_open(plain):
    hours, instant = read_hours(plain, LONDON), at("2026-11-29T03:00:00Z")
    assert hours.always
    assert hours.add_open_time(instant, 7200) == instant + 7200
    assert opens_after(hours, instant) == hours.last_open_before(instant) == instant
    assert hours.closes_at(instant) == FOREVER
    assert hours.open_spans(Window(instant, instant + 5)) == [Window(instant, instant + 5)]


@pytest.mark.parametrize(
    ("day", "weekday"),
    [
        # ISO 8601, week dates: the last figure is the day of the week, from Monday on.
        pytest.param("2026-01-01", "thu", id="2026-W01-4"),
        pytest.param("2026-12-31", "thu", id="2026-W53-4"),
        pytest.param("2027-01-03", "sun", id="2026-W53-7"),
        pytest.param("2027-01-04", "mon", id="2027-W01-1"),
        pytest.param("2008-12-29", "mon", id="2009-W01-1"),
        pytest.param("2010-01-03", "sun", id="2009-W53-7"),
    ],
)
def test_a_house_that_opens_on_one_weekday_is_open_on_its_dates(day, weekday):
    noon = at(f"{day}T12:00:00Z")
    open_on = {
        name for name in WEEKDAYS if house({"week": {name: [["09:00", "18:00"]]}}).is_open(noon)
    }
    assert open_on == {weekday}


def test_a_house_without_hours_closes_on_its_exceptions_alone():
    hours = house({"exceptions": {"2026-12-25": []}})
    eve = at("2026-12-01T12:00:00Z")
    assert written(hours.closes_at(eve)) == "2026-12-25T00:00:00+00:00"
    assert written(opens_after(hours, at("2026-12-25T12:00:00Z"))) == "2026-12-26T00:00:00+00:00"
    assert hours.closes_at(at("2026-12-26T00:00:00Z")) == FOREVER
    assert hours.add_open_time(at("2026-12-24T23:00:00Z"), 7200) == at("2026-12-26T01:00:00Z")


def test_a_house_closed_for_months_opens_after_them():
    closed = {(date(2026, 7, 1) + timedelta(days=n)).isoformat(): [] for n in range(123)}
    hours = house({"week": HOUSE["week"], "exceptions": closed})
    assert written(opens_after(hours, at("2026-07-01T08:00:00Z"))) == "2026-11-02T09:00:00+00:00"
    assert hours.last_open_before(at("2026-10-01T08:00:00Z")) == at("2026-06-30T17:00:00Z")
    assert hours.add_open_time(at("2026-06-30T16:00:00Z"), 7200) == at("2026-11-02T10:00:00Z")


@pytest.mark.parametrize(
    ("instant", "last"),
    [
        ("2026-11-27T12:00:00+00:00", "2026-11-27T12:00:00+00:00"),
        ("2026-11-27T18:00:00+00:00", "2026-11-27T18:00:00+00:00"),
        ("2026-11-28T06:00:00+00:00", "2026-11-27T18:00:00+00:00"),
        ("2026-11-27T09:00:00+00:00", "2026-11-26T18:00:00+00:00"),
        ("2026-11-30T07:00:00+00:00", "2026-11-28T13:00:00+00:00"),
    ],
)
def test_what_must_be_done_before_is_done_by_the_last_closing_time(instant, last):
    assert written(house().last_open_before(at(instant))) == last


def test_nothing_runs_on_past_the_end_of_what_is_kept():
    hours = house()
    assert hours.add_open_time(FOREVER, 3600) == FOREVER + 3600
    assert hours.add_open_time(FOREVER - 86_400, 10**9) > FOREVER
    assert opens_after(hours, EARLIEST) >= EARLIEST


def test_less_than_no_time_is_refused():
    with pytest.raises(ValueError, match="not negative"):
        house().add_open_time(0, -1)


@pytest.mark.parametrize("plain", [HOUSE, NIGHTS, {"week": {}, "exceptions": {"2026-12-25": []}}])
def test_hours_are_written_as_they_were_read(plain):
    kept = plain_hours(house(plain))
    assert kept == {"exceptions": {}} | plain
    assert house(kept) == house(plain)


def test_equal_hours_are_one_value_whoever_made_them():
    assert len({house(), house(), house(NIGHTS)}) == 2
    assert house() != house(zone=load_zone("Europe/Paris"))


@pytest.mark.parametrize(
    ("plain", "pointer", "sentence"),
    [
        ([], "", "hours: give an object"),
        ({"weeks": {}}, "", "weeks is not one of week, exceptions"),
        ({"week": []}, "/week", "hours week: give an object"),
        ({"week": {"moon": []}}, "/week", "moon is not one of mon"),
        ({"week": {"mon": "09:00"}}, "/week/mon", "give a list such as"),
        ({"week": {"mon": [["09:00"]]}}, "/week/mon/0", "an opening and a closing time"),
        ({"week": {"mon": [["09:00", 18]]}}, "/week/mon/0/1", "time of day in quotes"),
        ({"week": {"mon": [["9:00", "18:00"]]}}, "/week/mon/0/0", "9:00 is not a time of day"),
        ({"week": {"mon": [["24:00", "18:00"]]}}, "/week/mon/0/0", "has hour 24"),
        ({"week": {"mon": [["09:00", "09:00"]]}}, "/week/mon/0", "a whole day is 00:00 to 24:00"),
        (
            {"week": {"mon": [["12:00", "18:00"], ["09:00", "13:00"]]}},
            "/week/mon",
            "09:00 and 12:00 overlap",
        ),
        ({"week": {"mon": [["20:00", "02:00"], ["23:00", "23:30"]]}}, "/week/mon", "overlap"),
        ({"exceptions": {"2026-02-30": []}}, "/exceptions/2026-02-30", "has day 30"),
        ({"exceptions": {"a/b~": []}}, "/exceptions/a~1b~0", "is not a date"),
        ({"exceptions": {"2026-12-25": None}}, "/exceptions/2026-12-25", "give a list such as"),
    ],
)
def test_hours_that_cannot_be_read_say_where_and_what_to_mend(plain, pointer, sentence):
    with pytest.raises(BadHours) as refused:
        read_hours(plain, LONDON)
    assert refused.value.pointer == pointer
    assert sentence in str(refused.value)


def test_a_week_of_other_than_seven_days_is_refused():
    with pytest.raises(ValueError, match="seven days"):
        Hours(LONDON, ((),))


def test_touching_stretches_are_one():
    hours = house(
        {"week": {"mon": [["09:00", "13:00"], ["13:00", "24:00"]], "tue": [["00:00", "02:00"]]}}
    )
    assert written(hours.closes_at(at("2026-11-23T10:00:00Z"))) == "2026-11-24T02:00:00+00:00"


def test_an_open_stretch_is_not_cut_where_the_stored_blocks_meet():
    # Blocks are 32 days of 86400 s since 1970; one begins at 2026-11-11T00:00:00Z.
    hours = house({"week": {"tue": [["20:00", "04:00"]]}})
    edge = at("2026-11-11T00:00:00Z")
    assert edge % (32 * 86_400) == 0
    assert written(hours.closes_at(edge - 3600)) == "2026-11-11T04:00:00+00:00"
    assert hours.open_spans(Window(edge - 3600, edge + 3600)) == [Window(edge - 3600, edge + 3600)]
    assert hours.add_open_time(edge - 3600, 7200) == edge + 3600
    assert hours.last_open_before(edge) == edge
    assert time(20) == datetime.fromtimestamp(edge - 4 * 3600, LONDON).time()
