"""What waits for somebody's answer: kit that is late, bookings at risk, and pencils that clash."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from crossload.domain.claims import Claim
from crossload.domain.custody import Custody
from crossload.domain.holdings import HeldLine
from crossload.domain.window import Id, Instant
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.holders import Holders
from crossload.usecases.names import Names
from crossload.usecases.recorded import World, held_by, is_confirmed, is_pencilled, look_at

Told = dict[str, Any]

RISK_S = 0.25
"""How long the search for names may take for one kit type."""

MOST_BEHIND = 12
"""So many holders are told at most for one shortage."""


@dataclass(frozen=True, slots=True)
class _Short:
    """A line that lacks some beside `others`; `kind` is at_risk or clash."""

    kind: str
    held: HeldLine
    by: int
    others: tuple[Claim, ...]


class Decisions:
    """What is to be decided on a pool, at the clockwork's instant."""

    def __init__(self, names: Names, clockwork: Clockwork):
        self.names, self.clockwork, self.now = names, clockwork, clockwork.now

    def all(self, out: Iterable[Custody]) -> list[Told]:
        """In order of start; `out` is all that is out now."""
        world = look_at(self.clockwork, self.names.kit, self.now)
        short = list(self._short(world))
        holders = Holders(self.names, (claim for one in short for claim in one.others), self.now)
        told = [*self._overdue(out), *(self._shortage(holders, one) for one in short)]
        return sorted(told, key=lambda one: (one["start"], one["key"]))

    def _overdue(self, out: Iterable[Custody]) -> Iterator[Told]:
        """What is late, by unit and kit type."""
        late: dict[tuple[Id, Id], list[Custody]] = defaultdict(list)
        for custody in out:
            if custody.is_overdue(self.now):
                late[custody.unit, custody.kit_type].append(custody)
        for (unit, kit_type), some in late.items():
            yield self._late(unit, kit_type, some)

    def _late(self, unit: Id, kit_type: Id, some: Sequence[Custody]) -> Told:
        first = min(some, key=lambda custody: custody.due_at)
        person, phone = self.names.contact(unit)
        told = self._decision("overdue", f"overdue/{unit}/{kit_type}", kit_type, unit)
        return told | {
            "booking_id": first.booking,
            "quantity": sum(custody.quantity for custody in some),
            "start": first.due_at,
            "end": max(self.clockwork.expected(custody) for custody in some),
            "promised_at": last_promise(some),
            "late_s": self.now - first.due_at,
            "tags": self.names.tags(custody.item for custody in some if custody.item),
            "holder_person": first.person or person,
            "phone": phone,
        }

    def _short(self, world: World) -> Iterator[_Short]:
        """Lines at risk beside what is confirmed, then pencils that clash beside everything."""
        for kit_type, recorded in world.recorded.items():
            if not recorded.lines:
                continue
            confirmed = world.claims(kit_type, is_confirmed)
            for held, by in self._fallen(world, kit_type, confirmed):
                yield self._short_beside("at_risk", held, by, confirmed)
            everything = world.claims(kit_type, lambda held: True)
            if len(everything) == len(confirmed):
                continue
            for held, by in self._fallen(world, kit_type, _pencils_last(everything)):
                if is_pencilled(held):
                    yield self._short_beside("clash", held, by, everything)

    def _fallen(
        self, world: World, kit_type: Id, claims: Sequence[Claim]
    ) -> Iterator[tuple[HeldLine, int]]:
        for held, by in world.fallen(kit_type, claims, limit_s=RISK_S):
            if held.end > self.now:
                yield held, by

    def _short_beside(self, kind: str, held: HeldLine, by: int, claims: Sequence[Claim]) -> _Short:
        others = (c for c in claims if c.window.overlaps(held.occupied) and held_by(c) != held)
        return _Short(kind, held, by, tuple(others))

    def _shortage(self, holders: Holders, one: _Short) -> Told:
        held = one.held
        told = self._decision(one.kind, f"{one.kind}/{held.line}", held.kit_type, held.unit)
        kit = self.names.kit[held.kit_type]
        return told | {
            "booking_id": held.booking,
            "quantity": held.quantity,
            "short_by": one.by,
            "start": held.start,
            "end": held.end,
            "behind": holders.around(kit, one.others, held.start)[:MOST_BEHIND],
        }

    def _decision(self, kind: str, key: str, kit_type: Id, unit: Id) -> Told:
        return {
            "kind": kind,
            "key": key,
            "booking_id": None,
            "unit_id": unit,
            "unit": self.names.unit(unit),
            "kit_type_id": kit_type,
            "kit_type": self.names.kit[kit_type].name,
            "quantity": 0,
            "short_by": 0,
            "behind": [],
            "promised_at": None,
            "late_s": None,
            "tags": [],
            "holder_person": None,
            "phone": None,
        }


def last_promise(some: Iterable[Custody]) -> Instant | None:
    """What the holder said last of when it comes back."""
    return max((c.promised_at for c in some if c.promised_at is not None), default=None)


def _pencils_last(claims: Sequence[Claim]) -> list[Claim]:
    """A pencil falls before what is confirmed, whenever each was granted."""
    later = 1 + max(claim.rank for claim in claims)
    return [
        replace(claim, rank=claim.rank + later)
        if (held := held_by(claim)) and is_pencilled(held)
        else claim
        for claim in claims
    ]
