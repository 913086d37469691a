"""The demo: an invented house, production and fortnight, laid so that its day 8 is today."""

import json
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from pathlib import Path
from typing import Any

from crossload.domain.house_lists import PersonRow
from crossload.domain.money import exponent_of
from crossload.domain.people import Account
from crossload.domain.shoot import Pool, UnitKind
from crossload.domain.window import Id, Instant
from crossload.domain.zones import load_zone, local_day, settled_wall
from crossload.formats.house_lists import read_people
from crossload.formats.kit_list import read_kit_list
from crossload.formats.shoot_days import read_shoot_days
from crossload.storage import pools as stored_pools
from crossload.storage import sign_ins
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases import demo_bookings, demo_facts, kit_lists, shoot_day_lists
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict
from crossload.usecases.people import PEOPLE, PRODUCTIONS, UNITS
from crossload.usecases.transaction import read, write

SET_UP_BEFORE = timedelta(days=7)
"""So long before its first shoot day the house is set up."""


@dataclass(frozen=True, slots=True)
class Scene:
    """Where the demo is laid: its files, the day that its day 8 is laid on, and by how much the
    dates of the files move. `set_up_at` is when the house was set up."""

    folder: Path
    told: dict[str, Any]
    today: date
    shift: timedelta
    set_up_at: Instant

    @classmethod
    def lay(cls, folder: Path, today: date | None, now: Instant) -> "Scene":
        """The scene of a folder's files, with day 8 on `today` or on the local day of `now`."""
        told = json.loads((folder / "pool.json").read_text(encoding="utf-8"))
        zone = load_zone(told["zone"])
        laid_on = today or local_day(now, zone)
        shift = laid_on - date.fromisoformat(told["today"]["date"])
        first = min(row.day for row in read_shoot_days(_content(folder, "shoot-days")).rows)
        set_up = settled_wall(first + shift - SET_UP_BEFORE, time(9), zone, edge="start")
        return cls(folder, told, laid_on, shift, set_up)

    def content(self, name: str) -> bytes:
        """The bytes of one of its tables."""
        return _content(self.folder, name)

    def people(self) -> tuple[PersonRow, ...]:
        """Everybody of the units and the house."""
        return read_people(self.content("people")).rows


def _content(folder: Path, name: str) -> bytes:
    return (folder / f"{name}.csv").read_bytes()


def load_demo(folder: Path, *, today: date | None = None, now: Instant) -> Pool:
    """Load the demo from its files; one that is there stays as it is.

    Day 8 is laid on `today`, else on the local day of `now`. Steps that were done are not done
    again, so that one that was broken off is brought to its end; people can sign in when all is
    there. Raises Conflict where somebody else in this service has a demo's sign-in name.
    """
    pool = _demo_pool()
    if pool is not None and _is_whole(pool.id):
        return pool
    scene = Scene.lay(folder, today, now)
    if pool is None:
        pool = _add_pool(scene)
    with write(pool.id, scene.set_up_at) as stores:
        if not stores.productions.all():
            _add_house(stores, scene)
            _add_kit(stores, scene)
            _add_days(stores, scene)
    given = demo_bookings.add_bookings(pool.id, scene.content("bookings"), scene.today)
    demo_facts.add_facts(pool.id, given, scene.content("out-of-service"), scene.shift, now)
    _open_doors(pool.id, now)
    return pool


def is_loaded() -> bool:
    """Whether the demo is there with all that belongs to it."""
    pool = _demo_pool()
    return pool is not None and _is_whole(pool.id)


def _demo_pool() -> Pool | None:
    return next((pool for pool in stored_pools.all_pools() if pool.demo), None)


def _is_whole(pool: Id) -> bool:
    with read(pool) as stores:
        return any(account.demo for account in stores.accounts.all())


def _add_pool(scene: Scene) -> Pool:
    for person in scene.people():
        if person.login and sign_ins.account_of(person.login):
            raise Conflict(
                f"the demo needs the sign-in name {person.login}, which somebody here has:"
                " load it into a service of its own"
            )
    fields = ("name", "zone", "currency", "place", "phone", "opening")
    pool = Pool(new_id(), **{field: scene.told[field] for field in fields}, demo=True)
    stored_pools.add_pool(pool, scene.set_up_at)
    return pool


def _add_house(stores: Stores, scene: Scene) -> None:
    """The production, its units and everybody's names. Nobody can sign in yet."""
    actor, now = Actor.operator(stores.pool), scene.set_up_at
    production = PRODUCTIONS.enter(stores, actor, {"name": scene.told["production"]}, now)
    units: dict[str, Id] = {}
    for told in scene.told["units"]:
        values = {
            "production": production,
            "name": told["name"],
            "kind": UnitKind(told["kind"]),
            "base": told["base"],
            "phone": told["phone"],
            "way_s": told["way_min"] * 60,
        }
        units[told["name"]] = UNITS.enter(stores, actor, values, now)
    for row in scene.people():
        unit = units[row.unit] if row.unit else None
        values = {"name": row.name, "job": row.job, "phone": row.phone, "unit": unit}
        person = PEOPLE.enter(stores, actor, values, now)
        if row.role is not None:
            own = () if unit is None else (unit,)
            account = Account(new_id(), row.login, row.name, row.role, own, person=person)
            stores.accounts.add_new(account)
            after = {"role": account.role, "units": own}
            stores.journal.write(None, "made", "account", account.id, now, after=after)


def _add_kit(stores: Stores, scene: Scene) -> None:
    exponent = exponent_of(scene.told["currency"])
    found = read_kit_list(scene.content("kit-list"), currency_exponent=exponent)
    merged, _ = kit_lists.merge(stores, found, scene.set_up_at)
    kit_lists.write_kit(stores, Actor.operator(stores.pool), merged, scene.set_up_at)


def _add_days(stores: Stores, scene: Scene) -> None:
    found = read_shoot_days(scene.content("shoot-days"))
    rows = tuple(replace(row, day=row.day + scene.shift) for row in found.rows)
    merged = shoot_day_lists.merge(stores, replace(found, rows=rows))
    shoot_day_lists.write_days(stores, Actor.operator(stores.pool), merged, scene.set_up_at)


def _open_doors(pool: Id, now: Instant) -> None:
    """From here on the demo's people can sign in: the sign that all of it is there."""
    with write(pool, now) as stores:
        for account in stores.accounts.all():
            stores.accounts.change(account.id, None, demo=True)
