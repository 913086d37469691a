"""The judge beside a pool that is judged by trying everything (`slow_pool`), and worked examples."""

from collections import Counter
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import assume, given

from crossload.domain.claims import Risk, Stock, Why
from crossload.domain.judge import at_risk, first_fit, judge, keeps, largest, swap_at
from crossload.domain.judge.groups import groups_of
from crossload.domain.window import Window
from domain import slow_pool
from domain.pools import (
    a_claim,
    activities,
    lectures,
    many,
    named,
    pieces,
    plain,
    plains,
    random_claim,
    random_claims,
    randoms,
    tight_claims,
)

HARD = [named(0, 2, 0), named(7, 9, 1), a_claim(1, 4), a_claim(5, 8)]
"""The example of the settled questions: with [3,6) there is enough at every instant, by count."""


def answer(verdict):
    return "yes" if verdict.fits else str(verdict.why)


def seconds(verdict):
    return {
        at: short.by
        for short in verdict.short
        for at in range(short.window.start, short.window.end)
    }


def a_world(random, facts=True):
    """Pieces and claims on them: loose ones that facts may have broken, or tight ones."""
    count, until = random.randint(1, 4), random.randint(4, 12)
    if facts and random.random() < 0.5:
        return count, until, random_claims(random, count, 6, until)
    return count, until, tight_claims(random, count, until)[:9]


def an_ask(random, count, until, some_named=0.25):
    return random_claim(random, count, until, 99, some_named)


class TestByCount:
    """Stock without names."""

    @pytest.mark.parametrize(
        ("ask", "fits", "free"),
        [
            pytest.param(a_claim(0, 10, 8), True, 8, id="all until the claim starts"),
            pytest.param(a_claim(20, 30, 8), True, 8, id="all from when it ends"),
            pytest.param(a_claim(0, 20, 4), True, 4, id="exactly what is left"),
            pytest.param(a_claim(0, 20, 5), False, 4, id="one more than is left"),
            pytest.param(a_claim(19, 21, 5), False, 4, id="one second too early"),
        ],
    )
    def test_four_of_eight_are_claimed_from_10_to_20(self, ask, fits, free):
        verdict = judge(Stock(8), [a_claim(10, 20, 4)], [ask])
        assert (verdict.fits, verdict.free) == (fits, free)
        assert verdict.why is (None if fits else Why.NUMBERS)
        assert verdict.witness is None

    def test_ten_lectures_fit_into_three_rooms(self):
        rest, last = lectures("abcdefghi"), lectures("j")
        assert judge(Stock(3), rest, last).fits
        assert judge(pieces(3), rest, last).fits
        assert judge(Stock(2), rest, last).why is Why.NUMBERS

    @pytest.mark.parametrize("one_room", [Stock(1), pieces(1)], ids=["counted", "by piece"])
    def test_of_eleven_activities_one_room_takes_four_and_no_five(self, one_room):
        assert judge(one_room, activities(1, 4, 8), activities(11)).fits
        assert judge(one_room, [], activities(1, 4, 8, 11)).fits
        fits = [
            len(chosen)
            for size in (3, 4, 5)
            for chosen in combinations(range(1, 12), size)
            if judge(one_room, [], activities(*chosen)).fits
        ]
        assert max(fits) == 4

    @pytest.mark.parametrize("rooms", [5, 6])
    def test_all_eleven_activities_fit_from_six_rooms_on(self, rooms):
        assert judge(Stock(rooms), [], activities()).fits is (rooms >= 6)
        assert judge(pieces(rooms), [], activities()).fits is (rooms >= 6)

    @given(randoms)
    @many
    def test_counted_stock_is_judged_as_each_second_says(self, random):
        count, until, claims = a_world(random)
        asks = [an_ask(random, count, until) for _ in range(random.choice((1, 1, 2)))]
        verdict = judge(Stock(count), claims, asks)
        expected = slow_pool.judged(count, plains(claims), plains(asks), serial=False)
        assert (answer(verdict), verdict.free, seconds(verdict)) == expected
        assert keeps(Stock(count), claims, asks, verdict) == verdict.fits


