"""What goes with what: the kit that a pack needs to work, and what changes with a substitute."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from crossload.domain.booking import Wanted
from crossload.domain.kit import KitType, Need
from crossload.domain.window import Id

RECEIVER = "receiver"
PACK = "pack"


@dataclass(frozen=True, slots=True)
class Part:
    """So many of a kit type, for one need of the kit type that it goes with."""

    kit: KitType
    quantity: int
    choices: tuple[KitType, ...] = ()


def agrees(kit: KitType, other: KitType, match: Iterable[str]) -> bool:
    """Whether two kit types have the same value for each of the traits."""
    return all(kit.traits.get(t) and kit.traits.get(t) == other.traits.get(t) for t in match)


def meets(kit: KitType, need: Need, main: KitType) -> bool:
    """Whether a kit type is what a need of `main` is for."""
    return kit.category == need.category and agrees(main, kit, need.match)


def candidates(main: KitType, need: Need, kit_types: Iterable[KitType]) -> list[KitType]:
    """The kit types that would meet a need of `main`, most ways first, then by name."""
    found = [kit for kit in kit_types if meets(kit, need, main)]
    return sorted(found, key=lambda k: (-k.ways, k.name))


def spare_ways(main: KitType, held: Mapping[Id, int], kit_types: Mapping[Id, KitType]) -> int:
    """Ways that a holder has over for `main`: those that agree with it, less packs of its kind."""
    need = next((need for need in main.goes_with if need.category == RECEIVER), None)
    if need is None:
        return 0
    ways = packs = 0
    for id, quantity in held.items():
        kit = kit_types[id]
        if kit.category == RECEIVER and agrees(main, kit, need.match):
            ways += kit.ways * quantity
        elif kit.category == PACK and agrees(main, kit, need.match):
            packs += quantity
    return max(0, ways - packs)


def parts(
    main: KitType,
    quantity: int,
    kit_types: Mapping[Id, KitType],
    free: Mapping[Id, int],
    spare: int = 0,
) -> list[Part]:
    """All that so many of `main` need, chosen from what is free; `spare` ways are there already.

    Where nothing that fits is free the first candidate is still named, so that the judge can say
    what is lacking; a need that no kit type of the pool meets is left out.
    """
    made: list[Part] = []
    for need in main.goes_with:
        choices = candidates(main, need, kit_types.values())
        wanted = need.quantity * quantity
        if need.category == RECEIVER:
            chosen = _cover(choices, wanted - spare, free)
        else:
            chosen = _share_out(choices, wanted, free)
        made.extend(Part(kit, n, tuple(choices)) for kit, n in chosen)
    return made


def _cover(
    choices: Sequence[KitType], ways: int, free: Mapping[Id, int]
) -> list[tuple[KitType, int]]:
    """Few receivers that give so many ways: large ones first, the rest with the smallest that do."""
    chosen: dict[Id, int] = {}
    by_id = {kit.id: kit for kit in choices}
    left = {kit.id: max(0, free.get(kit.id, 0)) for kit in choices}
    for kit in choices:
        some = min(left[kit.id], ways // kit.ways) if kit.ways and ways > 0 else 0
        if some:
            chosen[kit.id] = some
            left[kit.id] -= some
            ways -= some * kit.ways
    for kit in reversed(choices):
        while ways > 0 and left[kit.id] > 0 and kit.ways:
            chosen[kit.id] = chosen.get(kit.id, 0) + 1
            left[kit.id] -= 1
            ways -= kit.ways
    for kit in reversed(choices):  # a large one that came last can leave small ones without use
        some = min(chosen.get(kit.id, 0), -ways // kit.ways) if kit.ways and ways < 0 else 0
        chosen[kit.id] = chosen.get(kit.id, 0) - some
        ways += some * kit.ways
    if ways > 0 and choices and choices[0].ways:
        chosen[choices[0].id] = chosen.get(choices[0].id, 0) + -(-ways // choices[0].ways)
    return [(by_id[id], n) for id, n in chosen.items() if n]


def _share_out(
    choices: Sequence[KitType], wanted: int, free: Mapping[Id, int]
) -> list[tuple[KitType, int]]:
    """The whole from one type where one has enough (rechargeable first), else from several."""

    def worth(kit: KitType) -> tuple[bool, bool, int]:
        there = free.get(kit.id, 0)
        return there < wanted, not kit.rechargeable, -there

    by_free = sorted(choices, key=worth)
    chosen: list[tuple[KitType, int]] = []
    for kit in by_free:
        some = min(max(0, free.get(kit.id, 0)), wanted)
        if some:
            chosen.append((kit, some))
            wanted -= some
    if wanted and by_free:
        first, n = chosen[0] if chosen else (by_free[0], 0)
        chosen[:1] = [(first, n + wanted)]
    return chosen


def main_of(lines: Sequence[Wanted], kit_types: Mapping[Id, KitType], short: Id) -> Id | None:
    """The kit type of the lines that `short` goes with, or `short` where it goes with none."""
    mains = [line.kit_type for line in lines if kit_types[line.kit_type].goes_with]
    if short in mains:
        return short
    kit = kit_types[short]
    return next(
        (id for id in mains if any(meets(kit, n, kit_types[id]) for n in kit_types[id].goes_with)),
        None,
    )


def total(lines: Iterable[Wanted], kit_type: Id) -> int:
    """How many of a kit type the lines want, named pieces among them."""
    return sum(line.quantity for line in lines if line.kit_type == kit_type)


def without(
    lines: Sequence[Wanted],
    main: Id,
    fewer: int,
    kit_types: Mapping[Id, KitType],
    *,
    swapped: bool = False,
) -> tuple[Wanted, ...]:
    """The lines with so many fewer of `main`, and with less of what goes with it.

    Only what the rest cannot use goes: of fewer lavaliers than packs none does as long as there are
    packs for them. What is `swapped` takes all that goes with it along, to be needed anew by what
    comes in its place.
    """
    take = {main: fewer}
    kit = kit_types[main]
    for need in kit.goes_with:
        matching = [line.kit_type for line in lines if meets(kit_types[line.kit_type], need, kit)]
        each = {id: _worth(kit_types[id]) for id in matching}
        over = fewer * need.quantity
        if not swapped and matching:
            there = sum(total(lines, id) * worth for id, worth in each.items())
            used = _users(lines, [kit_types[id] for id in matching], kit_types) - over
            over = min(over, max(0, there - used))
        for id, worth in each.items():
            some = min(total(lines, id), over // worth)
            take[id] = take.get(id, 0) + some
            over -= some * worth
    kept = list(lines)
    for index in sorted(range(len(kept)), key=lambda index: _is_handed_on(kept[index])):
        line = kept[index]
        some = 0 if line.item is not None else min(take.get(line.kit_type, 0), line.quantity)
        take[line.kit_type] = take.get(line.kit_type, 0) - some
        kept[index] = replace(line, quantity=line.quantity - some)
    return tuple(line for line in kept if line.quantity)


def _is_handed_on(line: Wanted) -> bool:
    """What comes from another unit is the last to go, and nothing of the house's is added to it."""
    return line.straight_from is not None


