"""Instants as text: RFC 3339 in, RFC 3339 out. Sources stand beside the values."""

from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.instants import (
    format_instant,
    parse_day,
    parse_instant,
    parse_wall_time,
)
from crossload.domain.window import EARLIEST, FOREVER
from crossload.domain.zones import load_zone, zone_names

NAMES = ("Europe/London", "America/St_Johns", "Asia/Kathmandu", "Pacific/Kiritimati", "UTC")


def instants():
    return st.integers(EARLIEST, FOREVER)


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        # RFC 5545 section 4: DTSTART;TZID=America/New_York:19980312T083000 is 13:30Z; the same
        # wall time in 2026, before New York's change of 8 March (tzdata), keeps -05:00.
        pytest.param("2026-03-05T08:30:00-05:00", 1772717400, id="New York in winter"),
        pytest.param("2026-03-05T13:30:00Z", 1772717400, id="the same in UTC"),
        pytest.param("2026-03-05t13:30:00z", 1772717400, id="small letters, RFC 3339 5.6"),
        pytest.param("2026-03-05T13:30:00-00:00", 1772717400, id="unknown place, RFC 3339 4.3"),
        pytest.param("2026-03-06T03:29:00+13:59", 1772717400, id="minutes in the offset"),
        # POSIX: seconds since the Epoch; 946684800 is 2000-01-01T00:00:00Z.
        pytest.param("2000-01-01T00:00:00Z", EARLIEST, id="the first"),
        pytest.param("2100-01-01T00:00:00Z", FOREVER, id="the last"),
        pytest.param("2024-02-29T23:59:59Z", 1709251199, id="a leap day's last second"),
        pytest.param("2026-11-26T06:00:00+23:59", 1795586460, id="the largest offset"),
    ],
)
def test_an_rfc_3339_date_time_is_read(text, instant):
    assert parse_instant(text) == instant


def test_the_two_writings_of_one_instant_in_rfc_3339_are_equal():
    # RFC 3339 section 5.8: 1996-12-19T16:39:57-08:00 = 1996-12-20T00:39:57Z, here in another year.
    west, utc = "2024-12-19T16:39:57-08:00", "2024-12-20T00:39:57Z"
    assert parse_instant(west) == parse_instant(utc)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        # RFC 3339 section 5.8 gives these as examples; whole seconds alone are taken here.
        ("1985-04-12T23:20:50.52Z", "has a fraction of a second"),
        ("1937-01-01T12:00:27.87+00:20", "has a fraction of a second"),
        ("1990-12-31T23:59:60Z", "has second 60"),
        ("1990-12-31T15:59:60-08:00", "has second 60"),
        ("1996-12-19T16:39:57-08:00", "outside 2000-01-01 to 2100-01-01"),
        # RFC 9557 section 4: a suffix is no part of RFC 3339.
        ("2022-07-08T00:14:07+00:00[!Europe/London]", "is not an instant"),
        ("2026-11-26T06:00:00.0Z", "has a fraction of a second"),
        ("2026-11-26T06:00:00", "has no offset: add Z"),
        ("2026-11-26T24:00:00Z", "has hour 24: write 00:00 of the next day"),
        ("2026-11-26T25:00:00Z", "has no such time of day"),
        ("2026-11-26T06:60:00Z", "has no such time of day"),
        ("2026-11-26T06:00:61Z", "has no such time of day"),
        ("2026-02-29T06:00:00Z", "has day 29: that month has 28 days"),
        ("2026-02-00T06:00:00Z", "has day 00"),
        ("2026-13-01T06:00:00Z", "has month 13"),
        ("2026-00-01T06:00:00Z", "has month 00"),
        ("0000-01-01T06:00:00Z", "outside 2000-01-01"),
        ("1999-12-31T23:59:59Z", "outside 2000-01-01"),
        ("2000-01-01T00:00:00+00:01", "outside 2000-01-01"),
        ("2100-01-01T00:00:01Z", "outside 2000-01-01"),
        ("2100-01-01T00:00:00-00:01", "outside 2000-01-01"),
        ("9999-12-31T23:59:59Z", "outside 2000-01-01"),
        ("2026-11-26T06:00:00+24:00", "has no such offset"),
        ("2026-11-26T06:00:00+01:60", "has no such offset"),
        ("2026-11-26T06:00:00+0100", "is not an instant"),
        ("2026-11-26T06:00:00+01", "is not an instant"),
        ("2026-11-26T06:00:00+01:00:00", "is not an instant"),
        ("2026-11-26T06:00Z", "has no seconds"),
        ("2026-11-26 06:00:00Z", "has no T between"),
        ("20261126T060000Z", "is not an instant"),
        ("2026-W48-4T06:00:00Z", "is not an instant"),
        ("2026-330T06:00:00Z", "is not an instant"),
        ("2026-11-26T06:00:00Z\n", "is not an instant"),
        (" 2026-11-26T06:00:00Z", "is not an instant"),
        ("２０２６-11-26T06:00:00Z", "is not an instant"),
        ("2026-11-26T06:00:00−01:00", "is not an instant"),
        ("+2026-11-26T06:00:00Z", "is not an instant"),
        ("2026-11-26", "is not an instant"),
        ("", "is not an instant"),
        ("\ud800\x00", "is not an instant"),
    ],
)
def test_anything_else_is_refused_with_what_to_mend(text, sentence):
    with pytest.raises(ValueError, match=r"instant|has|outside") as refused:
        parse_instant(text)
    assert sentence in str(refused.value)
    assert str(refused.value).isprintable()


