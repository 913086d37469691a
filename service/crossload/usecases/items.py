"""Items: the pieces of serial kit, and frequencies; with their codes, owners, homes, conditions."""

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from crossload.domain.kit import PIECE_BY_PIECE, Condition, Item, KitType, Tracking
from crossload.domain.names import fold
from crossload.domain.tags import kept_code
from crossload.domain.window import Id, Instant
from crossload.storage.ids import new_id
from crossload.storage.shelf import Shelf
from crossload.storage.stores import Stores
from crossload.usecases import conditions
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict
from crossload.usecases.registers import Register, Wrong, fields_of, unknown
from crossload.usecases.tagging import take_tags

CODES = ("tag", "barcode", "serial_number", "radio_number")


class Items(Register[Item]):
    """A piece without a code of its owner's gets a tag of ours."""

    what, kind, verb, value = "item", "item", "change kit", Item
    silent = frozenset({"owner", "notes"})

    def shelf(self, stores: Stores) -> Shelf[Item]:
        return stores.items

    def made(self, stores: Stores, values: Mapping[str, Any], now: Instant) -> Item:
        item = Item(id=new_id(), **{"tag": "", **_cleaned(values)})
        if item.tag:
            return item
        return dataclasses.replace(item, tag=item.barcode or take_tags(stores)[0])

    def changed(
        self, stores: Stores, before: Item, changes: Mapping[str, Any], now: Instant
    ) -> Item:
        return dataclasses.replace(before, **_cleaned(changes))

    def check(self, stores: Stores, before: Item | None, after: Item, now: Instant) -> Wrong:
        kit = stores.kit_types.get(after.kit_type)
        if kit is None:
            return [("/kit_type_id", "this pool has no such kit type")]
        if kit.tracking not in PIECE_BY_PIECE:
            return [("/kit_type_id", "this kit is kept by count: its pieces are not listed")]
        if before is not None:
            _refuse_to_move(stores, before, after)
            _refuse_to_retire(stores, before, after, now)
        home = unknown(stores.boxes, after.home_box, "/home_box_id", "box")
        return home + _frequency(stores, kit, after) + _codes(stores, kit, after)

    def follow(
        self, stores: Stores, actor: Actor, before: Item | None, after: Item, now: Instant
    ) -> None:
        conditions.follow_change(stores, actor.account, before, after, now)
        was = before or after
        if before is None or before.kit_type != after.kit_type:
            for kit_type in {was.kit_type, after.kit_type}:
                stores.kit_types.change(kit_type, None)
        if before is None or _as_its_box_lists_it(before) != _as_its_box_lists_it(after):
            for box in {was.home_box, after.home_box} - {None}:
                stores.boxes.change(box, None)  # type: ignore[arg-type]

    def shown(self, stores: Stores, values: Sequence[Item]) -> list[Any]:
        """Each with the number of its `home_box_number`, None where it lies loose."""
        homes = stores.boxes.some(item.home_box for item in values if item.home_box is not None)
        numbers: dict[Id | None, str] = {box.id: box.number for box in homes.values()}
        return [fields_of(i) | {"home_box_number": numbers.get(i.home_box)} for i in values]


def _cleaned(values: Mapping[str, Any]) -> dict[str, Any]:
    """Codes as they are kept: without what a scanner adds."""
    return {name: kept_code(v) if name in CODES else v for name, v in values.items()}


def _as_its_box_lists_it(item: Item) -> tuple[Any, ...]:
    return item.tag, item.kit_type, item.home_box


def _refuse_to_move(stores: Stores, before: Item, after: Item) -> None:
    if before.kit_type != after.kit_type and stores.items.has_a_past(before.id):
        raise Conflict(
            "this piece was booked, out or out of service as what it is:"
            " retire it and add another of the right kit type"
        )


def _refuse_to_retire(stores: Stores, before: Item, after: Item, now: Instant) -> None:
    """Retiring is a decision, unlike a loss: it may break no promise."""
    if after.condition is not Condition.RETIRED or before.condition is Condition.RETIRED:
        return
    if stores.custodies.of_item(before.id) is not None:
        raise Conflict("this piece is out: take it back first, or mark it lost")
    if units := stores.coming.naming(before.id, now):
        names = ", ".join(unit.name for unit in stores.units.some(units).values())
        raise Conflict(f"a booking of {names} names this piece: change or release that line first")


def _frequency(stores: Stores, kit: KitType, item: Item) -> Wrong:
    """Only a frequency carries one, and no two are the same."""
    if kit.tracking is not Tracking.FREQUENCY:
        said = "this is for kit that is kept as frequencies"
        return [("/frequency_hz", said)] if item.frequency_hz is not None else []
    if item.frequency_hz is None:
        return [("/frequency_hz", "every piece of this kit is a frequency: give it")]
    for other in stores.items.all(frequency_hz=item.frequency_hz):
        if other.id != item.id and Condition.RETIRED not in (other.condition, item.condition):
            return [("/frequency_hz", f"{other.tag} is this frequency already")]
    return []


def _codes(stores: Stores, kit: KitType, item: Item) -> Wrong:
    """Tags and barcodes are scanned alike, so each is one piece's in the pool; a number that people
    say is one piece's within its category."""
    wrong: Wrong = []
    for field in ("tag", "barcode"):
        code = getattr(item, field)
        for other in stores.items.by_code_in_any_case(code) if code else ():
            if other.id != item.id and fold(code) in (fold(other.tag), fold(other.barcode)):
                wrong.append((f"/{field}", f"{code} is on another piece already, {other.tag}"))
                break
    if not item.tag:
        wrong.append(("/tag", "a piece has a tag: give it another, or leave this as it is"))
    said = item.radio_number
    others = [o for o in stores.items.by_code_in_any_case(said) if o.id != item.id] if said else []
    kits = stores.kit_types.some(other.kit_type for other in others)
    for other in others:
        alike = fold(other.radio_number) == fold(said)
        if alike and kits[other.kit_type].category == kit.category:
            wrong.append(("/radio_number", f"{other.tag} is called {said} already"))
            break
    return wrong


ITEMS = Items()
