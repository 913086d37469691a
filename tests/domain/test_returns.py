"""When a piece that is still out is expected back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.custody import Custody
from crossload.domain.instants import format_instant, parse_instant
from crossload.domain.returns import expectation_changes_at, expected_return
from crossload.domain.window import EARLIEST, FOREVER, Id
from crossload.domain.zones import load_zone

LONDON = load_zone("Europe/London")
DUE = "2026-11-26T19:00:00Z"


def at(text):
    return None if text is None else parse_instant(text)


def expected(now, promised=None, ends=(), due=DUE, zone=LONDON):
    found = expected_return(at(due), at(promised), [at(end) for end in ends], at(now), zone)
    return format_instant(found, None)


@pytest.mark.parametrize(
    ("now", "overdue"),
    [("2026-11-26T18:59:59Z", False), (DUE, True), ("2026-11-26T19:00:01Z", True)],
)
def test_a_piece_is_overdue_from_the_instant_it_is_due(now, overdue):
    piece = Custody(Id(1), Id(2), 1, Id(3), at(DUE) - 3600, at(DUE))
    assert piece.is_overdue(at(now)) is overdue


@pytest.mark.parametrize(
    ("now", "promised", "ends", "found"),
    [
        pytest.param("2026-11-26T18:59:59Z", None, [], DUE, id="not yet due"),
        pytest.param(
            "2026-11-26T10:00:00Z",
            None,
            ["2026-11-26T12:00:00Z"],
            DUE,
            id="not due, day ends first",
        ),
        pytest.param(
            "2026-11-26T10:00:00Z",
            "2026-11-27T09:00:00Z",
            [],
            "2026-11-27T09:00:00Z",
            id="promised later",
        ),
        pytest.param(
            "2026-11-26T10:00:00Z", "2026-11-26T12:00:00Z", [], DUE, id="promised earlier"
        ),
        pytest.param(
            DUE,
            "2026-11-27T09:00:00Z",
            ["2026-11-26T20:00:00Z"],
            "2026-11-27T09:00:00Z",
            id="promise ahead",
        ),
        pytest.param(
            "2026-11-27T09:00:00Z",
            "2026-11-27T09:00:00Z",
            ["2026-11-27T20:00:00Z"],
            "2026-11-27T20:00:00Z",
            id="promise broken",
        ),
        pytest.param(
            DUE,
            None,
            ["2026-11-28T20:00:00Z", "2026-11-27T20:00:00Z", DUE, "2026-11-25T20:00:00Z"],
            "2026-11-27T20:00:00Z",
            id="next shoot day, one that ends now is over",
        ),
        pytest.param(DUE, None, [], "2026-11-28T00:00:00Z", id="midnight but one"),
        pytest.param(
            "2026-11-26T23:59:59Z", None, [], "2026-11-28T00:00:00Z", id="the same until midnight"
        ),
        pytest.param("2026-11-27T00:00:00Z", None, [], "2026-11-29T00:00:00Z", id="then it rolls"),
        pytest.param(
            "2026-12-24T12:00:00Z",
            None,
            ["2026-11-27T20:00:00Z"],
            "2026-12-26T00:00:00Z",
            id="weeks late",
        ),
    ],
)
def test_the_best_word_there_is_counts(now, promised, ends, found):
    assert expected(now, promised, ends) == found


@pytest.mark.parametrize(
    ("now", "zone", "found"),
    [
        # IANA tz rules EU and US: the midnights after a change are an hour off those before.
        ("2026-03-27T12:00:00Z", "Europe/London", "2026-03-29T00:00:00Z"),
        ("2026-03-28T12:00:00Z", "Europe/London", "2026-03-29T23:00:00Z"),
        ("2026-10-23T12:00:00Z", "Europe/London", "2026-10-24T23:00:00Z"),
        ("2026-10-24T12:00:00Z", "Europe/London", "2026-10-26T00:00:00Z"),
        ("2026-03-07T12:00:00Z", "America/New_York", "2026-03-09T04:00:00Z"),
        ("2026-10-31T12:00:00Z", "America/New_York", "2026-11-02T05:00:00Z"),
        # IANA tz rules Lebanon: 2026-03-29 begins at 01:00 local.
        ("2026-03-27T12:00:00Z", "Asia/Beirut", "2026-03-28T22:00:00Z"),
    ],
)
def test_midnight_but_one_is_local_midnight(now, zone, found):
    assert expected(now, due="2026-01-05T12:00:00Z", zone=load_zone(zone)) == found


def instants():
    return st.integers(at(DUE) - 5 * 86_400, at(DUE) + 5 * 86_400)


@given(instants(), st.none() | instants(), st.lists(instants(), max_size=4), instants())
def test_a_piece_out_is_always_expected_ahead_and_not_before_it_is_due(due, promised, ends, now):
    found = expected_return(due, promised, ends, now, LONDON)
    assert found > now
    assert now >= due or found >= due


@given(
    instants(), st.none() | instants(), st.lists(instants(), max_size=4), instants(), st.randoms()
)
def test_nothing_changes_before_the_instant_that_is_named(due, promised, ends, now, random):
    def seen(when):
        return expected_return(due, promised, ends, when, LONDON), when >= due

    changes = expectation_changes_at(due, promised, ends, now, LONDON)
    assert changes > now
    assert seen(random.randrange(now, changes)) == seen(now) == seen(changes - 1)
    assert seen(changes) != seen(now)


def test_what_is_out_until_further_notice_is_expected_then():
    assert expected_return(FOREVER, None, [], EARLIEST, LONDON) == FOREVER
