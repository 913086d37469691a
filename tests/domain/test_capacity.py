"""Counting against two libraries for intervals, and a published instance of their partitioning."""

from itertools import pairwise

import portion
import pytest
from hypothesis import given
from intervaltree import IntervalTree

from crossload.domain.capacity import Profile, count, held, hull, least_free, peak
from crossload.domain.claims import Stock, Stretch
from crossload.domain.window import Window, merged
from domain.pools import a_claim, lectures, named, pieces, randoms


def stretches(tally):
    return [(short.window.start, short.window.end, short.by) for short in tally.short]


def test_ten_lectures_need_three_rooms_and_no_fourth():
    assert peak(held(Stock(3), lectures(), Window(900, 1630))) == 3
    last = lectures("j")
    assert count(Stock(3), lectures("abcdefghi"), last).free == 1
    assert not count(Stock(3), lectures("abcdefghi"), last).short
    assert stretches(count(Stock(2), lectures("abcdefghi"), last)) == [(1500, 1630, 1)]


@pytest.mark.parametrize(
    ("ask", "free", "short"),
    [
        pytest.param(a_claim(0, 10, 5), 5, [], id="ends where the claim starts"),
        pytest.param(a_claim(20, 30, 5), 5, [], id="starts where the claim ends"),
        pytest.param(a_claim(0, 11, 5), 2, [(10, 11, 3)], id="one second too long"),
        pytest.param(a_claim(19, 30, 5), 2, [(19, 20, 3)], id="one second too early"),
        pytest.param(a_claim(0, 30, 2), 2, [], id="exactly what is free"),
        pytest.param(a_claim(0, 30, 3), 2, [(10, 20, 1)], id="one more than is free"),
        pytest.param(a_claim(12, 13, 3), 2, [(12, 13, 1)], id="wholly within the claim"),
        pytest.param(a_claim(0, 30, 9), 2, [(0, 10, 4), (10, 20, 7), (20, 30, 4)], id="more than all"),
    ],
)  # fmt: skip
def test_three_of_five_are_claimed_from_10_to_20(ask, free, short):
    tally = count(Stock(5), [a_claim(10, 20, 3)], [ask])
    assert (tally.free, stretches(tally)) == (free, short)


def test_windows_back_to_back_never_hold_a_piece_twice():
    claims = [a_claim(0, 10), a_claim(20, 30), a_claim(10, 20)]
    assert count(Stock(1), claims, [a_claim(30, 40)]).free == 1
    assert peak(held(Stock(1), claims, Window(0, 30))) == 1


def test_what_is_claimed_beyond_capacity_makes_free_negative():
    tally = count(Stock(2), [a_claim(0, 10, 5)], [a_claim(5, 15, 1)])
    assert (tally.free, stretches(tally)) == (-3, [(5, 10, 4)])
    assert least_free(Stock(2), [a_claim(0, 10, 5)], Window(5, 15)) == -3


def test_equal_shortage_is_one_stretch_though_claims_change_within_it():
    claims = [a_claim(0, 10, 2), a_claim(10, 20, 2), a_claim(20, 30, 1)]
    assert stretches(count(Stock(2), claims, [a_claim(0, 30, 2)])) == [(0, 20, 2), (20, 30, 1)]


def test_equal_shortage_on_both_sides_of_enough_is_two_stretches():
    claims = [a_claim(0, 10), a_claim(20, 30)]
    assert stretches(count(Stock(1), claims, [a_claim(0, 30)])) == [(0, 10, 1), (20, 30, 1)]


def test_asks_made_together_are_counted_together_where_they_overlap():
    asks = [a_claim(0, 10, 2), a_claim(5, 15, 2)]
    assert stretches(count(Stock(3), [], asks)) == [(5, 10, 1)]
    assert count(Stock(4), [], asks).free == 4


def test_what_is_claimed_between_two_asks_is_no_matter():
    asks = [a_claim(0, 10), a_claim(20, 30)]
    tally = count(Stock(1), [a_claim(10, 20, 9)], asks)
    assert (tally.free, tally.short) == (1, ())


def test_facts_on_one_piece_count_once_and_claims_on_it_again():
    stock = pieces(3)
    facts = [named(0, 10, 0, rank=0), named(5, 15, 0, rank=0), named(5, 7, 1, rank=0)]
    assert least_free(stock, facts, Window(0, 15)) == 1
    assert least_free(stock, facts, Window(7, 15)) == 2
    assert least_free(stock, [*facts, named(9, 12, 0)], Window(7, 15)) == 1


def test_a_fact_on_a_piece_that_is_not_in_the_stock_holds_none_of_it():
    assert least_free(pieces(2), [named(0, 10, 7, rank=0)], Window(0, 10)) == 2


@given(randoms)
def test_count_agrees_with_an_interval_tree_at_every_instant(random):
    capacity, claims, asks = a_count_world(random)
    tally = count(Stock(capacity), claims, asks)
    held_at, asked_at = tree(claims), tree(asks)
    free, short = [], {}
    for at in range(-5, 60):
        asked = sum(found.data[1] for found in asked_at.at(at))
        if asked:
            free.append(capacity - sum(found.data[1] for found in held_at.at(at)))
            if asked > free[-1]:
                short[at] = asked - free[-1]
    assert tally.free == min(free)
    assert seconds(tally.short) == short
    assert all(later.window.start >= sooner.window.end for sooner, later in pairwise(tally.short))
    assert not any(touch(sooner, later) for sooner, later in pairwise(tally.short))


@given(randoms)
def test_merged_windows_are_the_union_that_portion_finds(random):
    windows = [claim.window for claim in a_count_world(random)[1]]
    union = portion.empty()
    for window in windows:
        union |= portion.closedopen(window.start, window.end)
    expected = [(part.lower, part.upper) for part in union if not part.empty]
    assert [(window.start, window.end) for window in merged(windows)] == expected


@given(randoms)
def test_a_profile_answers_as_counting_anew_does(random):
    capacity, claims, asks = a_count_world(random)
    profile = Profile(Stock(capacity), claims)
    for start in range(-3, 55, 4):
        window = Window(start, start + random.randint(1, 20))
        floor = capacity - max(
            sum(claim.quantity for claim in claims if claim.window.start <= at < claim.window.end)
            for at in range(window.start, window.end)
        )
        assert profile.least(window) == floor
        assert least_free(Stock(capacity), claims, window) == floor
    assert profile.least(hull(asks)) == least_free(Stock(capacity), claims, hull(asks))


def a_count_world(random):
    def some(most):
        return [
            a_claim(start, start + random.randint(1, 15), random.randint(1, 4))
            for start in (random.randrange(40) for _ in range(most))
        ]

    return random.randint(0, 12), some(random.randint(0, 12)), some(random.choice((1, 1, 1, 2, 3)))


def tree(claims):
    """Claims by window; numbered, for a tree is a set and would drop twins."""
    made = IntervalTree()
    for number, claim in enumerate(claims):
        made.addi(claim.window.start, claim.window.end, (number, claim.quantity))
    return made


def seconds(short):
    return {at: one.by for one in short for at in range(one.window.start, one.window.end)}


def touch(sooner: Stretch, later: Stretch):
    return sooner.window.end == later.window.start and sooner.by == later.by
