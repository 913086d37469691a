"""Claims and stock for tests of the judge: builders, random pools, and the way to the slow model."""

from random import Random

from hypothesis import settings
from hypothesis import strategies as st

from crossload.domain.claims import Claim, Stock
from crossload.domain.window import Id, Window


def a_claim(start, end, quantity=1, *names, rank=1):
    """Pieces of [start, end): so many, or those named."""
    items = tuple(Id(name) for name in names)
    return Claim(Window(start, end), len(items) or quantity, items, None, rank)


def named(start, end, *names, rank=1):
    return a_claim(start, end, 1, *names, rank=rank)


def pieces(count):
    """Serial stock with pieces 0, 1, …"""
    return Stock(count, tuple(Id(piece) for piece in range(count)))


def plain(claim):
    """A claim as the slow model takes it."""
    return claim.window.start, claim.window.end, claim.quantity, claim.items, claim.rank


def plains(claims):
    return [plain(claim) for claim in claims]


def random_claim(random: Random, count: int, until: int, rank: int, some_named: float = 0.4):
    start = random.randrange(until)
    end = random.randint(start + 1, min(start + until // 2, until))
    quantity = min(random.choice((1, 1, 1, 1, 2, 3)), count)
    if random.random() < some_named:
        return named(start, end, *random.sample(range(count), quantity), rank=rank)
    return a_claim(start, end, quantity, rank=rank)


def random_claims(random: Random, count: int, most: int, until: int):
    """Claims on a few pieces, a third of them facts, ranks in no order."""
    many = random.randint(0, most)
    ranks = [0 if random.random() < 0.33 else rank for rank in range(1, many + 1)]
    random.shuffle(ranks)
    return [random_claim(random, count, until, rank) for rank in ranks]


def tight_claims(random: Random, count: int, until: int, some_named: float = 0.4):
    """Claims that can just be served: each piece's days filled in turn, few of them left named."""
    claims = []
    for piece in range(count):
        at = random.randrange(3)
        while at < until:
            end = random.randint(at + 1, at + until // 2)
            if end <= until and random.random() < 0.8:
                is_named = random.random() < some_named
                rank = random.randint(0, 3)
                claims.append(
                    named(at, end, piece, rank=rank) if is_named else a_claim(at, end, rank=rank)
                )
            at = end + random.choice((0, 0, 0, 1, 2))
    random.shuffle(claims)
    return claims


randoms = st.integers(0, 2**32).map(Random)
"""Random worlds by seed: a seed alone is enough to see one again."""

many = settings(max_examples=5 * settings.default.max_examples)
"""For checks whose worlds are cheap, and of which only a few lie where it is hard."""

LECTURES = {
    "a": (900, 1030), "b": (900, 1230), "c": (900, 1030), "d": (1100, 1230), "e": (1100, 1400),
    "f": (1300, 1430), "g": (1300, 1430), "h": (1400, 1630), "i": (1500, 1630), "j": (1500, 1630),
}  # fmt: skip
"""Kleinberg & Tardos, Algorithm Design, section 4.1: ten lectures, half-open, which need 3 rooms.

The depth was computed anew; the times of day are from memory.
"""


ACTIVITIES = (
    (1, 4), (3, 5), (0, 6), (5, 7), (3, 9), (5, 9), (6, 10), (8, 11), (8, 12), (2, 14), (12, 16),
)  # fmt: skip
"""Cormen, Leiserson, Rivest & Stein, Introduction to Algorithms, section 16.1, from memory: of these
eleven activities, half-open, one room can hold four, such as the 1st, 4th, 8th and 11th.

That four are the most, and that six run at once from 8 to 9, was computed anew.
"""


def activities(*numbers):
    """Those with these numbers, from 1; all when none is given."""
    return [a_claim(*ACTIVITIES[number - 1]) for number in numbers or range(1, 12)]


def lectures(names="abcdefghij"):
    return [a_claim(*LECTURES[name]) for name in names]
