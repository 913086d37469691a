"""Kit that goes straight from one line to another, beside a pool judged by trying everything."""

from collections import Counter, defaultdict
from dataclasses import replace
from itertools import combinations

from hypothesis import given

from crossload.domain.booking import BookingState
from crossload.domain.custody import Custody, OutOfService
from crossload.domain.holdings import Asked, HeldLine, Recorded, claims, claims_beside
from crossload.domain.judge import at_risk, judge, keeps
from crossload.domain.judge.strands import Strands
from crossload.domain.window import Window
from domain import slow_pool
from domain.pools import a_claim, many, named, pieces, plain, random_claim, randoms, tight_claims

CHECK_IN = 2
KIT = 900


def back_when_due(custody, check_in_s):
    return custody.due_at + (CHECK_IN if check_in_s is None else check_in_s)


def a_line(number, claim, check_in=0, straight_from=None):
    """A confirmed line that occupies what the claim does; its window ends before its check-in."""
    window = claim.window
    return HeldLine(
        number, number, number, KIT, BookingState.CONFIRMED, number, claim.quantity, window.start,
        window.end - check_in, window, claim.items, None, straight_from,
    )  # fmt: skip


def a_taker(random, giver, until, count):
    """The claim of an ask that takes over from a line."""
    end = max(giver.occupied.end, random.randint(giver.end + 1, until + 3))
    quantity = random.randint(1, giver.quantity)
    if random.random() < 0.3:
        of = giver.pieces or range(count)
        return named(giver.end, end, *random.sample(list(of), quantity), rank=0)
    return a_claim(giver.end, end, quantity)


def joined(giver, taker):
    """All the ways to say as claims that a line's kit goes on to a taker: one hold, and the rest."""
    occupied, many_more = giver.occupied, giver.quantity - taker.quantity
    hold = replace(taker, window=Window(occupied.start, taker.window.end), rank=giver.rank)
    rest = a_claim(occupied.start, occupied.end, many_more or 1, rank=giver.rank)
    if not giver.pieces:
        yield [hold, *([rest] if many_more else [])]
        return
    for handed in combinations(giver.pieces, taker.quantity):
        if taker.items and set(taker.items) != set(handed):
            continue
        kept = tuple(piece for piece in giver.pieces if piece not in handed)
        named_rest = [replace(rest, items=kept)] if kept else []
        yield [replace(hold, items=handed), *named_rest]


def a_world(random, some_named):
    """Lines that can just be served, one of which will hand on."""
    count, until = random.randint(1, 4), random.randint(4, 12)
    found = tight_claims(random, count, until, some_named)[:8]
    lines = [
        a_line(number, claim, random.randint(0, min(CHECK_IN, claim.window.length_s - 1)))
        for number, claim in enumerate(found, 1)
    ]
    return count, until, lines


def slowly(count, lines, giver, taker, *more):
    """Whether it can all be served with the two as one hold, by trying everything."""
    others = [
        (one.occupied.start, one.occupied.end, one.quantity, one.pieces, one.rank)
        for one in lines
        if one is not giver
    ]
    return any(
        slow_pool.can_all(count, [*others, *map(plain, hold), *map(plain, more)])
        for hold in joined(giver, taker)
    )


@given(randoms)
@many
def check_asks(answers, some_named, random):
    count, until, lines = a_world(random, some_named)
    if not lines:
        return
    giver = random.choice(lines)
    taker = a_taker(random, giver, until, count)
    asked = [Asked((), taker.window, straight_from=giver.line, taking=(taker,))]
    standing, ((*asks,),) = claims_beside(Recorded(tuple(lines)), back_when_due, asked)
    verdict = judge(pieces(count), standing, asks)
    assert verdict.fits == slowly(count, lines, giver, taker)
    if verdict.fits:
        assert keeps(pieces(count), standing, asks, verdict)
        assert_same_pieces(asks, verdict)
    house = judge(pieces(count), claims(Recorded(tuple(lines)), back_when_due), [taker])
    answers[verdict.fits, house.fits, bool(verdict.witness)] += 1


