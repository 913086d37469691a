"""The demo's bookings, asked for one by one as they were, and what happened to the kit since."""

from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from crossload.domain.booking import Ask, Booking, Line, Wanted
from crossload.domain.booking_list import DayTime, ListedBooking, ListedLine
from crossload.domain.custody import Custody, OutOfService
from crossload.domain.house_lists import OutOfServiceRow
from crossload.domain.kit import Item, KitType, Tracking
from crossload.domain.people import Account, Role
from crossload.domain.shoot import ShootDay, Unit
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.domain.zones import load_zone, local_day, settled_wall
from crossload.formats.bookings import read_bookings
from crossload.formats.house_lists import read_out_of_service
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases import bookings
from crossload.usecases.actor import Actor
from crossload.usecases.transaction import read, write

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
    def bench(self) -> Id | None:
        """The house's assistant, at whose counter kit goes out and comes back."""
        ours = (a.id for a in self.accounts if a.role is Role.ASSISTANT and not a.units)
        return next(ours, None)


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
        if isinstance(answer, bookings.Refused):
            raise RuntimeError(f"the demo's booking {listed.reference} does not fit")
        given.append(Given(answer.booking, listed))
    return given


def _asked_at(ask: Ask, today: date, zone: ZoneInfo) -> Instant:
    start = local_day(ask.window.start, zone) - ASKED_BEFORE
    yesterday = today - timedelta(days=1)
    usual = settled_wall(start, ASKED_AT, zone, edge="start")
    return min(usual, settled_wall(yesterday, LATEST_ASKED_AT, zone, edge="start"))


# --- what happened since


def add_facts(
    pool: Id, given: list[Given], out_of_service: bytes, shift: timedelta, now: Instant
) -> None:
    """What cannot be used, and what has gone out and come back: one write, done once."""
    with write(pool, now) as stores:
        if stores.custodies.page(0, 1):
            return
        known = Known(stores)
        for row in read_out_of_service(out_of_service).rows:
            _take_out_of_service(stores, known, row, shift)
        for each in given:
            for line, listed in zip(each.booking.lines, each.listed.lines, strict=True):
                if listed.out is not None:
                    _hand_out(stores, known, each.booking, line, listed)


def _take_out_of_service(
    stores: Stores, known: Known, row: OutOfServiceRow, shift: timedelta
) -> None:
    start = settled_wall(row.from_day + shift, row.from_time, known.zone, edge="start")
    end = FOREVER
    if row.until_day and row.until_time is not None:
        end = settled_wall(row.until_day + shift, row.until_time, known.zone, edge="end")
    item = known.items[row.tag].id if row.tag else None
    window = OutOfService(
        id=new_id(),
        kit_type=known.types[row.kit_type].id,
        quantity=row.quantity,
        start_s=start,
        end_s=end,
        item=item,
        reason=row.reason,
        condition=row.condition,
        recorded_at=start,
    )
    stores.out_of_service.add(window, recorded_seq=stores.header.revision)
    if item is not None and row.condition is not None:
        stores.items.change(item, None, condition=row.condition)
    after = {"item": item, "quantity": row.quantity, "window": [start, end]}
    stores.journal.write(known.bench, "made", "out of service", window.id, start, after=after)


def _hand_out(
    stores: Stores, known: Known, booking: Booking, line: Line, listed: ListedLine
) -> None:
    assert listed.out is not None
    out_at = known.at(booking.unit, listed.out)
    after = {"line": line.id, "quantity": line.quantity}
    stores.journal.write(known.bench, "handed out", "booking", booking.id, out_at, after=after)
    kit_type = known.types[listed.kit_type]
    if kit_type.tracking is Tracking.CONSUMABLE:
        # It does not come back, so nobody holds it: the stock is smaller and the line is served.
        left = kit_type.count - line.quantity
        known.types[kit_type.name] = replace(kit_type, count=left)
        stores.kit_types.change(kit_type.id, None, count=left)
        stores.bookings.change_line(line.id, gone=line.quantity)
        return
    back_at = known.at(booking.unit, listed.back) if listed.back else None
    pieces = _pieces(known, line, listed)
    for item, quantity in pieces:
        stores.custodies.add(
            Custody(
                id=new_id(),
                kit_type=line.kit_type,
                quantity=quantity,
                unit=booking.unit,
                out_at=out_at,
                due_at=line.window.end,
                item=item,
                person=listed.person,
                booking=booking.id,
                line=line.id,
                back_at=back_at,
            )
        )
        if item is not None and line.item is None:
            stores.bookings.fix(line.id, item)
    if back_at is not None:
        stores.journal.write(known.bench, "took back", "booking", booking.id, back_at, after=after)


def _pieces(known: Known, line: Line, listed: ListedLine) -> list[tuple[Id | None, int]]:
    """The pieces that went, one by one, or how many where they are only counted."""
    if line.item is not None:
        return [(line.item, 1)]
    if listed.pieces:
        return [(known.items[tag].id, 1) for tag in listed.pieces]
    return [(None, line.quantity)]
