"""Where a pencil stands among those before it."""

from crossload.domain.judge import judge as weigh
from crossload.usecases.judging import TypeVerdict
from crossload.usecases.recorded import World, held_by


def place(world: World, verdict: TypeVerdict, rank: int) -> int:
    """A pencil's place: 1 + the earlier pencils, in order, that must go before its lines fit.

    `verdict` is of the pencil itself, judged without it; pencils of its own unit do not count.
    """
    held = [(claim, held_by(claim)) for claim in verdict.pencils]
    earlier = sorted({(h.rank, h.booking) for _, h in held if h and h.rank < rank})
    stock = world.stock[verdict.kit.id]
    for gone in range(len(earlier) + 1):
        staying = {booking for _, booking in earlier[gone:]}
        beside = [claim for claim, h in held if h and h.booking in staying]
        if weigh(stock, [*verdict.claims, *beside], verdict.asks).fits:
            return 1 + gone
    return 1 + len(earlier)