def assert_same_pieces(asks, verdict):
    served = defaultdict(set)
    for claim, given_ in (*verdict.beside, *zip(asks, verdict.witness or (), strict=False)):
        if claim.strand and not claim.items:
            served[claim.strand].add(frozenset(given_))
    assert all(len(some) == 1 for some in served.values())


def test_an_ask_that_takes_over_is_judged_as_one_hold_with_its_giver():
    answers = Counter()
    check_asks(answers, 0.0)
    check_asks(answers, 0.3)
    assert answers[True, False, False] >= 10, "only because it goes straight, by count"
    assert answers[True, False, True] >= 5, "only because it goes straight, by name"
    assert sum(n for (fits, _, _), n in answers.items() if not fits) >= 10


@given(randoms)
@many
def check_others(answers, random):
    count, until, lines = a_world(random, 0.2)
    if not lines:
        return
    giver = random.choice(lines)
    taker = a_taker(random, giver, until, count)
    if not slowly(count, lines, giver, taker):
        return
    taking = a_line(len(lines) + 1, replace(taker, rank=len(lines) + 1), 0, giver.line)
    standing = claims(Recorded((*lines, taking)), back_when_due)
    assert at_risk(pieces(count), standing) == ()
    ask = random_claim(random, count, until, 99, 0.3)
    verdict = judge(pieces(count), standing, [ask])
    expected = slowly(count, lines, giver, taker, ask)
    if giver.pieces:
        assert expected or not verdict.fits, "never a yes that cannot be kept"
    else:
        assert verdict.fits == expected
    answers[verdict.fits, expected] += 1


def test_an_ask_beside_a_hand_over_is_judged_beside_one_hold():
    answers = Counter()
    check_others(answers)
    assert min(answers[True, True], answers[False, False]) >= 10


HANDS_ON = a_line(1, a_claim(0, 12, 3), check_in=2)
"""Three pieces from 0 to 10, checked in by 12."""


def of(line, found):
    return sorted(
        (c.window.start, c.window.end, c.quantity, c.items)
        for c in found
        if c.about.held and c.about.held.line == line
    )


def test_what_is_handed_on_has_no_check_in_and_the_rest_has():
    takes = a_line(2, a_claim(10, 20, 2), straight_from=1)
    found = claims(Recorded((HANDS_ON, takes)), back_when_due)
    assert of(1, found) == [(0, 10, 2, ()), (0, 12, 1, ())]
    assert of(2, found) == [(10, 20, 2, ())]


def test_kit_goes_on_twice_with_the_same_pieces():
    takes = a_line(2, a_claim(10, 20, 2), straight_from=1)
    last = a_line(3, a_claim(20, 30, 1), straight_from=2)
    found = claims(Recorded((last, HANDS_ON, takes)), back_when_due)
    assert of(1, found) == [(0, 10, 1, ()), (0, 10, 1, ()), (0, 12, 1, ())]
    strands = Counter(claim.strand for claim in found)
    assert sorted(strands.values()) == [1, 2, 3], "one goes on twice, one once, one comes back"


def test_one_line_hands_on_to_two():
    takers = [a_line(n, a_claim(10, 20 + n, 1), straight_from=1) for n in (2, 3)]
    found = claims(Recorded((HANDS_ON, *takers)), back_when_due)
    assert of(1, found) == [(0, 10, 1, ()), (0, 10, 1, ()), (0, 12, 1, ())]


def test_a_taker_whose_giver_has_gone_stands_alone():
    takes = a_line(2, a_claim(10, 20, 2), straight_from=1)
    assert of(2, claims(Recorded((takes,)), back_when_due)) == [(10, 20, 2, ())]


def test_more_than_the_giver_has_left_comes_from_the_house():
    takes = a_line(2, a_claim(10, 20, 2), straight_from=1)
    less = replace(HANDS_ON, quantity=1)
    found = claims(Recorded((less, takes)), back_when_due)
    assert of(1, found) == [(0, 10, 1, ())]
    assert of(2, found) == [(10, 20, 1, ()), (10, 20, 1, ())]


