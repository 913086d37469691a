"""Many things of one kind, laid beside what a pool has, written in a few statements."""

from collections.abc import Iterable
from typing import Any

from crossload.domain.lists.merged import Kind, Merged
from crossload.domain.window import Id, Instant
from crossload.storage.journals import Noted
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.registers import Register

_ELSEWHERE = ("counts",)
"""Parts of a value that lie in rows of their own."""


def write_merged(
    stores: Stores,
    actor: Actor,
    register: Register[Any],
    merged: Iterable[Merged[Any]],
    now: Instant,
) -> None:
    """Add what is new and change what has changed, each with its line in the journal."""
    merged = list(merged)
    shelf = register.shelf(stores)
    shelf.add(*(each.value for each in merged if each.kind is Kind.NEW))
    for each in merged:
        if each.kind is Kind.CHANGED:
            fields = {n: after for n, (_, after) in each.fields.items() if n not in _ELSEWHERE}
            shelf.change(each.id, None, **fields)
    notes = [_noted(register, each) for each in merged if each.kind is not Kind.SAME]
    stores.journal.write_all(actor.account, notes, now)


def _noted(register: Register[Any], each: Merged[Any]) -> Noted:
    fields = [name for name in each.fields if name not in _ELSEWHERE]
    after = register.told(each.value, fields) | {n: _places(p[1]) for n, p in each.more.items()}
    if each.before is None:
        return Noted("made", register.kind, each.id, None, after)
    before = register.told(each.before, fields) | {n: _places(p[0]) for n, p in each.more.items()}
    return Noted("changed", register.kind, each.id, before, after)


def _places(value: dict[Id | None, int] | None) -> list[list[Id | int | None]]:
    """Where counted kit lies, as pairs of box and quantity; no box is loose."""
    return [[box, quantity] for box, quantity in (value or {}).items()]
