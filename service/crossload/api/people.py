"""/people: who is of which unit, or of the house, with a telephone number."""

from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery
from crossload.api.fields import Flag, IdField, Inside, Int, ListOf, Moment, Shape, Text
from crossload.api.plain import Shapes, serve
from crossload.usecases.people import PEOPLE

blueprint = Blueprint(
    "people", __name__, url_prefix="/api/v1/people", description="People of units and house."
)


class PersonChange(Shape):
    """Whatever is left out stays as it is. Without a unit somebody is of the house."""

    name = Text(100, least=1)
    job = Text(100)
    phone = Text(40)
    unit_id = IdField(attribute="unit", allow_none=True)
    ended = Flag()


class PersonBody(Shape):
    name = Text(100, least=1, required=True)
    job = Text(100, load_default="")
    phone = Text(40, load_default="")
    unit_id = IdField(attribute="unit", load_default=None, allow_none=True)


class PersonFull(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    job = Text(required=True)
    phone = Text(required=True)
    unit_id = IdField(attribute="unit", required=True, allow_none=True)
    ended_at = Moment(required=True, allow_none=True)
    version = Int(1, required=True)


class PeoplePage(Shape):
    people = ListOf(Inside(PersonFull), required=True)


class PeopleQuery(PageQuery):
    unit = IdField()


serve(
    blueprint, PEOPLE, Shapes(PersonFull, PeoplePage, PersonBody, PersonChange, PeopleQuery),
    "people",
)  # fmt: skip