def test_the_piece_that_is_out_is_the_piece_that_is_handed_on():
    out = Custody(50, KIT, 1, 1, 1, 10, item=7, booking=1, line=1)
    takes = a_line(2, a_claim(10, 20, 1), straight_from=1)
    found = claims(
        Recorded((replace(HANDS_ON, quantity=1, pieces=(7,)), takes), (out,)), back_when_due
    )
    assert of(1, found) == [(0, 10, 1, (7,))]
    assert of(2, found) == [(10, 20, 1, (7,))]


def test_of_pieces_that_are_out_the_one_that_nobody_else_names_is_handed_on():
    out = [Custody(50 + n, KIT, 1, 1, 1, 10, item=n, booking=1, line=1) for n in (6, 7)]
    takes = a_line(2, a_claim(10, 20, 1), straight_from=1)
    wanting = a_line(3, named(12, 15, 6))
    giver = replace(HANDS_ON, quantity=2, pieces=(6, 7))
    found = claims(Recorded((giver, takes, wanting), tuple(out)), back_when_due)
    assert of(2, found) == [(10, 20, 1, (7,))]
    assert of(1, found) == [(0, 10, 1, (7,)), (0, 12, 1, (6,))]


def test_kit_that_is_late_is_held_by_both_until_it_is_expected():
    out = Custody(50, KIT, 1, 1, 1, 10, item=7, booking=1, line=1)
    takes = a_line(2, a_claim(10, 20, 1), straight_from=1)
    recorded = Recorded((replace(HANDS_ON, quantity=1, pieces=(7,)), takes), (out,))
    found = claims(recorded, back_when_due, lambda custody, by: 15)
    assert of(1, found) == [(0, 15, 1, (7,))]
    assert of(2, found) == [(10, 20, 1, ())]
    (risk,) = at_risk(pieces(1), [replace(claim, items=()) for claim in found])
    assert risk.by == 1


def test_what_the_taker_has_out_already_is_taken_over_from_nobody():
    other = Custody(50, KIT, 1, 2, 8, 20, item=7, booking=2, line=2)
    takes = replace(a_line(2, a_claim(10, 20, 2), straight_from=1), pieces=(7,))
    found = claims(Recorded((HANDS_ON, takes), (other,)), back_when_due)
    assert of(1, found) == [(0, 10, 1, ()), (0, 12, 1, ()), (0, 12, 1, ())]
    assert of(2, found) == [(8, 22, 1, (7,)), (10, 20, 1, ())]


def test_a_piece_that_is_known_at_one_end_is_known_all_along():
    out = Custody(50, KIT, 1, 1, 1, 10, item=7, booking=1, line=1)
    takes = a_line(2, a_claim(10, 20, 1), straight_from=1)
    last = a_line(3, a_claim(20, 30, 1), straight_from=2)
    giver = replace(HANDS_ON, quantity=1, pieces=(7,))
    found = claims(Recorded((giver, takes, last), (out,)), back_when_due)
    assert [claim.items for claim in found] == [(7,), (7,), (7,)]


def test_what_is_handed_on_is_not_handed_on_again():
    takers = [
        a_line(2, a_claim(10, 20, 1), straight_from=1),
        a_line(3, a_claim(10, 30, 2), straight_from=1),
        a_line(4, a_claim(30, 40, 1), straight_from=3),
    ]
    found = claims(Recorded((HANDS_ON, *takers)), back_when_due)
    assert sum(quantity for start, end, quantity, _ in of(1, found) if end == 10) == 3
    assert at_risk(pieces(3), found) == ()


def test_a_line_that_is_changed_is_followed_by_who_takes_over_from_it():
    takes = a_line(2, a_claim(10, 20, 2), straight_from=1)
    sooner = Asked((a_claim(0, 10, 3),), Window(0, 8), line=1)
    found, ((*asked,),) = claims_beside(Recorded((HANDS_ON, takes)), back_when_due, [sooner])
    assert of(2, found) == [(8, 20, 2, ())]
    assert sorted((c.window.end, c.quantity) for c in asked) == [(8, 2), (10, 1)]


def test_a_chain_is_handed_on_piece_by_piece_where_pieces_are_named():
    out = Custody(50, KIT, 1, 1, 1, 10, item=7, booking=1, line=1)
    takes = a_line(2, a_claim(10, 20, 2), straight_from=1)
    last = a_line(3, a_claim(20, 30, 2), straight_from=2)
    giver = replace(HANDS_ON, quantity=2, pieces=(7,))
    found = claims(Recorded((giver, takes, last), (out,)), back_when_due)
    assert {claim.quantity for claim in found} == {1}
    assert sum(claim.items == (7,) for claim in found) == 3