class TestByName:
    """Stock that is known piece by piece."""

    def test_enough_at_every_instant_is_no_yes_when_no_piece_is_free_throughout(self):
        verdict = judge(pieces(2), HARD, [a_claim(3, 6)])
        assert (verdict.fits, verdict.why, verdict.free, verdict.short) == (
            False, Why.NAMES, 1, (),
        )  # fmt: skip
        assert judge(Stock(2), HARD, [a_claim(3, 6)]).fits

    @pytest.mark.parametrize("gone", range(4))
    def test_with_any_of_those_claims_away_it_fits(self, gone):
        claims = [*HARD[:gone], *HARD[gone + 1 :]]
        verdict = judge(pieces(2), claims, [a_claim(3, 6)])
        assert verdict.fits
        assert keeps(pieces(2), claims, [a_claim(3, 6)], verdict)

    def test_a_yes_that_needs_names_carries_them(self):
        verdict = judge(pieces(2), HARD[:-1], [a_claim(3, 8)])
        assert verdict.witness == ((0,),)
        assert verdict.beside == ((HARD[2], (1,)),)

    @pytest.mark.parametrize(
        ("ask", "why"),
        [
            pytest.param(named(5, 9, 0), None, id="from the second at which it ends"),
            pytest.param(named(4, 9, 0), Why.NAMES, id="a second too early"),
            pytest.param(named(0, 9, 1), None, id="the other piece"),
            pytest.param(named(0, 9, 0, 1), Why.NUMBERS, id="both"),
            pytest.param(named(6, 9, 7), Why.NAMES, id="a piece that does not exist"),
        ],
    )
    def test_a_named_piece_is_that_piece_or_nothing(self, ask, why):
        assert judge(pieces(2), [named(0, 5, 0)], [ask]).why is why

    def test_a_named_ask_moves_the_names_of_others_but_never_their_kit(self):
        claims = [a_claim(0, 9), named(9, 12, 0)]
        assert judge(pieces(2), claims, [named(3, 6, 0)]).fits
        assert judge(pieces(2), [*claims, named(8, 10, 1)], [named(3, 6, 0)]).why is Why.NAMES

    def test_asks_made_together_never_share_a_piece(self):
        asks = [named(0, 5, 0), named(3, 8, 0)]
        assert judge(pieces(3), [], asks).why is Why.NAMES
        assert judge(pieces(3), [], [asks[0], named(5, 8, 0)]).fits

    def test_kit_that_is_merely_out_needs_no_search(self):
        out = [named(-9, 4, 0, rank=0), named(-9, 7, 1, rank=0)]
        verdict = judge(pieces(3), [*out, a_claim(0, 5)], [a_claim(4, 9)], limit_s=0)
        assert verdict.fits
        assert verdict.witness is None

    def test_past_the_limit_it_is_undecided_and_never_a_yes(self):
        verdict = judge(pieces(2), HARD, [a_claim(3, 6)], limit_s=0)
        assert (verdict.fits, verdict.why, verdict.short) == (False, Why.UNDECIDED, ())

    def test_claims_back_to_back_are_named_apart_and_claims_that_overlap_together(self):
        claims = [a_claim(4, 9), a_claim(0, 5), a_claim(9, 12), a_claim(1, 2), named(0, 12, 0)]
        groups = groups_of(claims)
        assert [(group.span.start, group.span.end) for group in groups] == [(0, 9), (9, 12)]
        assert [len(group.members) for group in groups] == [3, 1]

    @given(randoms)
    @many
    def test_judged_as_by_trying_everything(self, random):
        count, until, claims = a_world(random)
        asks = [an_ask(random, count, until) for _ in range(random.choice((1, 1, 1, 2)))]
        verdict = judge(pieces(count), claims, asks)
        expected = slow_pool.judged(count, plains(claims), plains(asks))
        assert (answer(verdict), verdict.free, seconds(verdict)) == expected

    def test_tight_asks_that_fail_and_pass_by_name_are_judged_as_by_trying_everything(self):
        answers = Counter()

        @given(randoms)
        @many
        def check(random):
            count, until, claims = a_world(random, facts=False)
            (ask, *claims) = claims or [an_ask(random, count, until)]
            ask = replace(ask, window=Window(ask.window.start, ask.window.end + 1))
            verdict = judge(pieces(count), claims, [ask])
            assert answer(verdict) == slow_pool.judged(count, plains(claims), [plain(ask)])[0]
            answers[answer(verdict), bool(verdict.witness)] += 1

        check()
        assert min(answers["names", False], answers["yes", True], answers["yes", False]) >= 4

    @given(randoms)
    @many
    def test_where_the_count_decides_a_naming_exists(self, random):
        """The rule under which nothing is searched, by itself."""
        count, _, claims = a_world(random, facts=False)
        assume(slow_pool.enough(count, plains(claims)))
        assume(all(group.count_decides for group in groups_of(claims)))
        assert slow_pool.can_all(count, plains(claims))


