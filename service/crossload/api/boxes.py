"""/boxes: numbered cases, what belongs in them, and what they stand in."""

from typing import Any

from marshmallow import ValidationError, post_load

from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery
from crossload.api.fields import IdField, Inside, Int, ListOf, Shape, Text, Word
from crossload.api.kit_types import MOST_PIECES
from crossload.api.plain import Shapes, serve
from crossload.domain.kit import Condition
from crossload.usecases.boxes import BOXES

blueprint = Blueprint(
    "boxes", __name__, url_prefix="/api/v1/boxes", description="Boxes and what belongs in them."
)


class CountBody(Shape):
    kit_type_id = IdField(attribute="kit_type", required=True)
    quantity = Int(1, MOST_PIECES, required=True)


class BoxChange(Shape):
    """Whatever is left out stays as it is; `counts` are all that belong in the box by number."""

    number = Text(64, least=1)
    name = Text(100)
    inside_box_id = IdField(attribute="inside", allow_none=True)
    place = Text(100)
    counts = ListOf(Inside(CountBody), 200)

    @post_load
    def _as_numbers(self, read: dict[str, Any], **_: Any) -> dict[str, Any]:
        if "counts" in read:
            counts = {count["kit_type"]: count["quantity"] for count in read["counts"]}
            if len(counts) < len(read["counts"]):
                raise ValidationError("a kit type stands here twice: add the two up", "counts")
            read["counts"] = counts
        return read


class BoxBody(BoxChange):
    number = Text(64, least=1, required=True)


class CountOut(Shape):
    kit_type_id = IdField(attribute="kit_type", required=True)
    name = Text(required=True)
    quantity = Int(required=True)


class ItemInBox(Shape):
    id = IdField(required=True)
    tag = Text(required=True)
    kit_type_id = IdField(attribute="kit_type", required=True)
    name = Text(required=True)
    condition = Word(Condition, required=True)


class BoxFull(Shape):
    id = IdField(required=True)
    number = Text(required=True)
    name = Text(required=True)
    inside_box_id = IdField(attribute="inside", required=True, allow_none=True)
    place = Text(required=True)
    counts = ListOf(Inside(CountOut), attribute="contents", required=True)
    items = ListOf(Inside(ItemInBox), required=True)
    version = Int(1, required=True)


class BoxesPage(Shape):
    boxes = ListOf(Inside(BoxFull), required=True)


class BoxesQuery(PageQuery):
    inside = IdField()


serve(blueprint, BOXES, Shapes(BoxFull, BoxesPage, BoxBody, BoxChange, BoxesQuery), "boxes")
