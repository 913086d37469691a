"""From lines, custody and out-of-service windows to claims: nothing vanishes, nothing counts twice."""

from dataclasses import replace

import portion
import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.booking import BookingState
from crossload.domain.capacity import least_free
from crossload.domain.custody import Custody, OutOfService
from crossload.domain.holdings import Ground, HeldLine, Recorded, claims
from crossload.domain.judge import at_risk, judge
from crossload.domain.window import Window
from domain.pools import pieces

CHECK_IN = 10
"""Of the kit type."""


def a_line(start, end, quantity=1, *named, line=1, rank=1, check_in=CHECK_IN):
    """Without prep; it occupies until it has been checked in."""
    own = None if check_in == CHECK_IN else check_in
    return HeldLine(
        line, line + 100, 7, 5, BookingState.CONFIRMED, rank, quantity, start, end,
        Window(start, end + check_in), named, own,
    )  # fmt: skip


def out(item, out_at, due, *, line=1, quantity=1, promised=None):
    return Custody(40, 5, quantity, 7, out_at, due, item, "", 101, line, promised)


def service(start, end, item=None, quantity=1):
    return OutOfService(50, 5, quantity, start, end, item)


def free_after(custody, check_in_s):
    """As the service reckons it, with the promise for all that is expected."""
    return (custody.promised_at or custody.due_at) + (
        CHECK_IN if check_in_s is None else check_in_s
    )


def held(*lines, out=(), service=()):
    """(start, end, quantity, names, ground, rank) of each claim, in order."""
    made = claims(Recorded(lines, tuple(out), tuple(service)), free_after)
    return sorted(
        (c.window.start, c.window.end, c.quantity, c.items, str(c.about.ground), c.rank)
        for c in made
    )


LINE, OUT, SERVICE = (str(ground) for ground in Ground)


def test_a_line_claims_what_it_occupies_named_and_unnamed_apart():
    assert held(a_line(0, 90, 5, 3, 4, rank=6)) == [
        (0, 100, 2, (3, 4), LINE, 6),
        (0, 100, 3, (), LINE, 6),
    ]


@pytest.mark.parametrize(
    ("custody", "start", "end"),
    [
        pytest.param(out(3, 0, 90), 0, 100, id="in time"),
        pytest.param(out(3, 20, 90), 0, 100, id="collected after the line began"),
        pytest.param(out(3, -50, 90), -50, 100, id="collected the evening before"),
        pytest.param(out(3, 0, 90, promised=200), 0, 210, id="late"),
        pytest.param(out(3, 0, 90, promised=60), 0, 100, id="back early, as promised"),
    ],
)
def test_a_piece_out_takes_the_place_of_its_line_and_is_a_fact(custody, start, end):
    assert held(a_line(0, 90, 2, 3, 4, rank=6), out=[custody]) == sorted(
        [(start, end, 1, (3,), LINE, 0), (0, 100, 1, (4,), LINE, 6)]
    )


def test_a_check_in_of_the_lines_own_holds_for_what_is_out_on_it():
    line = a_line(0, 90, 1, 3, check_in=2)
    assert held(line, out=[out(3, 0, 90)]) == [(0, 92, 1, (3,), LINE, 0)]
    assert held(line, out=[out(3, 0, 90, promised=200)]) == [(0, 202, 1, (3,), LINE, 0)]


def test_counted_kit_out_is_part_of_its_line_and_the_excess_beside_it():
    line = a_line(0, 90, 5, rank=6)
    late = out(None, -5, 90, quantity=3, promised=200)
    assert held(line, out=[late]) == [(-5, 210, 3, (), LINE, 0), (0, 100, 2, (), LINE, 6)]
    assert held(line, out=[late, out(None, 1, 90, quantity=4)]) == [
        (-5, 210, 3, (), LINE, 0),
        (0, 100, 2, (), LINE, 0),
        (1, 100, 2, (), OUT, 0),
    ]


def test_a_piece_that_has_left_its_line_is_held_beside_it_and_the_line_stays_open():
    assert held(a_line(0, 90, 2, 4, rank=6), out=[out(3, 5, 90)]) == [
        (0, 100, 1, (), LINE, 6),
        (0, 100, 1, (4,), LINE, 6),
        (5, 100, 1, (3,), OUT, 0),
    ]


