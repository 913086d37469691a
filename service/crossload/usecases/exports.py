"""A pool's kit and days as files that can be brought in again, unchanged."""

from crossload.domain.lists.listing import list_kit
from crossload.domain.lists.shoot_days import list_days
from crossload.domain.money import exponent_of
from crossload.domain.zones import load_zone
from crossload.formats.kit_list import write_kit_list
from crossload.formats.shoot_days import write_shoot_days
from crossload.formats.tables import Kind
from crossload.usecases import kit_lists, shoot_day_lists
from crossload.usecases.actor import Actor
from crossload.usecases.transaction import read


def export_kit_list(actor: Actor, *, form: Kind = "csv") -> bytes:
    """All kit of the pool, by kit type in order of making: a file that `import_kit_list` reads."""
    actor.must("export")
    with read(actor.pool) as stores:
        pool = kit_lists.read_kit(stores)
        exponent = exponent_of(stores.own_pool.get().currency)
    return write_kit_list(list_kit(pool), form, currency_exponent=exponent)


def export_shoot_days(actor: Actor, *, form: Kind = "csv") -> bytes:
    """All shoot days of the units at work, by date: a file that `import_shoot_days` reads."""
    actor.must("export")
    with read(actor.pool) as stores:
        names = shoot_day_lists.names_of_units(stores)
        zone = load_zone(stores.header.zone)
        places = {unit: place for place, unit in enumerate(names)}
        days = [day for day in stores.shoot_days.all() if day.unit in names]
    days.sort(key=lambda day: (day.day, places[day.unit]))
    return write_shoot_days(list_days(days, names, zone), form)
