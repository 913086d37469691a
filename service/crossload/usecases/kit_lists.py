"""A kit list brought into a pool's shelves, in a transaction that somebody else holds."""

from collections.abc import Callable, Iterable
from typing import Any

from crossload.domain.custody import OutOfService
from crossload.domain.kit import Condition, Item
from crossload.domain.kit_list import KitList
from crossload.domain.lists.kit import MergedKit, PoolKit, merge_kit
from crossload.domain.lists.merged import Kind, Merged, in_json
from crossload.domain.window import FOREVER, Id, Instant
from crossload.storage.ids import new_id
from crossload.storage.journals import Noted
from crossload.storage.shelf import Shelf
from crossload.storage.stores import Stores

_UNWRITTEN = ("owner",)
"""A person's name may stand there, and the journal holds none."""


def read_kit(stores: Stores) -> PoolKit:
    """All kit of a pool."""
    boxes = stores.boxes.with_counts(stores.boxes.all())
    return PoolKit(stores.kit_types.all(), stores.items.all(), boxes)


def merge(stores: Stores, found: KitList) -> tuple[MergedKit, PoolKit]:
    pool = read_kit(stores)
    return merge_kit(found, pool, new_id), pool


def write_kit(stores: Stores, merged: MergedKit, account: Id | None, now: Instant) -> None:
    """Write what is new and what has changed; what a condition says of use follows it."""
    notes: list[Noted] = []
    for shelf, changes, kind in (
        (stores.boxes, merged.boxes, "box"),
        (stores.kit_types, merged.types, "kit type"),
        (stores.items, merged.pieces, "item"),
    ):
        notes += write_merged(shelf, changes, kind)
    for kit_type, box, quantity in merged.places:
        stores.boxes.set_count(box, kit_type, quantity)
    stores.journal.write_all(account, notes, now)
    _follow_conditions(stores, merged.pieces, account, now)


def write_merged(
    shelf: Shelf[Any],
    merged: Iterable[Merged[Any]],
    kind: str,
    change: Callable[[Merged[Any]], object] | None = None,
) -> list[Noted]:
    """Add the new ones and change the changed ones; answers what the journal is to hold."""
    notes = []
    new = [each for each in merged if each.kind is Kind.NEW]
    shelf.add(*(each.value for each in new))
    for each in merged:
        fields = {name: pair for name, pair in each.fields.items() if name != "counts"}
        if each.kind is Kind.CHANGED and fields:
            shelf.change(each.id, None, **{name: after for name, (_, after) in fields.items()})
        if each.kind is not Kind.SAME:
            notes.append(_noted(each, kind))
    return notes


def _noted(each: Merged[Any], kind: str) -> Noted:
    pairs = {**each.fields, **each.more}
    pairs = {name: pair for name, pair in pairs.items() if name not in _UNWRITTEN}
    before, after = ({name: in_json(pair[side]) for name, pair in pairs.items()} for side in (0, 1))
    verb = "made" if each.kind is Kind.NEW else "changed"
    return Noted(verb, kind, each.id, None if each.kind is Kind.NEW else before, after)


# --- conditions


def _follow_conditions(
    stores: Stores, pieces: Iterable[Merged[Item]], account: Id | None, now: Instant
) -> None:
    """A piece that is not fit is out of service until further notice; one that is again, no more.

    A retired one is no stock at all, so it needs no such window.
    """
    changed = [each for each in pieces if "condition" in each.fields]
    kinds = {each.value.kit_type for each in changed}
    open_windows = {
        window.item: window
        for window in stores.custodies.services(sorted(kinds), now, FOREVER + 1)
        if window.item is not None and window.condition is not None and window.start_s <= now
    }
    for each in changed:
        item, window = each.value, open_windows.get(each.id)
        out = item.condition not in (Condition.FIT, Condition.RETIRED)
        if out and window is None:
            made = OutOfService(
                new_id(), item.kit_type, 1, now, FOREVER, item.id,
                condition=item.condition, recorded_at=now,
            )  # fmt: skip
            stores.out_of_service.add(made, recorded_seq=stores.header.revision)
            after = {"item": item.id, "condition": item.condition}
            stores.journal.write(account, "made", "out of service", made.id, now, after=after)
        elif out and window is not None:
            stores.out_of_service.change(window.id, None, condition=item.condition)
        elif window is not None:
            _end(stores, window, account, now)


def _end(stores: Stores, window: OutOfService, account: Id | None, now: Instant) -> None:
    end = max(now, window.start_s + 1)
    stores.out_of_service.change(window.id, None, end_s=end)
    before, after = {"end": window.end_s}, {"end": end}
    stores.journal.write(account, "ended", "out of service", window.id, now, before, after)
