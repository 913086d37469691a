"""Everything that one transaction can ask of one pool."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from crossload.domain.booking import Ask
from crossload.domain.custody import OutOfService
from crossload.domain.kit import KitType
from crossload.domain.shoot import Person, Production, Unit
from crossload.domain.window import Id, Instant
from crossload.storage import kept, sql
from crossload.storage.bookings import Bookings
from crossload.storage.coming import Coming
from crossload.storage.credentials import Accounts, Credentials
from crossload.storage.custodies import Custodies
from crossload.storage.held import Held
from crossload.storage.journals import Journals, Keys
from crossload.storage.kit import Boxes, Items, ShootDays
from crossload.storage.known import Known, read_known
from crossload.storage.own_pool import OwnPool
from crossload.storage.reminders import Reminders
from crossload.storage.shelf import Shelf

_HEADER = "id, revision, next_settle_at, zone, opening, swap_check_s"


@dataclass(frozen=True, slots=True)
class Header:
    """What every use-case needs of its pool, had with the statement that opens the transaction."""

    pool: Id
    revision: int
    next_settle_at: Instant
    zone: str
    opening: str
    swap_check_s: int

    @classmethod
    def take(cls, pool: Id) -> "Header":
        """Lock the pool and raise its revision. LookupError where there is no such pool."""
        text = f"UPDATE pool SET revision = revision + 1 WHERE id = ? RETURNING {_HEADER}"
        return cls._of(pool, sql.row(text, pool))

    @classmethod
    def look(cls, pool: Id) -> "Header":
        """Read it without a lock. LookupError where there is no such pool."""
        return cls._of(pool, sql.row(f"SELECT {_HEADER} FROM pool WHERE id = ?", pool))

    @classmethod
    def _of(cls, pool: Id, found: tuple[Any, ...] | None) -> "Header":
        if found is None:
            raise LookupError(f"there is no pool {pool}")
        return cls(*found)


class Stores:
    """One pool's rows: every query here is born with its pool."""

    def __init__(self, header: Header):
        self.header = header
        self.pool = header.pool
        self._last: list[sql.Rows] = []

    def finish(self) -> None:
        """Write what goes in last and together: the journal and the idempotency key."""
        sql.insert_together(self._last)

    def settle_at(self, instant: Instant) -> None:
        """When the next thing falls due by itself."""
        sql.run("UPDATE pool SET next_settle_at = ? WHERE id = ?", instant, self.pool)

    def settle_by(self, instant: Instant) -> None:
        """Something new falls due at `instant`: settle no later than that."""
        text = "UPDATE pool SET next_settle_at = ? WHERE id = ? AND next_settle_at > ?"
        sql.run(text, instant, self.pool, instant)

    def known(
        self, ask: Ask, now: Instant, owner: Id | None = None, key: str | None = None
    ) -> Known:
        """What there is of an ask's unit and kit types, and of a sender's key."""
        return read_known(self.pool, ask, now, owner, key)

    @cached_property
    def bookings(self) -> Bookings:
        return Bookings(self.pool, self.header.revision)

    @cached_property
    def held(self) -> Held:
        return Held(self.pool)

    @cached_property
    def coming(self) -> Coming:
        return Coming(self.pool)

    @cached_property
    def own_pool(self) -> OwnPool:
        return OwnPool(self.pool)

    @cached_property
    def custodies(self) -> Custodies:
        return Custodies(self.pool)

    @cached_property
    def journal(self) -> Journals:
        return Journals(self.pool, self.header.revision, self._last)

    @cached_property
    def keys(self) -> Keys:
        return Keys(self.pool, self._last)

    @cached_property
    def reminders(self) -> Reminders:
        return Reminders(self.pool)

    @cached_property
    def productions(self) -> Shelf[Production]:
        return Shelf(self.pool, kept.PRODUCTION)

    @cached_property
    def units(self) -> Shelf[Unit]:
        return Shelf(self.pool, kept.UNIT)

    @cached_property
    def people(self) -> Shelf[Person]:
        return Shelf(self.pool, kept.PERSON)

    @cached_property
    def accounts(self) -> Accounts:
        return Accounts(self.pool)

    @cached_property
    def credentials(self) -> Credentials:
        return Credentials(self.pool)

    @cached_property
    def kit_types(self) -> Shelf[KitType]:
        return Shelf(self.pool, kept.KIT_TYPE)

    @cached_property
    def items(self) -> Items:
        return Items(self.pool)

    @cached_property
    def boxes(self) -> Boxes:
        return Boxes(self.pool)

    @cached_property
    def shoot_days(self) -> ShootDays:
        return ShootDays(self.pool)

    @cached_property
    def out_of_service(self) -> Shelf[OutOfService]:
        return Shelf(self.pool, kept.OUT_OF_SERVICE)
