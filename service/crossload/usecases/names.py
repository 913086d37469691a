"""Names of what a pool has, for answers that people read."""

from collections.abc import Iterable
from functools import cached_property

from crossload.domain.kit import Item, KitType
from crossload.domain.shoot import Person, Unit
from crossload.domain.window import Id
from crossload.storage import pools
from crossload.storage.stores import Stores


class Names:
    """Names of what a pool has, read once a transaction."""

    def __init__(self, stores: Stores):
        self.stores = stores

    @cached_property
    def kit(self) -> dict[Id, KitType]:
        return {kit.id: kit for kit in self.stores.kit_types.all()}

    @cached_property
    def units(self) -> dict[Id, Unit]:
        return {unit.id: unit for unit in self.stores.units.all()}

    @cached_property
    def productions(self) -> dict[Id, str]:
        return {production.id: production.name for production in self.stores.productions.all()}

    @cached_property
    def people(self) -> list[Person]:
        return self.stores.people.all(ended_at=None)

    @cached_property
    def items(self) -> dict[Id, Item]:
        return {item.id: item for item in self.stores.items.all()}

    def unit(self, id: Id | None) -> str | None:
        """A unit's name; None for none, and for one that is not there."""
        return self.units[id].name if id in self.units else None

    def tags(self, items: Iterable[Id]) -> list[str]:
        """The tags of pieces, sorted."""
        return sorted(self.items[item].tag for item in items if item in self.items)

    def contact(self, unit: Id | None) -> tuple[str | None, str | None]:
        """Whom to ask for at a unit (or the house), and the telephone number."""
        there = [person for person in self.people if person.unit == unit and person.phone]
        order = ("assistant", "counter", "coordinator", "mixer")
        there.sort(
            key=lambda person: next(
                (rank for rank, job in enumerate(order) if job in person.job.lower()), len(order)
            )
        )
        if there:
            return there[0].name, there[0].phone
        phone = self.units[unit].phone if unit in self.units else self.pool_phone
        return None, phone or self.pool_phone or None

    @cached_property
    def pool_phone(self) -> str:
        pool = pools.get_pool(self.stores.pool)
        return pool.phone if pool else ""

    @cached_property
    def house(self) -> str:
        """Where the house is, or what it is called where nobody has said."""
        pool = pools.get_pool(self.stores.pool)
        return (pool.place or pool.name) if pool else ""
