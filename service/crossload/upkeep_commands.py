"""`crossload migrate`, `backup`, `restore` and `check-data`: looking after the database."""

from crossload.clock import system_clock
from crossload.commands import Told, open_there, pool_id, say
from crossload.ground import CannotGoOn, check_folder, hold_folder, prepare_database
from crossload.settings import Settings
from crossload.storage import backup as backups
from crossload.storage import migrate as migrations
from crossload.storage.database import open_database
from crossload.usecases import checks, pools
from crossload.usecases.actor import Actor


def migrate(told: Told) -> int:
    settings: Settings = told.settings
    if settings.is_embedded:
        check_folder(settings)
    open_database(settings.database, engine=settings.sqlite_engine)
    applied = migrations.migrate()
    say(*(f"applied {name}" for name in applied) if applied else ["nothing to apply"])
    return 0


def backup(told: Told) -> int:
    settings = open_there(told)
    backups.back_up(told.file, settings.database)
    say(f"{told.file}: {told.file.stat().st_size / 1_000_000:.1f} MB")
    return 0


def restore(told: Told) -> int:
    settings: Settings = told.settings
    if settings.is_embedded:
        return _restore_file(told, settings)
    open_database(settings.database)
    if backups.holds_pools() and not told.replace:
        raise CannotGoOn(
            "the database holds a pool already, and nothing of it would be left: back it up, then"
            " add --replace"
        )
    backups.restore_dump(told.file, settings.database)
    say(f"{told.file} is in place")
    return 0


def _restore_file(told: Told, settings: Settings) -> int:
    check_folder(settings)
    database = settings.database_file
    with hold_folder(settings):
        if database.exists() and not told.replace:
            raise CannotGoOn(
                f"{database} is there already: add --replace, and it is kept beside the new one"
            )
        kept = backups.restore_file(told.file, database)
        prepare_database(settings)
    say(f"{told.file} is in place", *([f"what was there is now {kept}"] if kept else []))
    return 0


def check_data(told: Told) -> int:
    open_there(told)
    there = [pools.only_pool(pool_id(told.pool))] if told.pool else pools.all_pools()
    broken = backups.damage()
    if not broken:
        broken = [
            f"{pool.name}: {sentence}" if len(there) > 1 else sentence
            for pool in there
            for sentence in checks.check(Actor.operator(pool.id), now=system_clock())
        ]
    say(*broken or ["all that must hold does"])
    return 1 if broken else 0