class TestKeeping:
    """What a yes promises."""

    @given(randoms)
    @many
    def test_every_yes_can_be_kept_and_takes_nothing_from_anybody(self, random):
        count, until, claims = a_world(random)
        asks = [an_ask(random, count, until) for _ in range(random.choice((1, 1, 2)))]
        stock = pieces(count)
        verdict = judge(stock, claims, asks)
        assert keeps(stock, claims, asks, verdict) == verdict.fits
        if verdict.fits:
            before = slow_pool.lacking(count, plains(claims))
            assert slow_pool.lacking(count, plains([*claims, *asks])) == before

    @given(randoms)
    @many
    def test_taking_a_claim_or_an_out_of_service_window_away_keeps_a_yes(self, random):
        count, until, claims = a_world(random)
        assume(not slow_pool.lacking(count, plains(claims)))
        ask = an_ask(random, count, until)
        assume(claims and judge(pieces(count), claims, [ask]).fits)
        for index in range(len(claims)):
            rest = [*claims[:index], *claims[index + 1 :]]
            assert judge(pieces(count), rest, [ask]).fits
            assert (
                judge(Stock(count), rest, [ask]).fits or not judge(Stock(count), claims, [ask]).fits
            )

    @given(randoms)
    @many
    def test_the_order_of_claims_is_no_matter(self, random):
        count, until, claims = a_world(random)
        ask = an_ask(random, count, until)
        other = random.sample(claims, len(claims))
        ranks = {claim.rank for claim in claims if claim.rank}
        assume(len(ranks) == sum(claim.rank > 0 for claim in claims))
        one, two = (judge(pieces(count), order, [ask]) for order in (claims, other))
        assert (answer(one), one.free, one.short) == (answer(two), two.free, two.short)

    def test_a_witness_that_is_wrong_is_not_kept(self):
        claims, ask = HARD[:-1], a_claim(3, 8)
        verdict = judge(pieces(2), claims, [ask])
        taken = replace(verdict, witness=((1,),))
        twice = replace(verdict, witness=((0, 0),))
        unknown = replace(verdict, witness=((9,),))
        missing = replace(verdict, witness=None)
        bare = replace(verdict, beside=())
        swapped = replace(verdict, beside=((HARD[2], (0,)),))
        crowd = replace(verdict, beside=((HARD[2], (0, 1)),))
        assert keeps(pieces(2), claims, [ask], verdict)
        for bad in (taken, twice, unknown, missing, bare, swapped, crowd):
            assert not keeps(pieces(2), claims, [ask], bad)

    def test_a_yes_is_not_kept_once_a_claim_has_come_between(self):
        claims, ask = HARD[:-1], a_claim(3, 8)
        verdict = judge(pieces(2), claims, [ask])
        assert not keeps(pieces(2), [*claims, a_claim(4, 6)], [ask], verdict)
        assert not keeps(pieces(2), [*claims, named(4, 6, 0)], [ask], verdict)
        assert not keeps(pieces(2), [*claims, a_claim(5, 8, 2)], [ask], verdict)
        assert keeps(pieces(2), claims[:1], [ask], verdict)

    def test_a_yes_by_count_is_not_kept_once_the_count_is_short_or_its_piece_is_named(self):
        ask, other = a_claim(3, 6), named(0, 4, 0)
        assert not keeps(Stock(1), [a_claim(0, 4)], [ask], judge(Stock(1), [], [ask]))
        yes = judge(pieces(2), [], [other])
        assert keeps(pieces(2), [named(3, 5, 1)], [other], yes)
        assert not keeps(pieces(2), [named(3, 5, 0)], [other], yes)

    def test_a_yes_that_lets_claims_fall_is_kept_beside_the_very_same_claims_alone(self):
        """A fact has taken one of two pieces, so the claim that names both keeps one of them."""
        fact, both, ask = a_claim(5, 8, rank=0), named(6, 7, 0, 1), a_claim(4, 6)
        verdict = judge(pieces(2), [fact, both], [ask])
        assert (verdict.witness, verdict.beside) == (((0,),), ((fact, (1,)), (both, (0,))))
        assert keeps(pieces(2), [both, fact], [ask], verdict)
        assert not keeps(pieces(2), [both, fact, a_claim(4, 5)], [ask], verdict)
        for beside in (
            ((fact, (0,)), (both, (0,))), ((fact, (1,)), (both, (1,))),
            ((fact, (1,)), (both, (9,))), ((fact, (1, 1)), (both, (0,))),
        ):  # fmt: skip
            assert not keeps(pieces(2), [fact, both], [ask], replace(verdict, beside=beside))

    @pytest.mark.parametrize(
        "asks",
        [
            pytest.param([], id="none"),
            pytest.param([a_claim(0, 5, 0)], id="of nothing"),
            pytest.param([replace(named(0, 5, 1, 2), quantity=1)], id="more names than quantity"),
            pytest.param([replace(named(0, 5, 1, 1), quantity=2)], id="a name twice"),
        ],
    )
    def test_asks_that_are_none_are_refused(self, asks):
        with pytest.raises(ValueError, match="ask"):
            judge(pieces(3), [], asks)


