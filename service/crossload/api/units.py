"""/units: the shooting units of the productions."""

from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery
from crossload.api.fields import Flag, IdField, Inside, Int, ListOf, Moment, Shape, Text, Word
from crossload.api.plain import Shapes, serve
from crossload.domain.shoot import UnitKind
from crossload.usecases.people import UNITS

blueprint = Blueprint("units", __name__, url_prefix="/api/v1/units", description="Shooting units.")

WEEK_S = 7 * 86_400


class UnitChange(Shape):
    """Whatever is left out stays as it is. `way_s` is the time kit takes from house to base."""

    production_id = IdField(attribute="production")
    name = Text(100, least=1)
    kind = Word(UnitKind)
    base = Text(200)
    phone = Text(40)
    way_s = Int(0, WEEK_S)
    ended = Flag()


class UnitBody(Shape):
    production_id = IdField(attribute="production", required=True)
    name = Text(100, least=1, required=True)
    kind = Word(UnitKind, required=True)
    base = Text(200, load_default="")
    phone = Text(40, load_default="")
    way_s = Int(0, WEEK_S, load_default=0)


class UnitFull(Shape):
    id = IdField(required=True)
    production_id = IdField(attribute="production", required=True)
    name = Text(required=True)
    kind = Word(UnitKind, required=True)
    base = Text(required=True)
    phone = Text(required=True)
    way_s = Int(required=True)
    ended_at = Moment(required=True, allow_none=True)
    version = Int(1, required=True)


class UnitsPage(Shape):
    units = ListOf(Inside(UnitFull), required=True)


class UnitsQuery(PageQuery):
    production = IdField()


serve(blueprint, UNITS, Shapes(UnitFull, UnitsPage, UnitBody, UnitChange, UnitsQuery), "units")
