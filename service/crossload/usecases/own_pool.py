"""The pool that somebody works in: its name, place, money, time zone and opening hours."""

import dataclasses
from collections.abc import Mapping
from typing import Any

from crossload.domain.hours import BadHours, Hours, plain_hours, read_hours
from crossload.domain.shoot import Pool
from crossload.domain.window import Instant
from crossload.domain.zones import load_zone
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Conflict, Invalid, Stale
from crossload.usecases.pools import check_currency, check_zone
from crossload.usecases.recounts import recount
from crossload.usecases.transaction import read, write

_SILENT = ("phone",)


def own_pool(actor: Actor) -> Pool:
    """The actor's pool."""
    actor.must("read")
    with read(actor.pool) as stores:
        return stores.own_pool.get()


def change_pool(
    actor: Actor, changes: Mapping[str, Any], *, version: int | None, now: Instant
) -> Pool:
    """Set name, zone, currency, place, phone, opening or swap check of the actor's pool.

    Check-in counts in opening hours, so new hours count anew what coming lines occupy: a fact,
    always accepted. Raises Forbidden, Stale, Invalid, Conflict.
    """
    actor.must("change the pool")
    with write(actor.pool, now) as stores:
        before = stores.own_pool.get()
        if version is not None and before.version != version:
            raise Stale("pool")
        after = dataclasses.replace(before, **changes)
        hours = _checked(stores, before, after)
        if "opening" in changes:
            after = dataclasses.replace(after, opening=plain_hours(hours))
        told = {f: getattr(after, f) for f in changes if getattr(after, f) != getattr(before, f)}
        if told:
            stores.own_pool.change(before.version, **told)
            lines = _count_anew(stores, hours, now) if {"zone", "opening"} & told.keys() else 0
            _note(stores, actor, before, told, lines, now)
        return stores.own_pool.get()


def _checked(stores: Stores, before: Pool, after: Pool) -> Hours:
    """The hours as they would be; Invalid and Conflict for what cannot stand."""
    check_zone(after.zone)
    check_currency(after.currency)
    if after.zone != before.zone and stores.shoot_days.page(0, 1):
        raise Conflict("there are shoot days, whose dates are those of this zone: it stays")
    if after.currency != before.currency and any(
        kit.price_minor is not None for kit in stores.kit_types.all()
    ):
        raise Conflict("there are prices in this currency: take them out first")
    try:
        return read_hours(after.opening, load_zone(after.zone))
    except BadHours as error:
        raise Invalid([(f"/opening{error.pointer}", error.sentence)]) from error


def _count_anew(stores: Stores, hours: Hours, now: Instant) -> int:
    clockwork = Clockwork(stores, now)
    clockwork.hours = hours  # the transaction began under the old ones
    return recount(stores, clockwork, stores.kit_types.all())


def _note(
    stores: Stores, actor: Actor, before: Pool, told: dict[str, Any], lines: int, now: Instant
) -> None:
    silent = sorted(field for field in told if field in _SILENT)
    after = {field: value for field, value in told.items() if field not in _SILENT}
    was = {field: getattr(before, field) for field in after}
    more = ({"not_shown": silent} if silent else {}) | ({"recounted": lines} if lines else {})
    stores.journal.write(actor.account, "changed", "pool", before.id, now, was, after | more)
