"""What has happened to the demo's kit: what cannot be used, what went out and what came back."""

from dataclasses import replace
from datetime import timedelta

from crossload.domain.booking import Booking, Line
from crossload.domain.booking_list import ListedLine
from crossload.domain.custody import Custody
from crossload.domain.house_lists import OutOfServiceRow
from crossload.domain.kit import KitType, Tracking
from crossload.domain.window import FOREVER, Id, Instant
from crossload.domain.zones import settled_wall
from crossload.formats.house_lists import read_out_of_service
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases.demo_bookings import Given, Known
from crossload.usecases.out_of_service import OUT_OF_SERVICE
from crossload.usecases.transaction import write


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
    values = {
        "kit_type": known.types[row.kit_type].id,
        "item": known.items[row.tag].id if row.tag else None,
        "quantity": row.quantity,
        "start_s": start,
        "end_s": end,
        "reason": row.reason,
        "condition": row.condition,
    }
    OUT_OF_SERVICE.enter(stores, known.bench, values, start)


def _hand_out(
    stores: Stores, known: Known, booking: Booking, line: Line, listed: ListedLine
) -> None:
    assert listed.out is not None
    out_at = known.at(booking.unit, listed.out)
    after = {"line": line.id, "quantity": line.quantity}
    stores.journal.write(
        known.bench.account, "handed out", "booking", booking.id, out_at, after=after
    )
    kit_type = known.types[listed.kit_type]
    if kit_type.tracking is Tracking.CONSUMABLE:
        _use_up(stores, known, kit_type, line)
        return
    back_at = known.at(booking.unit, listed.back) if listed.back else None
    for item, quantity in _pieces(known, line, listed):
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
        stores.journal.write(
            known.bench.account, "took back", "booking", booking.id, back_at, after=after
        )


def _use_up(stores: Stores, known: Known, kit_type: KitType, line: Line) -> None:
    """It does not come back, so nobody holds it: the stock is smaller and the line is served."""
    left = kit_type.count - line.quantity
    known.types[kit_type.name] = replace(kit_type, count=left)
    stores.kit_types.change(kit_type.id, None, count=left)
    stores.bookings.change_line(line.id, gone=line.quantity)


def _pieces(known: Known, line: Line, listed: ListedLine) -> list[tuple[Id | None, int]]:
    """The pieces that went, one by one, or how many where they are only counted."""
    if line.item is not None:
        return [(line.item, 1)]
    if listed.pieces:
        return [(known.items[tag].id, 1) for tag in listed.pieces]
    return [(None, line.quantity)]