def test_what_is_out_without_a_live_line_is_held_until_it_is_free_again():
    assert held(out=[out(3, 5, 90)]) == [(5, 100, 1, (3,), OUT, 0)]
    assert held(out=[out(None, 5, 90, line=None, quantity=4)]) == [(5, 100, 4, (), OUT, 0)]
    assert held(a_line(0, 90, line=2), out=[out(3, 5, 20)])[1] == (5, 30, 1, (3,), OUT, 0)


def test_what_went_out_after_it_was_due_is_held_for_a_second_at_least():
    assert held(out=[out(3, 500, 90)]) == [(500, 501, 1, (3,), OUT, 0)]


def test_overlapping_windows_out_of_service_of_one_item_are_one_and_of_a_number_add_up():
    windows = [service(5, 20, 3), service(0, 10, 3), service(20, 30, 3), service(40, 50, 3)]
    assert held(service=windows) == [(0, 30, 1, (3,), SERVICE, 0), (40, 50, 1, (3,), SERVICE, 0)]
    assert held(service=[service(0, 9, None, 2), service(5, 12, None, 1)]) == [
        (0, 9, 2, (), SERVICE, 0),
        (5, 12, 1, (), SERVICE, 0),
    ]


def test_a_piece_that_is_out_and_out_of_service_counts_once_and_is_held_for_both():
    """The window out of service ends before the piece is back: it is not free in between."""
    recorded = Recorded(out=(out(0, 0, 90),), service=(service(-20, 40, 0),))
    made = claims(recorded, free_after)
    assert [least_free(pieces(2), made, Window(at, at + 1)) for at in (-21, -20, 0, 99, 100)] == [
        2, 1, 1, 1, 2,
    ]  # fmt: skip


def test_each_claim_says_whose_it_is():
    line, custody = a_line(0, 90, 1, 3), out(3, 0, 90)
    (claim,) = claims(Recorded((line,), (custody,)), free_after)
    assert (claim.about.held, claim.about.custody, claim.about.booking) == (line, custody, 101)
    alone = replace(custody, line=None, booking=33)
    (claim,) = claims(Recorded((), (alone,)), free_after)
    assert (claim.about.held, claim.about.booking) == (None, 33)
    (claim,) = claims(Recorded(service=(service(0, 9, 3),)), free_after)
    assert claim.about.booking is None


def test_kit_collected_the_evening_before_cannot_be_had_that_evening():
    line, custody = a_line(100, 190, 1, 0), out(0, 60, 190)
    (ask,) = claims(Recorded((a_line(70, 80, 1),)), free_after)
    assert judge(pieces(1), claims(Recorded((line,)), free_after), [ask]).fits
    assert not judge(pieces(1), claims(Recorded((line,), (custody,)), free_after), [ask]).fits


def test_a_late_piece_endangers_the_next_line_and_not_the_one_that_has_it():
    late, following = a_line(0, 90, 1, 0, line=1, rank=9), a_line(150, 250, 1, 0, line=2, rank=4)
    made = claims(Recorded((late, following), (out(0, 0, 90, promised=200),)), free_after)
    (risk,) = at_risk(pieces(2), made)
    assert made[risk.index].about.held is following


spans = st.builds(
    lambda start, length: (start, start + length), st.integers(-20, 80), st.integers(1, 40)
)


@given(spans, spans, st.lists(spans, max_size=3), st.booleans())
def test_a_piece_is_held_once_at_each_instant_at_which_anything_says_so(
    of_line, of_custody, repairs, line_lives
):
    """Its line, where it is out to, its repairs: their union, by portion."""
    line = a_line(*of_line, 1, 0)
    services = tuple(service(start, end, 0) for start, end in repairs)
    lines = (line,) if line_lives else ()
    made = claims(Recorded(lines, (out(0, *of_custody),), services), free_after)
    start, end = of_custody[0], of_custody[1] + CHECK_IN
    if line_lives:
        start, end = min(start, line.occupied.start), max(end, line.occupied.end)
    expected = portion.closedopen(start, end)
    for repair in repairs:
        expected |= portion.closedopen(*repair)
    for at in range(-25, 135):
        assert least_free(pieces(3), made, Window(at, at + 1)) == (2 if at in expected else 3)
