"""What is out now, with whom it is and when it is due and expected."""

from typing import Any

from crossload.domain.custody import Custody
from crossload.domain.window import FOREVER, Id, Instant
from crossload.usecases.actor import Actor
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.names import Names
from crossload.usecases.transaction import read

Told = dict[str, Any]


def page(
    actor: Actor,
    *,
    now: Instant,
    unit: Id | None = None,
    booking: Id | None = None,
    overdue: bool | None = None,
) -> list[Told]:
    """What is out now, longest due first."""
    actor.must("read")
    with read(actor.pool) as stores:
        names, clockwork = Names(stores), Clockwork(stores, now)
        told = [
            tell(names, clockwork, custody)
            for custody in stores.custodies.out()
            if (unit is None or custody.unit == unit)
            and (booking is None or custody.booking == booking)
            and (overdue is None or custody.is_overdue(now) is overdue)
        ]
    return sorted(told, key=lambda one: (one["due_at"], one["id"]))


def tell(names: Names, clockwork: Clockwork, custody: Custody) -> Told:
    """What is out, with whom it is, whom to call, and when it is due and expected."""
    person, phone = names.contact(custody.unit)
    return {
        "id": custody.id,
        "item_id": custody.item,
        "tag": names.items[custody.item].tag if custody.item in names.items else None,
        "kit_type_id": custody.kit_type,
        "kit_type": names.kit[custody.kit_type].name,
        "quantity": custody.quantity,
        "unit_id": custody.unit,
        "unit": names.unit(custody.unit),
        "person": custody.person or person,
        "phone": phone,
        "booking_id": custody.booking,
        "out_at": custody.out_at,
        "due_at": custody.due_at,
        "expected_at": min(clockwork.expected(custody), FOREVER),
        "overdue": custody.is_overdue(clockwork.now),
    }
