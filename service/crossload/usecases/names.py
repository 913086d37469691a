"""Names of what a pool has, for answers that people read."""

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import TypeVar

from crossload.domain.kit import Box, Item, KitType
from crossload.domain.shoot import Pool, Unit
from crossload.domain.window import Id
from crossload.storage.shelf import Shelf
from crossload.storage.stores import Stores

V = TypeVar("V", KitType, Item)

_JOBS = ("assistant", "counter", "coordinator", "mixer")
"""Whom to ask for first."""


FEW = 12
"""So many are read one at a time; who asks for more has them all at once."""


class AsAsked(Mapping[Id, V]):
    """A pool's values by id, read when they are asked for: most answers speak of a few of many."""

    def __init__(self, shelf: Shelf[V]):
        self.shelf: Shelf[V] = shelf
        self.known: dict[Id, V | None] = {}
        self.is_whole = False

    def __getitem__(self, id: Id | None) -> V:
        if id is not None and id not in self.known and not self.is_whole:
            if len(self.known) < FEW:
                self.known[id] = self.shelf.get(id)
            else:
                self._read_all()
        found = None if id is None else self.known.get(id)
        if found is None:
            raise KeyError(id)
        return found

    def __iter__(self) -> Iterator[Id]:
        if not self.is_whole:
            self._read_all()
        return iter(self.known)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def _read_all(self) -> None:
        self.known, self.is_whole = {one.id: one for one in self.shelf.all()}, True


class Names:
    """Names of what a pool has, read once a transaction."""

    def __init__(self, stores: Stores):
        self.stores = stores
        self.kit = AsAsked(stores.kit_types)
        self.items = AsAsked(stores.items)

    @cached_property
    def units(self) -> dict[Id, Unit]:
        return {unit.id: unit for unit in self.stores.units.all()}

    @cached_property
    def productions(self) -> dict[Id, str]:
        return {production.id: production.name for production in self.stores.productions.all()}

    @cached_property
    def boxes(self) -> dict[Id, Box]:
        """Boxes, with what belongs in them by count."""
        boxes = self.stores.boxes
        return {box.id: box for box in boxes.with_counts(boxes.all())}

    @cached_property
    def accounts(self) -> dict[Id, str]:
        return {account.id: account.name for account in self.stores.accounts.all()}

    def unit(self, id: Id | None) -> str | None:
        """A unit's name; None for none, and for one that is not there."""
        return self.units[id].name if id in self.units else None

    def tags(self, items: Iterable[Id]) -> list[str]:
        """The tags of pieces, sorted."""
        return sorted(self.items[item].tag for item in items if item in self.items)

    def boxes_with(self, kit_types: Iterable[Id]) -> list[str]:
        """The numbers of the boxes in which some of these kit types belong, in order."""
        wanted = set(kit_types)
        homes = {box for kit_type, box in self._homes if kit_type in wanted}
        found = (
            box.number
            for box in self.boxes.values()
            if box.id in homes or not wanted.isdisjoint(box.counts)
        )
        return sorted(found, key=lambda number: (len(number), number))

    @cached_property
    def _homes(self) -> list[tuple[Id, Id]]:
        return self.stores.items.homes()

    def contact(self, unit: Id | None) -> tuple[str | None, str | None]:
        """Whom to ask for at a unit (or the house), and the telephone number."""
        if unit in self._asked_for:
            return self._asked_for[unit]
        phone = self.units[unit].phone if unit in self.units else self._pool.phone
        return None, phone or self._pool.phone or None

    @cached_property
    def _asked_for(self) -> dict[Id | None, tuple[str, str]]:
        """By unit, and for the house, the first in order of job who has a telephone."""
        found: dict[Id | None, tuple[str, str]] = {}
        people = self.stores.people.all(ended_at=None)
        for person in sorted(people, key=lambda person: _rank_of(person.job)):
            if person.phone:
                found.setdefault(person.unit, (person.name, person.phone))
        return found

    @property
    def house(self) -> str:
        """Where the house is, or what it is called where nobody has said."""
        return self._pool.place or self._pool.name

    @cached_property
    def _pool(self) -> Pool:
        return self.stores.own_pool.get()


def _rank_of(job: str) -> int:
    return next((rank for rank, word in enumerate(_JOBS) if word in job.lower()), len(_JOBS))
