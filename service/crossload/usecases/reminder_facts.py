"""What reminders are derived from, gathered from one transaction on a pool."""

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from crossload.domain.booking import Booking, BookingState, Handing, Line
from crossload.domain.custody import Custody, OutOfService
from crossload.domain.kit import KitType, Tracking
from crossload.domain.reminder_facts import Facts, Level, Starting, UnitTimes
from crossload.domain.shoot import ShootDay
from crossload.domain.wakefulness import house_awake, unit_awake
from crossload.domain.window import FOREVER, Id, Instant
from crossload.domain.zones import day_start, local_day
from crossload.storage.ids import made_at
from crossload.storage.journals import Entry
from crossload.storage.stores import Stores
from crossload.usecases.clockwork import Clockwork

LOOK_S = 35 * 86_400
"""So far ahead bookings and shoot days are read: what is further off is told of later."""

_BEFORE_S = 4 * 86_400
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Gathered:
    """The facts as they stand, and the first instant at which the clock alone makes them others."""

    facts: Facts
    changes_at: Instant


def gather(stores: Stores, now: Instant, handings: Sequence[Handing] | None = None) -> Gathered:
    """All that can matter to reminders now, read in one go; but `handings`, where they are read."""
    handings = stores.held.handings(now) if handings is None else handings
    clockwork = Clockwork(stores, now)
    zone, today = clockwork.zone, local_day(now, clockwork.zone)
    tomorrow = day_start(today + _DAY, zone)
    # Kit that came back yesterday may still be waiting for its charger.
    custodies = stores.custodies.out() + stores.custodies.back_since(day_start(today - _DAY, zone))
    services = stores.custodies.services(None, now, FOREVER)
    bookings = stores.bookings.page(state=BookingState.CONFIRMED, since=now, until=now + LOOK_S)
    consumables = stores.kit_types.all(tracking=Tracking.CONSUMABLE)
    kit = {each.id: each for each in consumables}
    kit |= stores.kit_types.some(
        [
            *(custody.kit_type for custody in custodies),
            *(service.kit_type for service in services),
            *(line.kit_type for booking in bookings for line in booking.lines),
        ]
    )
    of_pieces: list[Custody | OutOfService] = [*custodies, *services]
    items = {each.item for each in of_pieces if each.item is not None}
    facts = Facts(
        zone,
        house_awake(clockwork.hours),
        kit,
        _units(stores, clockwork, custodies),
        custodies,
        _starting(stores, bookings, kit, {handing.taker for handing in handings}),
        services,
        [_level(stores, each) for each in consumables if _is_low(each)],
        {item.id: item.tag for item in stores.items.some(items).values()},
    )
    ends = [*(service.end_s for service in services), *(each.window.end for each in bookings)]
    return Gathered(facts, min([tomorrow, *ends]))


def _units(
    stores: Stores, clockwork: Clockwork, custodies: Iterable[Custody]
) -> dict[Id, UnitTimes]:
    """When each unit is awake that works, or that has kit."""
    days: dict[Id, list[ShootDay]] = {custody.unit: [] for custody in custodies}
    now = clockwork.now
    for day in stores.shoot_days.between(now - _BEFORE_S, now + LOOK_S):
        days.setdefault(day.unit, []).append(day)
    return {
        unit: UnitTimes(
            unit_awake([day.window for day in of_unit], clockwork.zone),
            [day.call_s for day in of_unit],
        )
        for unit, of_unit in days.items()
    }


def _starting(
    stores: Stores, bookings: Sequence[Booking], kit: Mapping[Id, KitType], straight: Container[Id]
) -> list[Starting]:
    """What of each booking has never gone out of the house; frequencies are not handed out."""
    went = stores.custodies.of_lines([line.id for each in bookings for line in each.lines])
    found = []
    for booking in bookings:
        left: dict[Id, int] = defaultdict(int)
        prep_s = since = 0
        for line in booking.lines:
            own = kit[line.kit_type]
            handed = own.tracking is not Tracking.FREQUENCY and line.id not in straight
            some = _left_on(line, went[line.id]) if handed else 0
            if some and line.state is BookingState.CONFIRMED:
                left[line.kit_type] += some
                prep_s = max(prep_s, own.prep_s if line.prep_s is None else line.prep_s)
                since = max(since, _lacking_since(line, went[line.id]))
        start = booking.window.start
        found.append(Starting(booking.id, booking.unit, start, left, prep_s, since))
    return found


def _left_on(line: Line, went: Iterable[Custody]) -> int:
    """How many of a line have never gone out; a piece that left the line again does not count."""
    pieces = {custody.item for custody in went if custody.item in line.pieces}
    counted = sum(custody.quantity for custody in went if custody.item is None)
    return max(0, line.quantity - line.gone - len(pieces) - counted)


def _lacking_since(line: Line, went: Iterable[Custody]) -> Instant:
    """When a piece last came back that is not to go out again; 0 when none did."""
    gone = (custody for custody in went if custody.item and custody.item not in line.pieces)
    return max((custody.back_at or 0 for custody in gone), default=0)


def _is_low(kit: KitType) -> bool:
    return kit.reorder_level is not None and kit.count < kit.reorder_level


def _level(stores: Stores, kit: KitType) -> Level:
    """What is left, and when the journal says that it fell below the level.

    Walks back from now: what went out is laid on again, until there was enough.
    """
    left, enough = kit.count, kit.reorder_level or 0
    fell_at = made_at(kit.id)
    for entry in stores.journal.newest_of_kit(kit.id):
        before = _count_before(entry, left)
        if before is None:
            continue
        fell_at, left = entry.at, before
        if left >= enough:
            break
    return Level(kit.id, kit.count, fell_at)


def _count_before(entry: Entry, left: int) -> int | None:
    """How many there were before an entry of the journal; None where it left the count alone."""
    if entry.verb == "out":
        return left + int(entry.after["quantity"])
    if entry.verb == "made":
        return 0
    return entry.before.get("count") if isinstance(entry.before, dict) else None
