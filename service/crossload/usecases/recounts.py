"""What coming lines occupy, counted again when prep, check-in or the house's hours change."""

from collections.abc import Iterable
from dataclasses import replace

from crossload.domain.kit import KitType
from crossload.domain.window import Id, Instant
from crossload.storage.coming import ComingLine
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.straight import taking_over


def recount(stores: Stores, clockwork: Clockwork, kit_types: Iterable[KitType]) -> int:
    """Count anew what live lines of these kit types occupy; answers how many lines that changed.

    A line that overrides prep or check-in keeps its own. This is a fact and is not judged: what it
    makes short is at risk.
    """
    changed = 0
    for kit in kit_types:
        found: dict[Id, ComingLine] = {}
        for line in stores.coming.lines(clockwork.now, kit.id):
            occupied = clockwork.occupied(line.window, kit, line.prep_s, line.check_in_s)
            if line.straight_from is not None:
                giver = found.get(line.straight_from)
                until = giver.occupied.end if giver else occupied.end
                occupied = taking_over(line.occupied.start, occupied, until)
            found[line.id] = replace(line, occupied=occupied)
            if occupied != line.occupied:
                stores.coming.occupy(line.id, occupied)
                changed += 1
    return changed


def recount_kit(stores: Stores, actor: Actor, kit: KitType, now: Instant) -> None:
    """`recount` for one kit type, in the hours as they are; the journal says if lines changed."""
    if lines := recount(stores, Clockwork(stores, now), [kit]):
        after = {"lines": lines}
        stores.journal.write(actor.account, "recounted", "kit_type", kit.id, now, after=after)
