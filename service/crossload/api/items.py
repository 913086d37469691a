"""/items: single pieces and frequencies, with their codes, owners, homes and conditions."""

from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery
from crossload.api.fields import Flag, IdField, Inside, Int, ListOf, Shape, Text, TextMap, Word
from crossload.api.plain import Shapes, serve
from crossload.domain.kit import Condition, OwnerKind
from crossload.usecases.items import ITEMS

blueprint = Blueprint(
    "items", __name__, url_prefix="/api/v1/items", description="Single pieces of kit."
)

MOST_HZ = 300 * 10**9
"""Where radio ends: ITU Radio Regulations, article 1.5 gives 3,000 GHz; no set's kit is near."""


class ItemChange(Shape):
    """Whatever is left out stays as it is. A condition other than fit is out of service at once."""

    kit_type_id = IdField(attribute="kit_type")
    tag = Text(64)
    barcode = Text(64)
    serial_number = Text(64)
    radio_number = Text(64)
    owner = Text(200)
    owner_kind = Word(OwnerKind)
    consent_required = Flag()
    condition = Word(Condition)
    home_box_id = IdField(attribute="home_box", allow_none=True)
    frequency_hz = Int(1, MOST_HZ, allow_none=True)
    notes = TextMap(2000, lines=True)


class ItemBody(ItemChange):
    """A piece of a kit type. Without a tag or a barcode of its owner's it gets a tag."""

    kit_type_id = IdField(attribute="kit_type", required=True)


class ItemFull(Shape):
    """`home_box` is the number of the box that it belongs in."""

    id = IdField(required=True)
    kit_type_id = IdField(attribute="kit_type", required=True)
    tag = Text(required=True)
    barcode = Text(required=True)
    serial_number = Text(required=True)
    radio_number = Text(required=True)
    owner = Text(required=True)
    owner_kind = Word(OwnerKind, required=True)
    consent_required = Flag(required=True)
    condition = Word(Condition, required=True)
    home_box_id = IdField(attribute="home_box", required=True, allow_none=True)
    home_box = Text(attribute="home_box_number", required=True, allow_none=True)
    frequency_hz = Int(required=True, allow_none=True)
    notes = TextMap(2000, required=True)
    version = Int(1, required=True)


class ItemsPage(Shape):
    items = ListOf(Inside(ItemFull), required=True)


class ItemsQuery(PageQuery):
    kit_type = IdField()
    home_box = IdField()
    condition = Word(Condition)


serve(blueprint, ITEMS, Shapes(ItemFull, ItemsPage, ItemBody, ItemChange, ItemsQuery), "items")