def joined(lines: Sequence[Wanted], more: Iterable[tuple[Id, int]]) -> tuple[Wanted, ...]:
    """The lines with more of some kit types, added to a line of that type where one stands."""
    made = list(lines)
    for id, quantity in more:
        for index, line in enumerate(made):
            if line.kit_type == id and line.item is None and not _is_handed_on(line):
                made[index] = replace(line, quantity=line.quantity + quantity)
                break
        else:
            made.append(Wanted(id, quantity))
    return tuple(made)


def still_needed(
    main: KitType,
    quantity: int,
    lines: Sequence[Wanted],
    held: Mapping[Id, int],
    kit_types: Mapping[Id, KitType],
    free: Mapping[Id, int],
) -> list[Part]:
    """What so many of `main` need beyond what the lines meet, and ways that the holder has over."""
    there = dict(held)
    for line in lines:
        there[line.kit_type] = there.get(line.kit_type, 0) + line.quantity
    lacking: list[Part] = []
    for part in parts(main, quantity, kit_types, free, spare_ways(main, there, kit_types)):
        if part.kit.category == RECEIVER:
            lacking.append(part)
            continue
        fitting = {kit.id for kit in part.choices}
        users = _users(lines, [part.kit], kit_types)
        have = sum(line.quantity for line in lines if line.kit_type in fitting) - users
        some = part.quantity - max(0, have)
        if some > 0:
            lacking.append(replace(part, quantity=some))
    return lacking


def _worth(kit: KitType) -> int:
    """What one piece counts for where so many are needed: of receivers the ways are counted."""
    return max(1, kit.ways) if kit.category == RECEIVER else 1


def _users(
    lines: Iterable[Wanted], kits: Sequence[KitType], kit_types: Mapping[Id, KitType]
) -> int:
    """How many of these kit types, of one category, all pieces of the lines use; ways of receivers."""
    return sum(
        line.quantity * max(_per_piece(kit_types[line.kit_type], kit) for kit in kits)
        for line in lines
    )


def _per_piece(main: KitType, kit: KitType) -> int:
    """How many of `kit` one piece of `main` uses."""
    return sum(need.quantity for need in main.goes_with if meets(kit, need, main))
