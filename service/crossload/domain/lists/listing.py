"""What a pool has, as the rows of a kit list."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from crossload.domain.kit import COUNTED, Box, Item, KitType
from crossload.domain.kit_list import KitRow, ListedBox, ListedPiece, ListedType
from crossload.domain.lists.kit import PoolKit
from crossload.domain.lists.types import places_of
from crossload.domain.window import Id


def list_kit(pool: PoolKit) -> list[KitRow]:
    """Kit type by kit type in order of making, each with its pieces or its places; then bare boxes."""
    boxes = _listed_boxes(pool.boxes)
    names = {kit_type.id: kit_type.name for kit_type in pool.kit_types}
    items: dict[Id, list[Item]] = defaultdict(list)
    for item in pool.items:
        items[item.kit_type].append(item)
    rows: list[KitRow] = []
    for kit_type in pool.kit_types:
        rows.extend(
            _rows_of(kit_type, items[kit_type.id], pool.counts.get(kit_type.id, ()), boxes, names)
        )
    used = {row.box.number for row in rows if row.box}
    rows.extend(KitRow(None, box=box) for box in boxes.values() if box.number not in used)
    return rows


def _rows_of(
    kit_type: KitType,
    items: Iterable[Item],
    counts: Iterable[tuple[Id, int]],
    boxes: Mapping[Id | None, ListedBox],
    names: Mapping[Id, str],
) -> Iterator[KitRow]:
    listed = _listed_type(kit_type, names)
    bare = True
    if kit_type.tracking in COUNTED:
        for box, quantity in places_of(kit_type, counts).items():
            yield KitRow(listed, None, quantity, boxes.get(box))
            bare = False
    else:
        for item in items:
            yield KitRow(listed, _listed_piece(item), 1, boxes.get(item.home_box))
            bare = False
    if bare:
        yield KitRow(listed)


def _listed_boxes(boxes: Iterable[Box]) -> dict[Id | None, ListedBox]:
    boxes = list(boxes)
    numbers = {box.id: box.number for box in boxes}
    return {
        box.id: ListedBox(
            box.number, box.name, numbers[box.inside] if box.inside else "", box.place
        )
        for box in boxes
    }


def _listed_type(kit_type: KitType, names: Mapping[Id, str]) -> ListedType:
    return ListedType(
        name=kit_type.name,
        category=kit_type.category,
        tracking=kit_type.tracking,
        make=kit_type.make,
        model=kit_type.model,
        price_minor=kit_type.price_minor,
        mass_g=kit_type.mass_g,
        prep_s=kit_type.prep_s,
        check_in_s=kit_type.check_in_s,
        reorder_level=kit_type.reorder_level,
        rechargeable=kit_type.rechargeable,
        ways=kit_type.ways,
        traits=kit_type.traits,
        goes_with=kit_type.goes_with,
        substitutes=tuple(names[id] for id in kit_type.substitutes if id in names),
        notes=kit_type.notes,
    )


def _listed_piece(item: Item) -> ListedPiece:
    return ListedPiece(
        tag=item.tag,
        barcode=item.barcode,
        serial_number=item.serial_number,
        radio_number=item.radio_number,
        owner=item.owner,
        owner_kind=item.owner_kind,
        consent_required=item.consent_required,
        condition=item.condition,
        frequency_hz=item.frequency_hz,
        notes=item.notes,
    )
