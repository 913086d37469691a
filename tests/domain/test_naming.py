"""Naming pieces: each yes checked seat by seat, each no by trying everything."""

from collections import Counter, defaultdict
from functools import partial
from itertools import pairwise
from random import Random

import pytest
from hypothesis import assume, given

from crossload.domain.naming import Lot, Stopwatch, Undecided, name
from crossload.domain.naming.best_fit import best_fit, is_whole
from crossload.domain.naming.count_model import kinds_of, names_from, search
from crossload.domain.naming.gaps import Gap, gaps_between
from crossload.domain.naming.repair import complete
from crossload.domain.naming.solver import Programme, solve
from crossload.domain.window import Window, merged
from domain import slow_pool
from domain.pools import a_claim, lectures, named, plains, random_claim, randoms, tight_claims

LONG = 30.0
"""Seconds that no search here comes near."""

HARD = [named(0, 2, 0), named(7, 9, 1), a_claim(1, 4), a_claim(5, 8), a_claim(3, 6)]
"""The example of the decisions, moved to pieces 0 and 1: enough at every instant, yet no naming."""

CROOKED = [
    named(0, 2, 2), named(6, 7, 1), a_claim(1, 4), a_claim(2, 6), a_claim(3, 6), a_claim(4, 8),
]  # fmt: skip
"""It can be named, but not forwards or backwards without looking back."""


def parted(claims):
    """Fixed windows of each piece, and lots."""
    fixed = defaultdict(list)
    for claim in claims:
        for piece in claim.items:
            fixed[piece].append(claim.window)
    lots = [Lot(claim.window, claim.quantity) for claim in claims if not claim.items]
    return {piece: merged(windows) for piece, windows in fixed.items()}, lots


def by_name(count, fixed, lots):
    return name(range(count), fixed, lots, Stopwatch(LONG))


def by_counting(count, fixed, lots):
    return search(gaps(count, fixed), lots, Stopwatch(LONG))


def by_repair(near, count, fixed, lots):
    given = best_fit(gaps(count, fixed), lots)
    return complete(range(count), fixed, lots, given, Stopwatch(LONG), near)


def gaps(count, fixed):
    return gaps_between(range(count), fixed, Window(-64, 256))


def is_a_naming(count, fixed, lots, given):
    """Whether each lot has its own pieces, and each piece is in one place at a time."""
    seats = defaultdict(list, {piece: list(windows) for piece, windows in fixed.items()})
    for lot, names in zip(lots, given, strict=True):
        if not len(names) == len(set(names)) == lot.quantity or not set(names) <= set(range(count)):
            return False
        for piece in names:
            seats[piece].append(lot.window)
    return all(
        sooner.end <= later.start
        for windows in seats.values()
        for sooner, later in pairwise(sorted(windows))
    )


def a_world(random):
    """A few pieces and claims that can just be served, or just not."""
    count = random.randint(2, 4)
    until = random.randint(6, 15)
    claims = tight_claims(random, count, until, random.choice((0.1, 0.3, 0.5)))
    if random.random() < 0.3:
        claims.append(random_claim(random, count, until, 1, some_named=0))
    return count, claims[:12]


def test_ten_lectures_are_named_to_three_rooms_without_a_search():
    _, lots = parted(lectures())
    given = name(range(3), {}, lots, Stopwatch(0))
    assert is_a_naming(3, {}, lots, given)
    assert name(range(2), {}, lots, Stopwatch(LONG)) is None


def test_nothing_wanted_is_named_at_once():
    assert name(range(3), {}, [], Stopwatch(0)) == []


def test_a_piece_is_taken_from_the_instant_at_which_its_fixed_window_ends():
    fixed = {0: [Window(0, 5), Window(9, 12)]}
    assert by_name(1, fixed, [Lot(Window(5, 9), 1)]) == [(0,)]
    assert by_name(1, fixed, [Lot(Window(4, 9), 1)]) is None
    assert by_name(1, fixed, [Lot(Window(5, 10), 1)]) is None


def test_gaps_lie_between_fixed_windows_and_within_the_span():
    fixed = {0: [Window(-5, 1), Window(3, 4), Window(9, 20)], 2: [Window(0, 10)]}
    assert gaps_between((0, 1, 2), fixed, Window(0, 10)) == [
        Gap(1, 3, 0), Gap(4, 9, 0), Gap(0, 10, 1),
    ]  # fmt: skip