class TestLargest:
    @given(randoms)
    @many
    def test_the_largest_part_is_the_one_that_trying_each_finds(self, random):
        count, until, claims = a_world(random)
        ask = an_ask(random, count, until)
        ask = ask if ask.items else replace(ask, quantity=random.randint(1, count + 2))
        sizes = [ask.quantity] if ask.items else range(1, ask.quantity + 1)
        found = [
            size
            for size in sizes
            if slow_pool.judged(count, plains(claims), [plain(replace(ask, quantity=size))])[0]
            == "yes"
        ]
        assert largest(pieces(count), claims, ask) == max(found, default=0)

    def test_nothing_fits_where_more_is_claimed_than_there_is(self):
        assert largest(Stock(2), [a_claim(0, 5, 4)], a_claim(0, 5, 3)) == 0

    def test_what_is_undecided_does_not_fit(self):
        assert largest(pieces(2), HARD, a_claim(3, 6), limit_s=0) == 0


class TestFirstFit:
    @pytest.mark.parametrize(
        ("later", "not_before", "not_after", "start"),
        [
            pytest.param(True, 0, 40, 20, id="later, when the claim ends"),
            pytest.param(False, 0, 40, 2, id="earlier, so as to end when it starts"),
            pytest.param(True, 0, 28, 20, id="just within the limit"),
            pytest.param(True, 0, 27, None, id="a second past the limit"),
            pytest.param(False, 2, 40, 2, id="not before the limit"),
            pytest.param(False, 3, 40, None, id="a second before the limit"),
            pytest.param(True, 22, 40, 22, id="later than it could be"),
        ],
    )
    def test_eight_seconds_beside_a_claim_from_10_to_20(self, later, not_before, not_after, start):
        found = first_fit(
            Stock(1), [a_claim(10, 20)], a_claim(12, 20),
            not_before=not_before, not_after=not_after, later=later,
        )  # fmt: skip
        assert found == (None if start is None else Window(start, start + 8))

    def test_where_it_fits_already_it_stays(self):
        for later in (True, False):
            found = first_fit(Stock(1), [], a_claim(3, 6), not_before=0, not_after=9, later=later)
            assert found == Window(3, 6)

    @pytest.mark.parametrize("later", [True, False])
    def test_the_least_shift_is_the_one_that_trying_each_second_finds(self, later):
        moved = Counter()

        @given(randoms)
        @many
        def check(random):
            count, until, claims = a_world(random)
            ask = an_ask(random, count, until)
            first, last = -random.randrange(6), until + random.randrange(8)
            length = ask.window.length_s
            if later:
                starts = range(max(ask.window.start, first), last - length + 1)
            else:
                starts = range(min(ask.window.start, last - length), first - 1, -1)
            expected = next(
                (Window(start, start + length) for start in starts
                 if fits_at(count, claims, ask, start)), None,
            )  # fmt: skip
            found = first_fit(
                pieces(count), claims, ask, not_before=first, not_after=last, later=later
            )
            assert found == expected
            moved[found is not None and found != ask.window] += 1

        check()
        assert moved[True] >= 20


