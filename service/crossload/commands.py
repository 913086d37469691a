"""What each command does: opens the database, calls a use-case, prints what came of it."""

import argparse
import json
import sys
from collections.abc import Iterable
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from typing import Any

import requests

from crossload import walk
from crossload import worker as scheduling
from crossload.app import system_clock
from crossload.domain import ids
from crossload.domain.instants import parse_day
from crossload.domain.lists.merged import Change, Kind
from crossload.domain.people import Role
from crossload.domain.shoot import Pool
from crossload.domain.window import Id
from crossload.formats.tables import Kind as Form
from crossload.serving import (
    CannotServe,
    check_folder,
    check_port,
    fixtures_folder,
    hold_folder,
    prepare_database,
    start_afresh,
)
from crossload.serving import serve as serve_until_ended
from crossload.settings import Settings
from crossload.storage import backup as backups
from crossload.storage import migrate as migrations
from crossload.storage.database import open_database
from crossload.usecases import demo as demos
from crossload.usecases import exports, imports, invitations, pools
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid

__all__ = ["LISTS", "ROLES", "CannotServe"]

LISTS = ("kit-list", "shoot-days")
ROLES = tuple(str(role) for role in Role if role is not Role.WALL)

Told = argparse.Namespace


def say(*lines: str) -> None:
    sys.stdout.write("\n".join([*lines, ""]))
    sys.stdout.flush()


def _open(told: Told) -> Settings:
    """Open the database, which must be there and of this program's schema."""
    settings: Settings = told.settings
    own = settings.is_embedded and not settings.database_url
    if own and not (settings.data / "crossload.db").exists():
        raise CannotServe(
            f"there is no database in {settings.data}: name its folder with --data,"
            " or begin with crossload serve"
        )
    prepare_database(settings)
    return settings


def operator(told: Told) -> Actor:
    _open(told)
    return pools.operator(_id(told.pool) if told.pool else None)


def _id(text: str) -> Id:
    try:
        return ids.from_text(text)
    except ValueError as error:
        raise Invalid([("", f"{text} is no id: {error}")]) from error


def serve(told: Told) -> int:
    settings: Settings = told.settings
    held = ExitStack()
    check_folder(settings)
    if settings.is_embedded:
        held.enter_context(hold_folder(settings))
    check_port(settings)
    if told.fresh:
        start_afresh(settings)
    prepare_database(settings)
    serve_until_ended(settings, welcome=_welcome(settings, empty=told.empty), held=held)
    return 0


def _welcome(settings: Settings, *, empty: bool) -> str:
    """What is printed when the board answers: where it is, and how to get in."""
    board = f"The board: {settings.board}/"
    there = pools.all_pools()
    if not empty and (not there or any(pool.demo for pool in there)):
        _load_demo(None)  # one that is there stays, one that was broken off is brought to its end
        there = pools.all_pools()
    if not there:
        there = [
            pools.make_pool(
                "Pool", zone=settings.zone, currency=settings.currency, now=system_clock()
            )
        ]
    if any(pool.demo for pool in there):
        return (
            f"{board}\nSign in there as one of the demo's people, on this machine without password."
        )
    if not any(pools.has_accounts(pool.id) for pool in there):
        link = invitation_link(settings, Actor.operator(there[0].id))
        return f"{board}\nFor its first coordinator, good once and for a week: {link}"
    return f"{board}\nSign in with your name and password."


def _load_demo(today: date | None) -> Pool:
    return demos.load_demo(fixtures_folder(), today=today, now=system_clock())


def invitation_link(settings: Settings, actor: Actor, **whom: Any) -> str:
    _, secret = invitations.invite(actor, **whom, now=system_clock())
    return f"{settings.board}/welcome#{secret}"


def worker(told: Told) -> int:
    scheduling.run(_open(told))
    return 0


def migrate(told: Told) -> int:
    settings: Settings = told.settings
    if settings.is_embedded:
        check_folder(settings)
    open_database(settings.database, engine=settings.sqlite_engine)
    applied = migrations.migrate()
    say(*(f"applied {name}" for name in applied) if applied else ["nothing to apply"])
    return 0


