"""Lines that take kit straight over from another unit: from when on, and for how many."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from crossload.domain.booking import Ask, Wanted
from crossload.domain.holdings import HeldLine
from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.recorded import World, is_confirmed

BY_HAND = (Tracking.SERIAL, Tracking.COUNT)
"""What one unit can put into the hands of another, and has back after."""


@dataclass(frozen=True, slots=True)
class Slot:
    """Where a wanted line stands in time, and the line that it takes over from, if from one."""

    occupied: Window
    straight_from: Id | None = None


def gap_s(clockwork: Clockwork, unit: Id) -> int:
    """What lies between one unit's window and that of the unit that takes over: way and swap check."""
    taker = clockwork.stores.units.get(unit)
    return (taker.way_s if taker else 0) + clockwork.stores.header.swap_check_s


def taking_over(since: Instant, own: Window, until: Instant) -> Window:
    """What a line occupies that takes over: from where the giver's window ends.

    No shorter than the giver is occupied, so that to give up the hand-over never makes a shortage.
    """
    return Window(since, max(own.end, until))


def givers(
    world: World, ask: Ask, kit_type: Id, *, without: Id | None = None
) -> list[tuple[HeldLine, int]]:
    """The confirmed lines of other units that end early enough to hand kit on to an ask.

    Each with how many of it nobody has asked for yet, beside the booking `without`.
    """
    if world.kit[kit_type].tracking not in BY_HAND:
        return []
    by = ask.window.start - gap_s(world.clockwork, ask.unit)
    lines = world.recorded[kit_type].lines
    taken: dict[Id, int] = defaultdict(int)
    for held in lines:
        if held.straight_from is not None and is_confirmed(held) and held.booking != without:
            taken[held.straight_from] += held.quantity - out_on(world, kit_type, held.line)
    found = [
        (held, held.quantity - taken[held.line])
        for held in lines
        if is_confirmed(held) and held.unit != ask.unit and held.end <= by
    ]
    return [(held, left) for held, left in found if left > 0]


def out_on(world: World, kit_type: Id, line: Id | None) -> int:
    """How many are out on a line."""
    return sum(custody.quantity for custody in world.recorded[kit_type].out if custody.line == line)


def slots_of(world: World, ask: Ask, *, without: Id | None = None) -> list[Slot]:
    """What each wanted line occupies, and from whom it takes over if it can.

    Where it cannot, it comes from the house, as any other line does.
    """
    taken: dict[Id, int] = defaultdict(int)
    slots = []
    for wanted in ask.lines:
        own = world.clockwork.occupied(
            ask.window, world.kit[wanted.kit_type], wanted.prep_s, wanted.check_in_s
        )
        giver = _giver_of(world, ask, wanted, without, taken)
        if giver is not None:
            own = taking_over(giver.end, own, giver.occupied.end)
        slots.append(Slot(own, giver.line if giver else None))
    return slots


def _giver_of(
    world: World, ask: Ask, wanted: Wanted, without: Id | None, taken: dict[Id, int]
) -> HeldLine | None:
    if wanted.straight_from is None:
        return None
    out = 0 if wanted.line is None else out_on(world, wanted.kit_type, wanted.line)
    needed = wanted.quantity - out
    for held, left in givers(world, ask, wanted.kit_type, without=without):
        has_it = wanted.item is None or wanted.item in held.pieces or left > len(held.pieces)
        if held.line == wanted.straight_from and has_it and needed <= left - taken[held.line]:
            taken[held.line] += needed
            return held
    return None


def as_given(world: World, ask: Ask, *, without: Id | None = None) -> Ask:
    """The ask, each line that wants more than its giver has in two: the rest is the house's."""
    lines: list[Wanted] = []
    taken: dict[Id, int] = defaultdict(int)
    for line in ask.lines:
        some = line.quantity
        if line.straight_from is not None and line.item is None:
            left = givers(world, ask, line.kit_type, without=without)
            has = next((n for held, n in left if held.line == line.straight_from), 0)
            some = min(
                some, has - taken[line.straight_from] + out_on(world, line.kit_type, line.line)
            )
            taken[line.straight_from] += some
        if 0 < some < line.quantity:
            lines.append(replace(line, quantity=some))
            lines.append(Wanted(line.kit_type, line.quantity - some, check_in_s=line.check_in_s))
        else:
            lines.append(line)
    return replace(ask, lines=tuple(lines))


def handed_over(
    world: World, ask: Ask, lacking: Mapping[Id, int], *, without: Id | None = None
) -> tuple[Wanted, ...]:
    """The lines of an ask, with what of each kit type is lacking taken over from other units."""
    left = dict(lacking)
    lines: list[Wanted] = []
    taken: dict[Id | None, int] = defaultdict(int)
    for line in ask.lines:
        taken[line.straight_from] += line.quantity
    for line in ask.lines:
        most = 0 if line.item is not None else line.quantity - line.gone
        wanted = min(left.get(line.kit_type, 0), most)
        parts = list(_most_first(world, ask, line.kit_type, wanted, taken, without))
        got = sum(part.quantity for part in parts)
        left[line.kit_type] = left.get(line.kit_type, 0) - got
        lines += [replace(line, quantity=line.quantity - got)] if got < line.quantity else []
        lines += parts
    return tuple(lines)


def _most_first(
    world: World,
    ask: Ask,
    kit_type: Id,
    wanted: int,
    taken: dict[Id | None, int],
    without: Id | None,
) -> Iterator[Wanted]:
    """Up to so many from the lines that stand in the way, those first that have most to give."""
    start = world.clockwork.occupied(ask.window, world.kit[kit_type]).start
    for held, left in sorted(givers(world, ask, kit_type, without=without), key=lambda g: -g[1]):
        some = min(wanted, left - taken[held.line])
        if some > 0 and held.occupied.end > start:
            wanted -= some
            taken[held.line] += some
            yield Wanted(kit_type, some, straight_from=held.line)