def fits_at(count, claims, ask, start):
    there = (start, start + ask.window.length_s, ask.quantity, ask.items, 99)
    return slow_pool.judged(count, plains(claims), [there])[0] == "yes"


class TestSwap:
    def test_the_example_is_served_with_one_swap_as_late_as_can_be(self):
        assert swap_at(pieces(2), HARD, a_claim(3, 6)) == (5,)
        split = [a_claim(3, 5), a_claim(5, 6)]
        assert judge(pieces(2), HARD, split).fits

    def test_none_where_it_fits_fails_by_numbers_names_its_piece_or_is_undecided(self):
        assert swap_at(pieces(2), HARD, a_claim(9, 12)) == ()
        assert swap_at(pieces(2), HARD, a_claim(3, 6, 2)) == ()
        assert swap_at(pieces(2), HARD, named(0, 6, 0)) == ()
        assert swap_at(pieces(2), HARD, a_claim(3, 6), limit_s=0) == ()

    def test_as_few_and_as_late_as_trying_every_cut_finds(self):
        swaps = Counter()

        @given(randoms)
        @many
        def check(random):
            count, until = random.randint(2, 4), random.randint(6, 12)
            claims = tight_claims(random, count, until, 0.5)[:10]
            loose = [claim for claim in claims if not claim.items]
            assume(loose)
            ask = random.choice(loose)
            claims = [claim for claim in claims if claim is not ask]
            ask = replace(
                ask,
                window=Window(max(0, ask.window.start - random.randrange(3)), ask.window.end + 2),
            )
            found = swap_at(pieces(count), claims, ask)
            swaps[len(found)] += 1
            if judge(pieces(count), claims, [ask]).why is Why.NAMES:
                assert found == slow_pool.fewest_swaps(count, plains(claims), plain(ask))
            else:
                assert found == ()

        check()
        assert swaps[1] >= 5


class TestAtRisk:
    def test_nobody_is_at_risk_while_all_can_be_served(self):
        assert at_risk(pieces(2), HARD) == ()
        assert at_risk(Stock(2), HARD) == ()

    def test_the_later_granted_falls_short_first_and_by_what_it_lacks(self):
        claims = [a_claim(0, 9, 3, rank=2), a_claim(5, 12, 2, rank=1), a_claim(0, 3, 1, rank=0)]
        assert at_risk(Stock(4), claims) == (Risk(0, 1, Why.NUMBERS),)
        assert at_risk(Stock(3), claims) == (Risk(0, 2, Why.NUMBERS),)

    def test_a_late_piece_endangers_the_line_that_names_it_and_not_who_has_it(self):
        claims = [named(6, 9, 0, rank=1), named(0, 7, 0, rank=0)]
        assert at_risk(pieces(3), claims) == (Risk(0, 1, Why.NAMES),)

    def test_a_line_that_finds_enough_but_no_piece_throughout_is_at_risk_by_names(self):
        claims = [*HARD, a_claim(3, 6, rank=7)]
        assert at_risk(pieces(2), claims) == (Risk(4, 1, Why.NAMES),)
        assert at_risk(pieces(2), claims, limit_s=0)[-1].why is Why.UNDECIDED

    @pytest.mark.parametrize("serial", [True, False])
    def test_at_risk_is_what_serving_one_by_one_leaves_over(self, serial):
        seen = Counter()

        @given(randoms)
        @many
        def check(random):
            count, _, claims = a_world(random)
            stock = pieces(count) if serial else Stock(count)
            risks = {risk.index: risk.by for risk in at_risk(stock, claims)}
            assert risks == slow_pool.lacking(count, plains(claims), serial)
            seen[bool(risks)] += 1

        check()
        assert min(seen[True], seen[False]) >= 50