def import_file(told: Told) -> int:
    actor = operator(told)
    bring_in = {"kit-list": imports.import_kit_list, "shoot-days": imports.import_shoot_days}
    try:
        raw = told.file.read_bytes()
    except OSError as error:
        raise CannotServe(f"{told.file} cannot be read: {error.strerror}") from error
    found = bring_in[told.kind](
        actor,
        raw,
        dry_run=told.dry_run,
        now=system_clock(),
        encoding="latin-1" if told.latin_1 else "utf-8",
    )
    say_changes(found.changes)
    for problem in found.problems:
        where = f", {problem.column}" if problem.column else ""
        sys.stderr.write(f"row {problem.row}{where}: {problem.reason}\n")
    if found.problems:
        sys.stderr.write("nothing was changed\n")
        return 1
    counts = ", ".join(f"{count} {kind}" for kind, count in sorted(found.counts.items()))
    say(f"{'would be ' if told.dry_run else ''}{counts or 'nothing in it'}")
    return 0


def say_changes(changes: Iterable[Change]) -> None:
    for change in changes:
        if change.kind is Kind.SAME:
            continue
        told = f"row {change.row}: {change.kind} {change.what} {change.name}"
        differences = [
            f"{field} {json.dumps(before, ensure_ascii=False)}"
            f" → {json.dumps(after, ensure_ascii=False)}"
            for field, (before, after) in change.fields.items()
        ]
        says_more = change.kind is Kind.CHANGED and differences
        say(f"{told}: {', '.join(differences)}" if says_more else told)


def export_file(told: Told) -> int:
    actor = operator(told)
    write = {"kit-list": exports.export_kit_list, "shoot-days": exports.export_shoot_days}
    form: Form = "xlsx" if told.file.endswith(".xlsx") else "csv"
    raw = write[told.kind](actor, form=form)
    if told.file == "-":
        sys.stdout.buffer.write(raw)
        return 0
    try:
        Path(told.file).write_bytes(raw)
    except OSError as error:
        raise CannotServe(f"{told.file} cannot be written: {error.strerror}") from error
    return 0


def judge(told: Told) -> int:
    from crossload.formats.cases import BadCase, run_judge

    try:
        raw = sys.stdin.buffer.read() if told.case == "-" else Path(told.case).read_bytes()
    except OSError as error:
        raise CannotServe(f"{told.case} cannot be read: {error.strerror}") from error
    try:
        answer, status = run_judge(raw), 0
    except BadCase as error:
        answer, status = error.problem(), 2
    say(json.dumps(answer, ensure_ascii=False))
    return status


def backup(told: Told) -> int:
    settings = _open(told)
    backups.back_up(told.file, settings.database)
    say(f"{told.file}: {told.file.stat().st_size / 1_000_000:.1f} MB")
    return 0


def restore(told: Told) -> int:
    settings: Settings = told.settings
    if settings.is_embedded:
        return _restore_file(told, settings)
    open_database(settings.database)
    if not told.replace:
        raise CannotServe("restore puts the backup in place of all that is there: add --replace")
    backups.restore_dump(told.file, settings.database)
    say(f"{told.file} is in place")
    return 0


def _restore_file(told: Told, settings: Settings) -> int:
    check_folder(settings)
    database = Path(settings.database.removeprefix("sqlite:///"))
    with hold_folder(settings):
        if database.exists() and not told.replace:
            raise CannotServe(
                f"{database} is there already: add --replace, and it is kept beside the new one"
            )
        kept = backups.restore_file(told.file, database)
        prepare_database(settings)
    say(f"{told.file} is in place", *([f"what was there is now {kept}"] if kept else []))
    return 0


def demo(told: Told) -> int:
    if told.walk:
        return _walk(told.url)
    settings: Settings = told.settings
    try:
        today = parse_day(told.date) if told.date else None
    except ValueError as error:
        raise Invalid([("", str(error))]) from error
    if settings.is_embedded:
        check_folder(settings)
    prepare_database(settings)
    if demos.is_loaded():
        say("the demo is there already")
        return 0
    say(f"loaded {_load_demo(today).name}")
    return 0


def _walk(url: str) -> int:
    try:
        walk.walk(url, say)
    except walk.WalkFailed as error:
        sys.stderr.write(f"{error}\n")
        return 1
    except requests.RequestException as error:
        raise CannotServe(f"no service answers at {url}: start one with crossload serve") from error
    return 0


def check_data(told: Told) -> int:
    from crossload.usecases import checks

    broken = checks.check(operator(told), now=system_clock())
    say(*broken or ["all that must hold does"])
    return 1 if broken else 0