def test_a_refusal_shows_no_more_than_a_line_of_what_was_sent():
    with pytest.raises(ValueError, match="is not an instant") as refused:
        parse_instant("9" * 100_000)
    assert len(str(refused.value)) < 140


@pytest.mark.parametrize(
    ("instant", "zone", "text"),
    [
        # IANA tz rules: Europe changes at 01:00Z on 2026-03-29 and 2026-10-25.
        ("2026-03-29T00:59:59Z", "Europe/London", "2026-03-29T00:59:59+00:00"),
        ("2026-03-29T01:00:00Z", "Europe/London", "2026-03-29T02:00:00+01:00"),
        ("2026-10-25T00:59:59Z", "Europe/London", "2026-10-25T01:59:59+01:00"),
        ("2026-10-25T01:00:00Z", "Europe/London", "2026-10-25T01:00:00+00:00"),
        ("2026-11-26T06:00:00Z", "UTC", "2026-11-26T06:00:00+00:00"),
        ("2026-11-26T06:00:00Z", "America/St_Johns", "2026-11-26T02:30:00-03:30"),
        ("2026-11-26T06:00:00Z", None, "2026-11-26T06:00:00Z"),
    ],
)
def test_an_instant_leaves_with_its_zones_offset(instant, zone, text):
    assert format_instant(parse_instant(instant), zone and load_zone(zone)) == text


def test_an_offset_with_seconds_leaves_as_the_same_instant_in_utc():
    # tzdata, africa: Africa/Monrovia stood at -0:44:30 until 1972-01-07.
    assert format_instant(0, load_zone("Africa/Monrovia")) == "1970-01-01T00:00:00+00:00"


def test_no_zone_has_an_offset_with_seconds_since_2000():
    for name in zone_names():
        assert len(format_instant(EARLIEST, load_zone(name))) == 25
        assert format_instant(EARLIEST, load_zone(name))[-3] == ":"


@given(instants(), st.sampled_from(NAMES))
def test_what_is_written_is_read_back(instant, name):
    assert parse_instant(format_instant(instant, load_zone(name))) == instant
    assert parse_instant(format_instant(instant, None)) == instant


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-11-26", date(2026, 11, 26)),
        ("2000-01-01", date(2000, 1, 1)),
        ("2100-01-01", date(2100, 1, 1)),
        ("2024-02-29", date(2024, 2, 29)),
    ],
)
def test_a_date_is_read(text, day):
    assert parse_day(text) == day


@pytest.mark.parametrize(
    "text",
    ["2026-02-29", "2026-2-1", "1999-12-31", "2100-01-02", "20261126", "2026-11-26 ", "0000-01-01"],
)
def test_a_date_that_is_none_is_refused(text):
    with pytest.raises(ValueError, match=r"2026|1999|2100|0000"):
        parse_day(text)


@pytest.mark.parametrize(
    ("text", "at"),
    [("00:00", time(0)), ("06:30", time(6, 30)), ("23:59:59", time(23, 59, 59))],
)
def test_a_time_of_day_is_read(text, at):
    assert parse_wall_time(text) == at


@pytest.mark.parametrize("text", ["24:00", "6:30", "06:60", "06:30:60", "0630", "06:30Z", ""])
def test_a_time_of_day_that_is_none_is_refused(text):
    with pytest.raises(ValueError, match=r"time of day|hour 24|second 60"):
        parse_wall_time(text)
