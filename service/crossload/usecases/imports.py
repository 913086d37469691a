"""Lists that somebody brings in: what they would change, then all of it or nothing."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from crossload.domain.kit_list import KitList
from crossload.domain.lists.kit import MergedKit, PoolKit, told
from crossload.domain.lists.merged import Change, Kind, counted
from crossload.domain.lists.shoot_days import MergedDays, told_days
from crossload.domain.money import exponent_of
from crossload.domain.row_problem import RowProblem
from crossload.domain.shoot_day_list import ShootDayList
from crossload.domain.window import Instant
from crossload.domain.zones import load_zone
from crossload.formats.grid import TableRefused
from crossload.formats.kit_list import read_kit_list
from crossload.formats.shoot_days import read_shoot_days
from crossload.formats.tables import Encoding
from crossload.storage.stores import Stores
from crossload.usecases import kit_lists, shoot_day_lists
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid
from crossload.usecases.transaction import read, write


@dataclass(frozen=True, slots=True)
class Imported:
    """What a list would change, or has changed. With problems nothing was changed at all."""

    dry_run: bool
    changes: Sequence[Change] = ()
    problems: Sequence[RowProblem] = ()
    left_out: Sequence[str] = ()
    counts: dict[str, int] = field(default_factory=dict)

    @property
    def is_done(self) -> bool:
        """Whether the list is in: not for a dry run, and not where rows are wrong."""
        return not self.dry_run and not self.problems


def import_kit_list(
    actor: Actor, content: bytes, *, dry_run: bool, now: Instant, encoding: Encoding = "utf-8"
) -> Imported:
    """Bring in a kit list, CSV or XLSX: all of it, or nothing where a row is wrong.

    The same list again changes nothing. Raises Invalid where the file is no table at all. It is
    laid beside the pool before the lock is taken, and once more under it if anything was written
    meanwhile.
    """
    actor.must("import")
    with read(actor.pool) as stores:
        found = _read_kit(stores, content, encoding)
        merged, pool = kit_lists.merge(stores, found, now)
        revision = stores.header.revision
    done = _imported_kit(found, merged, pool, dry_run)
    if not done.is_done or _nothing_to_do(done):
        return done
    with write(actor.pool, now) as stores:
        if stores.header.revision != revision + 1:
            merged, pool = kit_lists.merge(stores, found, now)
            done = _imported_kit(found, merged, pool, dry_run)
        if done.is_done:
            kit_lists.write_kit(stores, actor, merged, now)
    return done


def _read_kit(stores: Stores, content: bytes, encoding: Encoding) -> KitList:
    currency = stores.own_pool.get().currency
    known = stores.kit_types.all()
    try:
        return read_kit_list(
            content,
            currency_exponent=exponent_of(currency),
            currency=currency,
            encoding=encoding,
            known_kit_types=[kit_type.name for kit_type in known],
            known_categories=[kit_type.category for kit_type in known],
        )
    except TableRefused as error:
        raise Invalid([("", str(error))]) from error


def _imported_kit(found: KitList, merged: MergedKit, pool: PoolKit, dry_run: bool) -> Imported:
    if merged.problems and not dry_run:
        return Imported(dry_run, (), merged.problems, found.left_out)
    changes = told(merged, pool)
    counts = counted(change.kind for change in changes)
    return Imported(dry_run, changes, merged.problems, found.left_out, counts)


def _nothing_to_do(done: Imported) -> bool:
    return all(change.kind is Kind.SAME for change in done.changes)


def import_shoot_days(
    actor: Actor, content: bytes, *, dry_run: bool, now: Instant, encoding: Encoding = "utf-8"
) -> Imported:
    """Bring in shoot days, CSV or XLSX: all of them, or none where a row is wrong.

    The same table again changes nothing. Raises Invalid where the file is no table at all.
    """
    actor.must("import")
    try:
        found = read_shoot_days(content, encoding=encoding)
    except TableRefused as error:
        raise Invalid([("", str(error))]) from error
    with read(actor.pool) as stores:
        merged = shoot_day_lists.merge(stores, found)
        done = _imported_days(stores, found, merged, dry_run)
    if not done.is_done or _nothing_to_do(done):
        return done
    with write(actor.pool, now) as stores:
        merged = shoot_day_lists.merge(stores, found)
        done = _imported_days(stores, found, merged, dry_run)
        if done.is_done:
            shoot_day_lists.write_days(stores, actor, merged, now)
    return done


def _imported_days(
    stores: Stores, found: ShootDayList, merged: MergedDays, dry_run: bool
) -> Imported:
    if merged.problems and not dry_run:
        return Imported(dry_run, (), merged.problems, found.left_out)
    names = shoot_day_lists.names_of_units(stores)
    changes = told_days(merged.days, names, load_zone(stores.header.zone))
    counts = counted(change.kind for change in changes)
    return Imported(dry_run, changes, merged.problems, found.left_out, counts)
