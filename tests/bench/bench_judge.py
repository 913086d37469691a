"""Processor time of the judge: counting beside 100 claims, naming 24 pieces over 100 days.

Run it by itself: .venv/bin/python tests/bench/bench_judge.py
"""

from dataclasses import replace
from random import Random
from statistics import quantiles
from time import process_time

from crossload.domain.claims import Claim, Stock, Why
from crossload.domain.judge import judge, keeps
from crossload.domain.window import Id, Window

HOUR, DAY = 3600, 86_400
PIECES, DAYS = 24, 100


def main() -> None:
    counting()
    for share in (0.0, 0.05, 0.2, 0.4):
        naming(share)


def counting() -> None:
    """100 claims that overlap a day's ask on 200 counted pieces: no names, so nothing to search."""
    random = Random(1)
    worlds = [(a_count_world(random), a_window(random, 0, 12)) for _ in range(2000)]
    spent = []
    for claims, window in worlds:
        begun = process_time()
        judge(Stock(200), claims, [Claim(window, 4)])
        spent.append(process_time() - begun)
    say("count, 100 claims beside the ask", spent, "")


def a_count_world(random: Random) -> list[Claim]:
    return [Claim(a_window(random, -6, 12), random.randint(1, 3), rank=1) for _ in range(100)]


def a_window(random: Random, first_hour: int, last_hour: int) -> Window:
    start = random.randint(first_hour, last_hour) * HOUR
    return Window(start, start + random.randint(13, 30) * HOUR)


def naming(share: float) -> None:
    """One booking of a house whose days are all but full is asked for anew, half of them a day longer.

    `share` of the other claims name their piece, so that the count decides nothing.
    """
    spent, answers = [], {"yes": 0, **dict.fromkeys(Why, 0)}
    stock = Stock(PIECES, tuple(Id(piece) for piece in range(PIECES)))
    for seed in range(60):
        random = Random(seed)
        claims = a_full_house(random, share)
        claims, ask = taken_out(random, claims, longer=seed % 2 == 1)
        begun = process_time()
        verdict = judge(stock, claims, [ask])
        spent.append(process_time() - begun)
        if verdict.fits and not keeps(stock, claims, [ask], verdict):
            raise SystemExit(f"a yes that cannot be kept: seed {seed}, share {share}")
        answers[verdict.why or "yes"] += 1
    told = ", ".join(f"{number} {answer}" for answer, number in answers.items() if number)
    say(f"name, {len(claims)} claims, {share:.0%} of them named", spent, told)


def a_full_house(random: Random, share: float) -> list[Claim]:
    """Each piece's days filled one booking after another, overnight and over several days."""
    claims: list[Claim] = []
    for piece in range(PIECES):
        at = random.randrange(3) * DAY
        while at < DAYS * DAY:
            end = at + random.choice((1, 1, 1, 2, 3, 5, 8)) * DAY
            items = (Id(piece),) if random.random() < share else ()
            claims.append(Claim(Window(at + 5 * HOUR, end + 2 * HOUR), 1, items, rank=1))
            at = end + random.choice((0, 0, 0, 1)) * DAY
    return claims


def taken_out(random: Random, claims: list[Claim], *, longer: bool) -> tuple[list[Claim], Claim]:
    ask = random.choice([claim for claim in claims if not claim.items])
    rest = [claim for claim in claims if claim is not ask]
    if longer:
        ask = replace(ask, window=Window(ask.window.start, ask.window.end + DAY))
    return rest, ask


def say(what: str, spent: list[float], more: str) -> None:
    cuts = quantiles(spent, n=100, method="inclusive")
    figures = (cuts[49], cuts[98], max(spent))
    told = "  ".join(
        f"{name} {1000 * each:8.3f} ms"
        for name, each in zip(("p50", "p99", "most"), figures, strict=True)
    )
    print(f"{what:44}{told}  {more}")


if __name__ == "__main__":
    main()
