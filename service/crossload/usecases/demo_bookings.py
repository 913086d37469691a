"""The demo's bookings, asked for one by one as they were."""

from dataclasses import dataclass
from datetime import date, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from crossload.domain.booking import Ask, Booking, Wanted
from crossload.domain.booking_list import DayTime, ListedBooking, ListedLine
from crossload.domain.kit import Item, KitType
from crossload.domain.people import Account, Role
from crossload.domain.shoot import ShootDay, Unit
from crossload.domain.window import Id, Instant, Window
from crossload.domain.zones import load_zone, local_day, settled_wall
from crossload.formats.bookings import read_bookings
from crossload.storage.stores import Stores
from crossload.usecases import bookings
from crossload.usecases.actor import Actor
from crossload.usecases.granting import Refused
from crossload.usecases.transaction import read

ASKED_BEFORE = timedelta(days=2)
ASKED_AT = time(10)
LATEST_ASKED_AT = time(17)


@dataclass(frozen=True, slots=True)
class Given:
    """A booking of the file and what was granted for it; their lines are in the same order."""

    booking: Booking
    listed: ListedBooking


class Known:
    """What the demo's files name, as the pool has it."""

    def __init__(self, stores: Stores):
        self.pool = stores.pool
        self.zone: ZoneInfo = load_zone(stores.header.zone)
        self.units: dict[str, Unit] = {unit.name: unit for unit in stores.units.all()}
        self.types: dict[str, KitType] = {kind.name: kind for kind in stores.kit_types.all()}
        self.items: dict[str, Item] = {item.tag: item for item in stores.items.all()}
        self.days: dict[tuple[Id, int], ShootDay] = {
            (day.unit, day.number): day for day in stores.shoot_days.all()
        }
        self.accounts: list[Account] = stores.accounts.all()

    def at(self, unit: Id, moment: DayTime) -> Instant:
        """A wall time on a unit's shoot day."""
        day = self.days[unit, moment.number].day + timedelta(days=moment.next_day)
        return settled_wall(day, moment.at, self.zone, edge="start")

    def window(self, listed: ListedBooking) -> Window:
        """From a call, or a time on that day, to a wrap."""
        unit = self.units[listed.unit].id
        start = self.days[unit, listed.from_number].call_s
        if listed.from_time:
            start = self.at(unit, DayTime(listed.from_number, listed.from_time))
        end = self.days[unit, listed.to_number].wrap_s
        if listed.to_time:
            end = self.at(unit, DayTime(listed.to_number, listed.to_time, listed.to_next_day))
        return Window(start, end)

    def ask(self, listed: ListedBooking) -> Ask:
        unit = self.units[listed.unit].id
        expires = self.at(unit, listed.pencil_expires) if listed.pencil_expires else None
        return Ask(
            unit=unit,
            window=self.window(listed),
            lines=tuple(self._wanted(line) for line in listed.lines),
            state=listed.state,
            purpose=listed.purpose,
            who_pays=listed.who_pays,
            order_number=listed.order_number,
            pencil_expires_at=expires,
        )

    def _wanted(self, line: ListedLine) -> Wanted:
        item = self.items[line.tag].id if line.tag else None
        return Wanted(self.types[line.kit_type].id, line.quantity, item)

    def mixer(self, unit: Id) -> Actor:
        """The unit's own mixer, who asks for its kit."""
        for account in self.accounts:
            if account.role is Role.MIXER and unit in account.units:
                return Actor(self.pool, account.role, account.id, account.units)
        raise LookupError("every unit of the demo has a mixer")

    @cached_property
    def bench(self) -> Actor:
        """The house's assistant, at whose counter kit goes out and comes back."""
        ours = (a for a in self.accounts if a.role is Role.ASSISTANT and not a.units)
        account = next(ours)
        return Actor(self.pool, account.role, account.id)


def add_bookings(pool: Id, content: bytes, today: date) -> list[Given]:
    """Ask for each booking in turn, in its own time, and before today; all of them are granted.

    What was asked for before is answered as it was then.
    """
    with read(pool) as stores:
        known = Known(stores)
    given, last = [], 0
    for listed in read_bookings(content).bookings:
        ask = known.ask(listed)
        last = max(last + 60, _asked_at(ask, today, known.zone))
        key = f"demo {listed.reference}"
        answer = bookings.book(known.mixer(ask.unit), ask, now=last, key=key)
        if isinstance(answer, Refused):
            raise RuntimeError(f"the demo's booking {listed.reference} does not fit")
        given.append(Given(answer.booking, listed))
    return given


def _asked_at(ask: Ask, today: date, zone: ZoneInfo) -> Instant:
    start = local_day(ask.window.start, zone) - ASKED_BEFORE
    yesterday = today - timedelta(days=1)
    usual = settled_wall(start, ASKED_AT, zone, edge="start")
    return min(usual, settled_wall(yesterday, LATEST_ASKED_AT, zone, edge="start"))
