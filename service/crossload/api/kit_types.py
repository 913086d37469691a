"""/kit-types: what there is to book, what each kind needs, how long it takes to prepare."""

from typing import Any

from marshmallow import post_load

from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery
from crossload.api.fields import Flag, IdField, Inside, Int, ListOf, Shape, Text, TextMap, Word
from crossload.api.plain import Shapes, serve
from crossload.domain.kit import TRAITS, Need, Tracking
from crossload.usecases.kit import KIT_TYPES

blueprint = Blueprint(
    "kit-types", __name__, url_prefix="/api/v1/kit-types", description="What there is to book."
)

MOST_PIECES = 100_000
MONTH_S = 31 * 86_400
MOST_PRICE_MINOR = 10**12
MOST_MASS_G = 10**8


class NeedShape(Shape):
    """So many of a category, agreeing in the named traits; of receivers it counts ways."""

    category = Text(60, least=1, required=True)
    quantity = Int(1, 1000, required=True)
    match = ListOf(Word(TRAITS), len(TRAITS), load_default=())

    @post_load
    def _need(self, read: dict[str, Any], **_: Any) -> Need:
        return Need(read["category"], read["quantity"], tuple(read["match"]))


class KitTypeChange(Shape):
    """Whatever is left out stays as it is."""

    name = Text(200, least=1)
    category = Text(60, least=1)
    tracking = Word(Tracking)
    count = Int(0, MOST_PIECES)
    make = Text(100)
    model = Text(100)
    price_minor = Int(0, MOST_PRICE_MINOR, allow_none=True)
    mass_g = Int(0, MOST_MASS_G, allow_none=True)
    prep_s = Int(0, MONTH_S)
    check_in_s = Int(0, MONTH_S)
    reorder_level = Int(0, MOST_PIECES, allow_none=True)
    rechargeable = Flag()
    ways = Int(0, 64)
    traits = TextMap(60, names=TRAITS)
    goes_with = ListOf(Inside(NeedShape), 50)
    substitutes = ListOf(IdField(), 50)
    notes = TextMap(2000, lines=True)


class KitTypeBody(KitTypeChange):
    """A kit type has a name, a category and a way of being kept; the rest can follow."""

    name = Text(200, least=1, required=True)
    category = Text(60, least=1, required=True)
    tracking = Word(Tracking, required=True)


class KitTypeFull(Shape):
    """`capacity` is the count, or how many pieces there are that are not retired."""

    id = IdField(required=True)
    name = Text(required=True)
    category = Text(required=True)
    tracking = Word(Tracking, required=True)
    count = Int(required=True)
    capacity = Int(required=True)
    make = Text(required=True)
    model = Text(required=True)
    price_minor = Int(required=True, allow_none=True)
    mass_g = Int(required=True, allow_none=True)
    prep_s = Int(required=True)
    check_in_s = Int(required=True)
    reorder_level = Int(required=True, allow_none=True)
    rechargeable = Flag(required=True)
    ways = Int(required=True)
    traits = TextMap(60, names=TRAITS, required=True)
    goes_with = ListOf(Inside(NeedShape), required=True)
    substitutes = ListOf(IdField(), required=True)
    notes = TextMap(2000, required=True)
    version = Int(1, required=True)


class KitTypesPage(Shape):
    kit_types = ListOf(Inside(KitTypeFull), required=True)


class KitTypesQuery(PageQuery):
    category = Text(60)
    tracking = Word(Tracking)


serve(
    blueprint,
    KIT_TYPES,
    Shapes(KitTypeFull, KitTypesPage, KitTypeBody, KitTypeChange, KitTypesQuery),
    "kit types",
)
