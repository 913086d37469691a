"""`crossload import` and `export`: lists in, lists out."""

import json
import sys
from collections.abc import Iterable
from pathlib import Path

from crossload.clock import system_clock
from crossload.commands import Told, operator, say
from crossload.domain.lists.merged import Change, Kind
from crossload.formats.tables import Kind as Form
from crossload.ground import CannotGoOn
from crossload.usecases import exports, imports


def import_file(told: Told) -> int:
    actor = operator(told)
    bring_in = {"kit-list": imports.import_kit_list, "shoot-days": imports.import_shoot_days}
    try:
        raw = told.file.read_bytes()
    except OSError as error:
        raise CannotGoOn(f"{told.file} cannot be read: {error.strerror}") from error
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
    form = _form(told.file)
    actor = operator(told)
    write = {"kit-list": exports.export_kit_list, "shoot-days": exports.export_shoot_days}
    raw = write[told.kind](actor, form=form)
    if told.file == "-":
        sys.stdout.buffer.write(raw)
        sys.stdout.buffer.flush()
        return 0
    try:
        Path(told.file).write_bytes(raw)
    except OSError as error:
        raise CannotGoOn(f"{told.file} cannot be written: {error.strerror}") from error
    return 0


def _form(file: str) -> Form:
    ending = ".csv" if file == "-" else Path(file).suffix.lower()
    if ending not in (".csv", ".xlsx"):
        raise CannotGoOn(f"{file} ends in neither .csv nor .xlsx: name a file that does")
    return "xlsx" if ending == ".xlsx" else "csv"
