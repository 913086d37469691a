"""The condition of a piece. Other than fit, it is out of service and leaves the lines it serves."""

from dataclasses import replace

from crossload.domain.custody import OutOfService
from crossload.domain.kit import Condition, Item
from crossload.domain.window import FOREVER, Id, Instant
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores

UNFIT = (Condition.SUSPECT, Condition.DAMAGED, Condition.IN_REPAIR, Condition.LOST)
"""The conditions that are an out-of-service window. A retired piece has left the stock instead."""


def set_condition(
    stores: Stores,
    item: Item,
    condition: Condition,
    now: Instant,
    *,
    account: Id | None = None,
    reason: str = "",
    until: Instant = FOREVER,
) -> None:
    """A piece has this condition from now on: always accepted, with all that follows from it."""
    if condition is item.condition and (condition not in UNFIT or _holding(stores, item.id, now)):
        return
    stores.items.change(item.id, None, condition=condition)
    take_on(stores, item, condition, now, account=account, reason=reason, until=until)


def set_aside(
    stores: Stores,
    kit_type: Id,
    quantity: int,
    condition: Condition,
    now: Instant,
    *,
    account: Id | None = None,
    reason: str = "",
) -> None:
    """So many of a counted kit type are not fit: out of service until further notice."""
    _open(stores, account, kit_type, None, condition, now, reason, FOREVER, quantity)


def take_on(
    stores: Stores,
    item: Item,
    condition: Condition,
    now: Instant,
    *,
    account: Id | None,
    reason: str = "",
    until: Instant = FOREVER,
) -> None:
    """What follows from a condition that the piece's row has already; `item` is as it was.

    The window of the condition before ends, and one of the new condition begins unless it is fit
    or retired.
    """
    for window in _holding(stores, item.id, now):
        _end(stores, account, window, now)
    if condition in UNFIT:
        _open(stores, account, item.kit_type, item.id, condition, now, reason, until)
    _leave(stores, account, item, condition, now)


def follow_change(
    stores: Stores, account: Id | None, before: Item | None, after: Item, now: Instant
) -> None:
    """`take_on` where a piece that is written already has another condition; a new one was fit."""
    was = before or replace(after, condition=Condition.FIT)
    if was.condition is not after.condition:
        take_on(stores, was, after.condition, now, account=account)


def follow(stores: Stores, account: Id | None, item: Id, now: Instant) -> None:
    """Bring a piece's condition in line with its windows: that of the last recorded, else fit."""
    found = stores.items.get(item)
    windows = _holding(stores, item, now)
    condition = (windows[-1].condition if windows else None) or Condition.FIT
    if found is None or found.condition in (Condition.RETIRED, condition):
        return
    stores.items.change(item, None, condition=condition)
    _leave(stores, account, found, condition, now)


def _holding(stores: Stores, item: Id, now: Instant) -> list[OutOfService]:
    """The windows that hold now because of a condition."""
    found = stores.custodies.services_of(item, now)
    return [window for window in found if window.condition is not None]


def _end(stores: Stores, account: Id | None, window: OutOfService, now: Instant) -> None:
    # A window has a length: one that ends in the second it began in is kept as the second before.
    start = min(window.start_s, now - 1)
    stores.out_of_service.change(window.id, None, start_s=start, end_s=now)
    before, after = {"end_s": window.end_s}, {"end_s": now}
    stores.journal.write(account, "ended", "out_of_service", window.id, now, before, after)


def _open(
    stores: Stores, account: Id | None, kit_type: Id, item: Id | None, condition: Condition,
    now: Instant, reason: str, until: Instant, quantity: int = 1,
) -> None:  # fmt: skip
    window = OutOfService(
        id=new_id(),
        kit_type=kit_type,
        quantity=quantity,
        start_s=now,
        end_s=until,
        item=item,
        reason=reason,
        condition=condition,
        recorded_at=now,
    )
    stores.out_of_service.add(window)
    what = {"item": item} if item is not None else {"kit_type": kit_type, "quantity": quantity}
    after = {**what, "condition": condition, "start_s": now, "end_s": until}
    stores.journal.write(account, "made", "out_of_service", window.id, now, after=after)


def _leave(
    stores: Stores, account: Id | None, item: Item, condition: Condition, now: Instant
) -> None:
    """A piece that is not fit serves no line; its box and its kit type read differently now."""
    lines = [] if condition is Condition.FIT else stores.bookings.unfix(item.id, now)
    stores.coming.reopen(lines)
    if item.home_box is not None:
        stores.boxes.change(item.home_box, None)
    if Condition.RETIRED in (item.condition, condition):
        stores.kit_types.change(item.kit_type, None)
    before = {"condition": item.condition}
    after = {"condition": condition} | ({"left_lines": lines} if lines else {})
    stores.journal.write(account, "marked", "item", item.id, now, before, after)