def spans(found):
    return sorted((c.window.start, c.window.end, c.quantity, c.items) for c in found)


def test_who_cannot_follow_a_line_that_ends_later_stands_alone():
    takes = a_line(2, a_claim(10, 20, 2), straight_from=1)
    later = Asked((), Window(12, 16), line=1, taking=(a_claim(12, 18, 3),))
    found, ((*asked,),) = claims_beside(Recorded((HANDS_ON, takes)), back_when_due, [later])
    assert (of(2, found), spans(asked)) == ([(10, 20, 2, ())], [(12, 18, 3, ())])


def test_a_piece_out_of_service_meanwhile_is_the_last_to_be_handed_on():
    out = [Custody(50 + n, KIT, 1, 1, 1, 10, item=n, booking=1, line=1) for n in (6, 7)]
    takes = a_line(2, a_claim(10, 20, 1), straight_from=1)
    away = OutOfService(60, KIT, 1, 12, 15, item=6)
    giver = replace(HANDS_ON, quantity=2, pieces=(6, 7))
    found = claims(Recorded((giver, takes), tuple(out), (away,)), back_when_due)
    assert of(2, found) == [(10, 20, 1, (7,))]


def test_a_piece_that_is_named_after_the_hold_is_handed_on_like_any_other():
    out = [Custody(50 + n, KIT, 1, 1, 1, 10, item=n, booking=1, line=1) for n in (6, 7)]
    takes = a_line(2, a_claim(10, 20, 1), straight_from=1)
    giver = replace(HANDS_ON, quantity=2, pieces=(6, 7))
    found = claims(Recorded((giver, takes, a_line(3, named(20, 25, 6))), tuple(out)), back_when_due)
    assert of(2, found) == [(10, 20, 1, (6,))]


def test_what_the_taker_has_out_already_does_not_follow():
    other = Custody(50, KIT, 1, 2, 8, 20, item=7, booking=2, line=2)
    takes = replace(a_line(2, a_claim(10, 20, 2), straight_from=1), pieces=(7,))
    sooner = Asked((), Window(0, 6), line=1, taking=(a_claim(0, 8, 3),))
    found, _ = claims_beside(Recorded((HANDS_ON, takes), (other,)), back_when_due, [sooner])
    assert of(2, found) == [(6, 20, 1, ()), (8, 22, 1, (7,))]


def test_a_named_piece_is_taken_from_the_claim_that_names_it():
    giver = replace(HANDS_ON, quantity=2, pieces=(7,))
    takes = a_line(2, named(10, 20, 7), straight_from=1)
    assert of(1, claims(Recorded((giver, takes)), back_when_due)) == [
        (0, 10, 1, (7,)),
        (0, 12, 1, ()),
    ]


def test_what_an_asker_has_already_is_taken_over_from_nobody():
    ask = Asked(
        (a_claim(10, 20, 1),), Window(10, 20), straight_from=1, taking=(a_claim(10, 20, 1),)
    )
    found, _ = claims_beside(Recorded((HANDS_ON,)), back_when_due, [ask])
    assert of(1, found) == [(0, 10, 1, ()), (0, 12, 2, ())]


def test_asks_are_none_of_the_claims_that_are_told_apart():
    ask = named(0, 5, 1)
    strands = Strands([], [ask])
    assert list(strands.apart([(strands.asks[0], (1,))])) == []


def test_two_equal_asks_are_told_apart():
    ask = a_claim(0, 5)
    assert len({id(one) for one in Strands([], [ask, ask]).own}) == 2


def test_a_strand_is_as_late_as_its_last_part():
    strand = ("s",)
    parts = [
        replace(a_claim(0, 10, rank=1), strand=strand),
        replace(a_claim(10, 20, rank=9), strand=strand),
    ]
    (tied,) = Strands(parts, []).claims
    assert (tied.window, tied.rank) == (Window(0, 20), 9)
