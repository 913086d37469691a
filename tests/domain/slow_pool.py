"""A pool judged by trying everything: plain integers, one bit a second, none of the engine's code.

A claim is (start, end, quantity, names, rank) with instants from -64 up, names a tuple of pieces
from range(pieces), rank 0 for a fact. Fit for a handful of pieces and claims.
"""

from itertools import combinations, pairwise


def bits(start, end):
    return (1 << end + 64) - (1 << start + 64)


def can_all(pieces, claims):
    """Whether every claim can have its own pieces throughout; facts on one piece may overlap."""
    facts, taken = [0] * pieces, [0] * pieces
    loose = []
    for start, end, quantity, names, rank in claims:
        if names and rank == 0:
            for piece in names:
                facts[piece] |= bits(start, end)
        elif names:
            for piece in names:
                if taken[piece] & bits(start, end):
                    return False
                taken[piece] |= bits(start, end)
        else:
            loose.append((bits(start, end), quantity))
    if any(fact & named for fact, named in zip(facts, taken, strict=True)):
        return False
    busy = [fact | named for fact, named in zip(facts, taken, strict=True)]
    return _place(busy, sorted(loose, key=lambda claim: -claim[0].bit_count()))


def _place(busy, loose):
    if not loose:
        return True
    (mask, quantity), *rest = loose
    free = [piece for piece, taken in enumerate(busy) if not taken & mask]
    for chosen in combinations(free, quantity):
        after = [taken | mask if piece in chosen else taken for piece, taken in enumerate(busy)]
        if _place(after, rest):
            return True
    return False


def free_at(pieces, claims, instant, serial=True):
    """Pieces less claims; facts that name one piece count once (of serial kit)."""
    held, facts = 0, set()
    for start, end, quantity, names, rank in claims:
        if start <= instant < end:
            if names and rank == 0 and serial:
                facts |= set(names)
            else:
                held += quantity
    return pieces - held - len(facts)


def served(pieces, claims, serial=True):
    """For each claim the part that can be had beside those before it: named facts, then by rank."""
    fits = can_all if serial else enough
    parts = [None] * len(claims)
    named_facts = [i for i, claim in enumerate(claims) if claim[4] == 0 and claim[3]]
    others = [i for i in range(len(claims)) if i not in named_facts]
    for index in named_facts + sorted(others, key=lambda i: claims[i][4]):
        start, end, quantity, names, rank = claims[index]
        before = [part for part in parts if part]
        if names:
            kept = ()
            for piece in names:
                part = (start, end, len(kept) + 1, (*kept, piece), rank)
                if fits(pieces, [*before, part]):
                    kept = part[3]
            parts[index] = (start, end, len(kept), kept, rank) if kept else None
        else:
            for some in range(quantity, 0, -1):
                if fits(pieces, [*before, (start, end, some, (), rank)]):
                    parts[index] = (start, end, some, (), rank)
                    break
    return parts


def enough(pieces, claims):
    return all(free_at(pieces, claims, at, serial=False) >= 0 for at in _seconds(claims))


def lacking(pieces, claims, serial=True):
    """{index: how many pieces} of what nobody's fault but the facts' has fallen."""
    return {
        index: claim[2] - (part[2] if part else 0)
        for index, (claim, part) in enumerate(
            zip(claims, served(pieces, claims, serial), strict=True)
        )
        if claim[4] > 0 and claim[2] != (part[2] if part else 0)
    }


def judged(pieces, claims, asks, serial=True):
    """(answer, least free, {instant: shortage}); the answer is yes, numbers or names."""
    short, least = {}, None
    for at in _seconds(asks):
        asked = sum(quantity for start, end, quantity, _, _ in asks if start <= at < end)
        if asked:
            free = free_at(pieces, claims, at, serial)
            least = free if least is None else min(least, free)
            if asked > free:
                short[at] = asked - free
    if short:
        return "numbers", least, short
    if not serial:
        return "yes", least, {}
    for start, end, _, names, _ in asks:
        for other_start, other_end, _, others, _ in claims:
            if set(names) & set(others) and start < other_end and other_start < end:
                return "names", least, {}
    rest = [part for part in served(pieces, claims) if part]
    last = [(start, end, quantity, names, 99) for start, end, quantity, names, _ in asks]
    return ("yes" if can_all(pieces, rest + last) else "names"), least, {}


def fewest_swaps(pieces, claims, ask):
    """The fewest instants at which the ask must be cut so that it fits, and the latest such cut."""
    start, end, quantity, names, rank = ask
    for many in range(1, end - start):
        for cuts in sorted(combinations(range(start + 1, end), many), key=sum, reverse=True):
            edges = [start, *cuts, end]
            legs = [(since, until, quantity, names, rank) for since, until in pairwise(edges)]
            if judged(pieces, claims, legs)[0] == "yes":
                return cuts
    return ()


def _seconds(claims):
    return range(
        min((claim[0] for claim in claims), default=0),
        max((claim[1] for claim in claims), default=0),
    )
