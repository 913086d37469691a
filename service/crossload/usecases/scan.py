"""What a scanned or typed code is, and where that is now."""

import re
from dataclasses import dataclass

from crossload.domain.custody import Custody
from crossload.domain.instants import shown
from crossload.domain.kit import Box, Condition, Item, KitType
from crossload.domain.names import fold
from crossload.domain.tags import check_tag, kept_code, looks_like_tag
from crossload.domain.window import Id, Instant
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, Invalid, NotFound
from crossload.usecases.transaction import read

_BOX = re.compile(r"box\s+(.+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Where:
    """`kind` is box, unit, person or out_of_service; `text` is for people."""

    kind: str
    text: str


@dataclass(frozen=True, slots=True)
class Scanned:
    """One of an item, a box and a kit type, and what is known of it now."""

    name: str
    item: Item | None = None
    box: Box | None = None
    kit_type: KitType | None = None
    where: Where | None = None
    custody: Custody | None = None
    back_at: Instant | None = None

    @property
    def kit_type_id(self) -> Id | None:
        return self.kit_type.id if self.kit_type else None


def scan(actor: Actor, text: str, *, now: Instant) -> Scanned:
    """What a tag, a barcode, a spoken radio number, a box number or a kit type's name stands for.

    What owners have put on their kit comes first, as it is; last, spaces and hyphens aside. Invalid
    names a mistyped tag, NotFound what nothing here carries, Conflict a number that several pieces
    are called.
    """
    actor.must("read")
    code = kept_code(text)
    if not code:
        raise Invalid([("", "the code is empty: scan or type it again")])
    with read(actor.pool) as stores:
        item = _carrier(stores, code)
        if item is not None:
            return _of_item(stores, item, now)
        box = _box(stores, code)
        if box is not None:
            return Scanned(_box_name(box), box=box, where=_standing(stores, box))
        for kit in stores.kit_types.all():
            if fold(kit.name) == fold(code):
                return Scanned(kit.name, kit_type=kit)
        spaced = stores.items.by_code_however_spaced(code)
        if spaced:
            return _of_item(stores, _only(stores, spaced, code), now)
        if looks_like_tag(code) and not _BOX.fullmatch(code):
            return _of_item(stores, _tagged(stores, code), now)
    raise NotFound("code", f"nothing here carries {shown(code)}: read it again")


def _carrier(stores: Stores, code: str) -> Item | None:
    """The piece that has the code as it is, else in another case; a tag before a spoken number."""
    found = stores.items.by_code(code) or stores.items.by_code_in_any_case(code)
    tagged = [i for i in found if fold(code) in (fold(i.tag), fold(i.barcode))]
    return _only(stores, tagged or found, code) if found else None


def _tagged(stores: Stores, code: str) -> Item:
    """The piece with one of our tags, however it was written; Invalid names a mistyped one."""
    try:
        tag = check_tag(code)
    except ValueError as error:
        raise Invalid([("", str(error))]) from error
    found = stores.items.by_code(tag)
    if not found:
        raise NotFound("tag", f"no piece here has the tag {tag}: read it again")
    return found[0]


def _only(stores: Stores, found: list[Item], code: str) -> Item:
    """The one piece; of several that people call alike, none is guessed at."""
    found = [item for item in found if item.condition is not Condition.RETIRED] or found
    if len(found) == 1:
        return found[0]
    kits = stores.kit_types.some(item.kit_type for item in found)
    pieces = " or ".join(f"{item.tag} {kits[item.kit_type].name}" for item in found[:4])
    tags = [item.tag for item in found]
    raise Conflict(f"{shown(code)} can be {pieces}: give the tag", tags=tags)


def _box(stores: Stores, code: str) -> Box | None:
    """A box by its number, as it is or after the word box."""
    named = _BOX.fullmatch(code)
    numbers = {fold(code), fold(named[1])} if named else {fold(code)}
    return next((box for box in stores.boxes.all() if fold(box.number) in numbers), None)


def _of_item(stores: Stores, item: Item, now: Instant) -> Scanned:
    kit = stores.kit_types.get(item.kit_type)
    assert kit is not None
    custody = stores.custodies.of_item(item.id)
    where = _where(stores, item, custody, now)
    back_at = None if custody else stores.custodies.last_back(item.id)
    return Scanned(kit.name, item=item, kit_type=kit, where=where, custody=custody, back_at=back_at)


def _where(stores: Stores, item: Item, custody: Custody | None, now: Instant) -> Where:
    """Out of service tells most; then who has it; then its home."""
    holder = _holder(stores, custody)
    if item.condition is not Condition.FIT or stores.custodies.services_of(item.id, now):
        unfit = item.condition is not Condition.FIT
        said = str(item.condition) if unfit else "out of service"
        return Where("out_of_service", f"{said}, with {holder.text}" if holder else said)
    if holder is not None:
        return holder
    home = stores.boxes.get(item.home_box) if item.home_box is not None else None
    if home is None:
        return Where("box", "in no box")
    return Where("box", ", ".join([_box_name(home), *_around(stores, home)]))


def _holder(stores: Stores, custody: Custody | None) -> Where | None:
    if custody is None:
        return None
    unit = stores.units.get(custody.unit)
    name = unit.name if unit else ""
    if custody.person:
        return Where("person", f"{custody.person}, {name}")
    return Where("unit", name)


def _standing(stores: Stores, box: Box) -> Where:
    around = _around(stores, box)
    return Where("box", ", ".join(around) if around else "in no other box")


def _around(stores: Stores, box: Box) -> list[str]:
    """The boxes that a box stands in, from within, and the place of the outermost."""
    told, seen = [], {box.id}
    while box.inside is not None and box.inside not in seen:
        outer = stores.boxes.get(box.inside)
        if outer is None:
            break
        told.append(f"in {_box_name(outer)}")
        seen.add(outer.id)
        box = outer
    return [*told, box.place] if box.place else told


def _box_name(box: Box) -> str:
    return f"Box {box.number} {box.name}".rstrip()
