"""Builders for tests over a database: a pool with units, kit and people, each test's own."""

from dataclasses import dataclass, field
from itertools import count
from typing import Any

from crossload.domain.booking import Ask, Booking, BookingState, Wanted
from crossload.domain.custody import Custody, Move, OutOfService
from crossload.domain.kit import Item, KitType, Tracking
from crossload.domain.people import Role
from crossload.domain.shoot import Person, Production, ShootDay, Unit, UnitKind
from crossload.domain.window import FOREVER, Id, Window
from crossload.domain.zones import load_zone, local_day
from crossload.storage.ids import new_id
from crossload.usecases import bookings, handing, own_pool
from crossload.usecases.actor import Actor
from crossload.usecases.granting import Granted, Refused
from crossload.usecases.judging import Judged
from crossload.usecases.moving import Event, Piece
from crossload.usecases.pools import make_pool
from crossload.usecases.transaction import read, write

NOW = 1_795_600_800
"""2026-11-25T10:00:00Z, a Wednesday, in winter time."""

HOUR = 3600
DAY = 86_400
_names = count(1)


@dataclass
class World:
    """A pool and what is in it, with whoever acts on it."""

    pool: Id
    production: Id
    units: dict[str, Id] = field(default_factory=dict)
    now: int = NOW

    @property
    def coordinator(self) -> Actor:
        return Actor(self.pool, Role.COORDINATOR)

    def mixer(self, *units: str) -> Actor:
        return Actor(self.pool, Role.MIXER, units=tuple(self.units[unit] for unit in units))

    def a_unit(self, name: str, kind: UnitKind = UnitKind.SECOND, **more: Any) -> Id:
        unit = Unit(new_id(), self.production, name, kind, **more)
        with write(self.pool, self.now) as stores:
            stores.units.add(unit)
        self.units[name] = unit.id
        return unit.id

    def a_kit_type(self, count: int = 0, pieces: int = 0, **more: Any) -> KitType:
        """Counted kit, or serial kit with so many pieces (tags NAME-1, NAME-2, …)."""
        number = next(_names)
        values: dict[str, Any] = {
            "name": f"kit {number}",
            "category": "stand",
            "tracking": Tracking.SERIAL if pieces else Tracking.COUNT,
            "count": count,
        }
        kit = KitType(new_id(), **(values | more))
        with write(self.pool, self.now) as stores:
            stores.kit_types.add(kit)
            items = [Item(new_id(), kit.id, f"{kit.name}-{n}") for n in range(1, pieces + 1)]
            if items:
                stores.items.add(*items)
        return kit

    def pieces(self, kit: KitType) -> list[Item]:
        with read(self.pool) as stores:
            return stores.items.all(kit_type=kit.id)

    def tags(self, kit: KitType) -> list[str]:
        return [item.tag for item in self.pieces(kit)]

    def booking(self, id: Id) -> Booking:
        """A booking as it is stored now."""
        with read(self.pool) as stores:
            found = stores.bookings.get(id)
        assert found is not None
        return found

    def bookings(self, unit: str) -> list[Booking]:
        with read(self.pool) as stores:
            return stores.bookings.page(unit=self.units[unit])

    def a_shoot_day(
        self, unit: str, call: int, wrap: int, number: int = 1, **more: Any
    ) -> ShootDay:
        day = local_day(call, load_zone("Europe/London"))
        made = ShootDay(new_id(), self.units[unit], day, number, call, wrap, **more)
        with write(self.pool, self.now) as stores:
            stores.shoot_days.add(made)
        return made

    def has_out(
        self, unit: str, kit: KitType, due: int, quantity: int = 1, since: int = NOW, **more: Any
    ) -> Custody:
        """Kit that a unit has out without a booking, so that any due can be laid."""
        custody = Custody(new_id(), kit.id, quantity, self.units[unit], since, due, **more)
        with write(self.pool, self.now) as stores:
            stores.custodies.add(custody)
        return custody

    def is_out_of_service(
        self, kit: KitType, quantity: int, start: int, end: int, **more: Any
    ) -> OutOfService:
        """`start` and `end` are seconds after `NOW`."""
        window = OutOfService(
            new_id(),
            kit.id,
            quantity,
            NOW + start,
            min(NOW + end, FOREVER),
            recorded_at=NOW,
            **more,
        )
        with write(self.pool, NOW) as stores:
            stores.out_of_service.add(window)
        return window

    def opens(self, week: dict[str, list[list[str]]]) -> None:
        """Set the house's opening hours."""
        opening = {"opening": {"week": week}}
        own_pool.change_pool(self.coordinator, opening, version=None, now=NOW)

    @property
    def revision(self) -> int:
        with read(self.pool) as stores:
            return stores.header.revision

    def a_person(self, name: str, job: str, phone: str, unit: str | None = None) -> Person:
        person = Person(new_id(), name, job, phone, self.units[unit] if unit else None)
        with write(self.pool, self.now) as stores:
            stores.people.add(person)
        return person


def a_world(*units: str) -> World:
    pool = make_pool("Pool", zone="Europe/London", currency="GBP", now=NOW)
    production = Production(new_id(), "Production")
    with write(pool.id, NOW) as stores:
        stores.productions.add(production)
    world = World(pool.id, production.id)
    for name in units or ("main", "second", "splinter"):
        world.a_unit(name, UnitKind(name) if name in set(UnitKind) else UnitKind.SECOND)
    return world


def an_ask(
    world: World, unit: str, *lines: tuple[KitType, int] | Item, start: int = HOUR,
    end: int = 5 * HOUR, state: BookingState = BookingState.CONFIRMED, **more: Any,
) -> Ask:  # fmt: skip
    """`start` and `end` are seconds after the world's now; a line is (kit type, n) or an item."""
    wanted = tuple(
        Wanted(line.kit_type, 1, line.id) if isinstance(line, Item) else Wanted(line[0].id, line[1])
        for line in lines
    )
    window = Window(world.now + start, world.now + end)
    return Ask(world.units[unit], window, wanted, state, **more)


def answer_to(world: World, ask: Ask, **more: Any) -> Granted | Refused:
    """What the coordinator is told who asks for it now."""
    return bookings.book(world.coordinator, ask, now=world.now, **more)


def granted(answer: Granted | Refused) -> Booking:
    assert isinstance(answer, Granted), answer
    return answer.booking


def refused(answer: Granted | Refused) -> Judged:
    assert isinstance(answer, Refused), answer
    return answer.judged


def book(world: World, *args: Any, **more: Any) -> Booking:
    """`an_ask` that must be granted."""
    return granted(answer_to(world, an_ask(world, *args, **more)))


def book_in_vain(world: World, *args: Any, **more: Any) -> Judged:
    """`an_ask` that must be refused."""
    return refused(answer_to(world, an_ask(world, *args, **more)))


def send(
    world: World, kind: Move, *pieces: str | tuple[KitType, int], key: str = "",
    now: int | None = None, at: int | None = None, actor: Actor | None = None, **more: Any,
) -> dict[str, Any]:  # fmt: skip
    """Record an event of its own; `pieces` are tags, or (kit type, n). It happened `at`, or now."""
    made = tuple(
        Piece(piece) if isinstance(piece, str) else Piece("", piece[0].id, piece[1])
        for piece in pieces
    )
    now = world.now if now is None else now
    event = Event(key or str(new_id()), kind, now if at is None else at, made, **more)
    return handing.record(actor or world.coordinator, event, "digest", now=now)
