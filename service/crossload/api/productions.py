"""/productions: whose units share the pool."""

from crossload.api.blueprint import Blueprint
from crossload.api.fields import Flag, IdField, Inside, Int, ListOf, Moment, Shape, Text
from crossload.api.plain import Shapes, serve
from crossload.usecases.people import PRODUCTIONS

blueprint = Blueprint(
    "productions", __name__, url_prefix="/api/v1/productions", description="Productions."
)


class ProductionBody(Shape):
    name = Text(100, least=1, required=True)


class ProductionChange(Shape):
    name = Text(100, least=1)
    ended = Flag()


class ProductionFull(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    ended_at = Moment(required=True, allow_none=True)
    version = Int(1, required=True)


class ProductionsPage(Shape):
    productions = ListOf(Inside(ProductionFull), required=True)


serve(
    blueprint,
    PRODUCTIONS,
    Shapes(ProductionFull, ProductionsPage, ProductionBody, ProductionChange),
    "productions",
)
