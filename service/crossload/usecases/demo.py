"""The demo: an invented house, production and fortnight, laid so that its day 8 is today."""

import json
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from crossload.domain.money import exponent_of
from crossload.domain.people import Account
from crossload.domain.shoot import Person, Pool, Production, Unit, UnitKind
from crossload.domain.window import Id, Instant
from crossload.domain.zones import load_zone, local_day
from crossload.formats.house_lists import read_people
from crossload.formats.kit_list import read_kit_list
from crossload.formats.shoot_days import read_shoot_days
from crossload.storage import pools as stored_pools
from crossload.storage import sign_ins
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases import demo_bookings, kit_lists, shoot_day_lists
from crossload.usecases.errors import Conflict
from crossload.usecases.transaction import read, write


@dataclass(frozen=True, slots=True)
class Scene:
    """Where the demo is laid: its files, its pool, and by how many days its dates move."""

    folder: Path
    pool: Id
    zone: ZoneInfo
    shift: timedelta

    def content(self, name: str) -> bytes:
        return (self.folder / name).read_bytes()


def demo_pool() -> Pool | None:
    """The demo's pool, if there is one, whole or not."""
    return next((pool for pool in stored_pools.all_pools() if pool.demo), None)


def load_demo(folder: Path, *, today: date | None = None, now: Instant) -> Pool:
    """Load the demo from its files; one that is there stays as it is.

    Day 8 is laid on `today`, else on the local day of `now`. Steps that were done are not done
    again, so that one that was broken off is brought to its end; people can sign in when all is
    there. Raises Conflict where somebody else in this service has a demo's sign-in name.
    """
    told = json.loads((folder / "pool.json").read_text(encoding="utf-8"))
    pool = demo_pool()
    if pool is not None and _is_whole(pool.id):
        return pool
    if pool is None:
        pool = _add_pool(folder, told, now)
    zone = load_zone(pool.zone)
    laid_on = today or local_day(now, zone)
    shift = laid_on - date.fromisoformat(told["today"]["date"])
    scene = Scene(folder, pool.id, zone, shift)
    with write(pool.id, now) as stores:
        _add_house(stores, scene, told)
        _add_kit(stores, scene, told["currency"], now)
        _add_days(stores, scene, now)
    given = demo_bookings.add_bookings(scene.pool, scene.content("bookings.csv"), laid_on)
    demo_bookings.add_facts(scene.pool, given, scene.content("out-of-service.csv"), shift, now)
    _open_doors(pool.id, now)
    return pool


def is_loaded() -> bool:
    """Whether the demo is there with all that belongs to it."""
    pool = demo_pool()
    return pool is not None and _is_whole(pool.id)


def _is_whole(pool: Id) -> bool:
    with read(pool) as stores:
        return any(account.demo for account in stores.accounts.all())


def _add_pool(folder: Path, told: dict[str, Any], now: Instant) -> Pool:
    for person in read_people((folder / "people.csv").read_bytes()).rows:
        if person.login and sign_ins.account_of(person.login):
            raise Conflict(
                f"the demo needs the sign-in name {person.login}, which somebody here has:"
                " load it into a service of its own"
            )
    named = {field: told[field] for field in ("name", "zone", "currency", "place", "phone")}
    pool = Pool(new_id(), **named, opening=told["opening"], demo=True)
    stored_pools.add_pool(pool, now)
    return pool


def _add_house(stores: Stores, scene: Scene, told: dict[str, Any]) -> None:
    """The production, its units and everybody's names."""
    if stores.productions.all():
        return
    production = Production(new_id(), told["production"])
    stores.productions.add(production)
    units = {
        unit["name"]: Unit(
            new_id(),
            production.id,
            unit["name"],
            UnitKind(unit["kind"]),
            unit["base"],
            unit["phone"],
            unit["way_min"] * 60,
        )
        for unit in told["units"]
    }
    stores.units.add(*units.values())
    for row in read_people(scene.content("people.csv")).rows:
        unit = units[row.unit].id if row.unit else None
        person = Person(new_id(), row.name, row.job, row.phone, unit)
        stores.people.add(person)
        if row.role is not None:
            own = (unit,) if unit is not None else ()
            account = Account(new_id(), row.login, row.name, row.role, own, person=person.id)
            stores.accounts.add_new(account)


def _add_kit(stores: Stores, scene: Scene, currency: str, now: Instant) -> None:
    content = scene.content("kit-list.csv")
    found = read_kit_list(content, currency_exponent=exponent_of(currency))
    merged, _ = kit_lists.merge(stores, found)
    kit_lists.write_kit(stores, merged, None, now)


def _add_days(stores: Stores, scene: Scene, now: Instant) -> None:
    found = read_shoot_days(scene.content("shoot-days.csv"))
    rows = tuple(replace(row, day=row.day + scene.shift) for row in found.rows)
    merged = shoot_day_lists.merge(stores, replace(found, rows=rows))
    shoot_day_lists.write_days(stores, merged, None, now)


def _open_doors(pool: Id, now: Instant) -> None:
    """From here on the demo's people can sign in: the sign that all of it is there."""
    with write(pool, now) as stores:
        for account in stores.accounts.all():
            stores.accounts.change(account.id, None, demo=True)
