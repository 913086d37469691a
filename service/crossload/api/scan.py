"""/scan: what a tag, a barcode or a spoken number is, and where that is now."""

from typing import Any

from flask.views import MethodView
from werkzeug.routing import BaseConverter

from crossload.api import session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import IdField, Inside, Moment, Shape, Text, Word
from crossload.api.problems import refuse
from crossload.domain.kit import Condition
from crossload.usecases import scan

blueprint = Blueprint(
    "scan", __name__, url_prefix="/api/v1/scan", description="What a code stands for."
)

LONGEST = 200


class Code(BaseConverter):
    """A code in an address: all that a scanner can send, slashes and line ends too."""

    regex = "(?s:.)+"
    part_isolating = False


blueprint.record(lambda state: state.app.url_map.converters.setdefault("code", Code))


class ScannedItem(Shape):
    id = IdField(required=True)
    tag = Text(required=True)
    barcode = Text(required=True)
    serial_number = Text(required=True)
    radio_number = Text(required=True)


class ScannedBox(Shape):
    id = IdField(required=True)
    number = Text(required=True)
    name = Text(required=True)


class ScannedKitType(Shape):
    id = IdField(required=True)
    name = Text(required=True)


class WhereOut(Shape):
    kind = Word(("box", "unit", "person", "out_of_service"), required=True)
    text = Text(required=True)


class ScannedOut(Shape):
    """One of `item`, `box` and `kit_type`; an item's kit type stands in `kit_type_id`.

    `unit_id` says who has a piece that is out, `back_at` when one that is not came back last.
    """

    item = Inside(ScannedItem, required=True, allow_none=True)
    box = Inside(ScannedBox, required=True, allow_none=True)
    kit_type = Inside(ScannedKitType, required=True, allow_none=True)
    tag = Text(required=True, allow_none=True)
    name = Text(required=True)
    kit_type_id = IdField(required=True, allow_none=True)
    condition = Word(Condition, required=True, allow_none=True)
    where = Inside(WhereOut, required=True, allow_none=True)
    booking_id = IdField(required=True, allow_none=True)
    due_at = Moment(required=True, allow_none=True)
    unit_id = IdField(required=True, allow_none=True)
    back_at = Moment(required=True, allow_none=True)


@blueprint.route("/<code:code>")
class Scan(MethodView):
    @blueprint.response(200, ScannedOut)
    def get(self, code: str) -> Any:
        """What carries this code. A mistyped tag is refused by name."""
        if len(code) > LONGEST:
            refuse("invalid", f"a code has {LONGEST} characters at most: read it again")
        found = scan.scan(session.current_actor(), code, now=session.now())
        item, custody = found.item, found.custody
        return {
            "item": item,
            "box": found.box,
            "kit_type": None if item else found.kit_type,
            "tag": item.tag if item else None,
            "name": found.name,
            "kit_type_id": found.kit_type_id,
            "condition": item.condition if item else None,
            "where": found.where,
            "booking_id": custody.booking if custody else None,
            "due_at": custody.due_at if custody else None,
            "unit_id": custody.unit if custody else None,
            "back_at": found.back_at,
        }
