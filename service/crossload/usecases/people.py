"""Productions, their units, and the people of units and house."""

from crossload.domain.shoot import Person, Production, Unit
from crossload.domain.window import Instant
from crossload.storage.shelf import Shelf
from crossload.storage.stores import Stores
from crossload.usecases.errors import Conflict
from crossload.usecases.registers import Register, Wrong, taken, unknown


class Productions(Register[Production]):
    what, kind, verb, value = "production", "production", "change people", Production

    def shelf(self, stores: Stores) -> Shelf[Production]:
        return stores.productions

    def check(
        self, stores: Stores, before: Production | None, after: Production, now: Instant
    ) -> Wrong:
        if after.ended_at is not None and stores.units.all(production=after.id, ended_at=None):
            raise Conflict("this production has units that have not ended: end them first")
        return taken(stores.productions, "name", after, "there is a production of this name")


class Units(Register[Unit]):
    what, kind, verb, value = "unit", "unit", "change people", Unit
    silent = frozenset({"phone"})

    def shelf(self, stores: Stores) -> Shelf[Unit]:
        return stores.units

    def check(self, stores: Stores, before: Unit | None, after: Unit, now: Instant) -> Wrong:
        if before is not None and before.ended_at is None and after.ended_at is not None:
            _refuse_to_end(stores, after, now)
        production = stores.productions.get(after.production)
        if production is None:
            return [("/production_id", "this pool has no such production")]
        if production.ended_at is not None and after.ended_at is None:
            return [("/production_id", "this production has ended")]
        said = "this production has a unit of this name"
        return taken(stores.units, "name", after, said, production=after.production)


def _refuse_to_end(stores: Stores, unit: Unit, now: Instant) -> None:
    """A unit ends with empty hands."""
    if any(custody.unit == unit.id for custody in stores.custodies.out()):
        raise Conflict("this unit still has kit out: take it back first")
    if stores.coming.of_unit(unit.id, now):
        raise Conflict("this unit has bookings to come: release them first")


class People(Register[Person]):
    what, kind, verb, value = "person", "person", "change people", Person
    silent = frozenset({"name", "phone"})

    def shelf(self, stores: Stores) -> Shelf[Person]:
        return stores.people

    def check(self, stores: Stores, before: Person | None, after: Person, now: Instant) -> Wrong:
        return unknown(stores.units, after.unit, "/unit_id", "unit")


PRODUCTIONS = Productions()
UNITS = Units()
PEOPLE = People()
