"""/out-of-service: pieces, or numbers of counted kit, that cannot be used for a while."""

from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery
from crossload.api.fields import (
    IdField,
    Inside,
    InstantField,
    Int,
    ListOf,
    Moment,
    Shape,
    Text,
    Word,
)
from crossload.api.kit_types import MOST_PIECES
from crossload.api.plain import Shapes, serve
from crossload.usecases.conditions import UNFIT
from crossload.usecases.out_of_service import OUT_OF_SERVICE

blueprint = Blueprint(
    "out-of-service",
    __name__,
    url_prefix="/api/v1/out-of-service",
    description="Kit that cannot be used for a while.",
)


class OutOfServiceBody(Shape):
    """An item, or a number of a counted kit type; from now, until further notice.

    With a condition an item has that condition while it is out of service.
    """

    item_id = IdField(attribute="item", allow_none=True)
    kit_type_id = IdField(attribute="kit_type", allow_none=True)
    quantity = Int(1, MOST_PIECES)
    start = InstantField("start", attribute="start_s")
    end = InstantField("end", attribute="end_s", allow_none=True)
    reason = Text(500)
    condition = Word(UNFIT, allow_none=True)


class OutOfServiceChange(Shape):
    """When it ends, null for until further notice; and why."""

    end = InstantField("end", attribute="end_s", allow_none=True)
    reason = Text(500)


class OutOfServiceFull(Shape):
    id = IdField(required=True)
    kit_type_id = IdField(attribute="kit_type", required=True)
    item_id = IdField(attribute="item", required=True, allow_none=True)
    quantity = Int(required=True)
    start = InstantField(attribute="start_s", required=True)
    end = InstantField(attribute="end_s", required=True, allow_none=True)
    reason = Text(required=True)
    condition = Word(UNFIT, required=True, allow_none=True)
    recorded_at = Moment(required=True)
    version = Int(1, required=True)


class OutOfServicePage(Shape):
    out_of_service = ListOf(Inside(OutOfServiceFull), required=True)


class OutOfServiceQuery(PageQuery):
    """Of one item or kit type; those alone that end after an instant."""

    item = IdField()
    kit_type = IdField()
    ends_after = InstantField()


serve(
    blueprint,
    OUT_OF_SERVICE,
    Shapes(
        OutOfServiceFull, OutOfServicePage, OutOfServiceBody, OutOfServiceChange, OutOfServiceQuery
    ),
    "windows out of service",
)