@pytest.mark.parametrize("way", [by_name, by_counting, partial(by_repair, 1)])
def test_enough_at_every_instant_may_still_have_no_naming(way):
    fixed, lots = parted(HARD)
    assert slow_pool.enough(2, plains(HARD))
    assert way(2, fixed, lots) is None
    assert is_a_naming(2, *parted(HARD[:-1]), way(2, *parted(HARD[:-1])))


@pytest.mark.parametrize("way", [by_name, by_counting, partial(by_repair, 1)])
def test_what_best_fit_misses_is_found_by_search(way):
    fixed, lots = parted(CROOKED)
    assert not is_whole(lots, best_fit(gaps(3, fixed), lots))
    assert is_a_naming(3, fixed, lots, way(3, fixed, lots))


def test_past_the_limit_only_what_needs_a_search_is_undecided():
    fixed, lots = parted(CROOKED)
    with pytest.raises(Undecided):
        name(range(3), fixed, lots, Stopwatch(0))
    assert name(range(3), {}, lots, Stopwatch(0))


@pytest.mark.parametrize(
    "way", [by_name, by_counting, *(partial(by_repair, near) for near in (1, 2, 5))]
)
def test_named_just_when_trying_everything_finds_a_naming(way):
    answers = Counter()

    @given(randoms)
    def check(random):
        count, claims = a_world(random)
        fixed, lots = parted(claims)
        assume(lots)
        found = way(count, fixed, lots)
        answers[found is not None] += 1
        assert (found is not None) == slow_pool.can_all(count, plains(claims))
        assert found is None or is_a_naming(count, fixed, lots, found)

    check()
    assert min(answers[True], answers[False]) >= 5


def test_best_fit_is_never_wrong_about_what_it_gives():
    """It may give too little, and then in no lot a piece that is not free."""
    wholes = Counter()

    @given(randoms)
    def check(random):
        count, claims = a_world(random)
        fixed, lots = parted(claims)
        found = best_fit(gaps(count, fixed), lots)
        wholes[is_whole(lots, found)] += 1
        some = [Lot(lot.window, len(names)) for lot, names in zip(lots, found, strict=True)]
        assert is_a_naming(count, fixed, some, found)
        assert all(len(names) <= lot.quantity for lot, names in zip(lots, found, strict=True))

    check()
    assert wholes[True] > wholes[False] > 0


@given(randoms)
def test_a_crowded_house_that_can_be_named_is_named(random):
    """12 pieces, 40 days, hardly an hour free: a naming exists, for the claims were made from one."""
    claims = tight_claims(random, 12, 40, 0.2)
    fixed, lots = parted(claims)
    assert is_a_naming(12, fixed, lots, by_name(12, fixed, lots))


def test_counts_that_would_give_a_piece_twice_are_never_made_into_names():
    windows = [Window(0, 5), Window(4, 9)]
    kinds = kinds_of([Gap(0, 9, 0)], windows)
    lots = [Lot(window, 1) for window in windows]
    with pytest.raises(Undecided):
        names_from(kinds, windows, [{0: 1, 1: 1}], lots)
    with pytest.raises(Undecided):
        names_from(kinds, windows, [{0: 1, 1: 0}], lots)


def test_the_solver_finds_the_least_cost_says_when_there_is_none_and_heeds_its_limit():
    programme = Programme()
    dear, cheap = programme.column(5, cost=3), programme.column(4, cost=2)
    programme.exactly(6, [dear, cheap])
    assert list(solve(programme, Stopwatch(LONG))) == [2, 4]
    programme.at_most(5, [(dear, 1), (cheap, 1)])
    assert solve(programme, Stopwatch(LONG)) is None
    with pytest.raises(Undecided):
        solve(programme, Stopwatch(0))


def test_a_programme_that_is_not_solved_within_its_limit_is_undecided_and_not_a_no():
    """Market split, 5 rows of 40 weights: out of reach of branch and bound (Cornuéjols & Dawande,
    A class of hard small 0-1 programs, 1999, from memory)."""
    random = Random(1)
    programme = Programme()
    columns = [programme.column(1) for _ in range(40)]
    for _ in range(5):
        weights = [random.randrange(100) for _ in columns]
        half = sum(weights) // 2
        programme.at_most(half, zip(columns, weights, strict=True))
        programme.at_most(-half, [(c, -w) for c, w in zip(columns, weights, strict=True)])
    with pytest.raises(Undecided):
        solve(programme, Stopwatch(0.3))
