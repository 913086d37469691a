"""/radio-proposal: what a radio is made of, for a unit and a window."""

from typing import Any

from flask.views import MethodView

from crossload.api import session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import (
    LEAST,
    DayField,
    IdField,
    Inside,
    InstantField,
    Int,
    ListOf,
    Moment,
    Shape,
    Text,
)
from crossload.usecases import radios

blueprint = Blueprint(
    "radios", __name__, url_prefix="/api/v1/radio-proposal", description="A radio as one thing."
)


class ProposalQuery(Shape):
    unit = IdField(required=True)
    quantity = Int(1, 200, query=True, load_default=2)
    start = InstantField("start", load_default=None)
    end = InstantField("end", load_default=None)
    range_ = Text(60, data_key="range", load_default="")
    pack = IdField(load_default=None)
    booking = IdField(load_default=None)


class AskDayOut(Shape):
    date = DayField(required=True)
    number = Int(required=True)
    call = Moment(required=True)
    wrap = Moment(required=True)
    location = Text(required=True)


class WindowOut(Shape):
    start = Moment(required=True)
    end = Moment(required=True)
    shoot_day = Inside(AskDayOut, required=True, allow_none=True)


class HeldOut(Shape):
    radios = Int(required=True)
    ways = Int(required=True)


class ChoiceOut(Shape):
    kit_type_id = IdField(required=True)
    name = Text(required=True)
    ways = Int(required=True)
    free = Int(LEAST, required=True)


class ProposedLine(Shape):
    role = Text(required=True)
    kit_type_id = IdField(required=True)
    name = Text(required=True)
    ways = Int(required=True)
    quantity = Int(required=True)
    free = Int(LEAST, required=True)
    choices = ListOf(Inside(ChoiceOut), required=True)


class LastLine(Shape):
    kit_type_id = IdField(required=True)
    name = Text(required=True)
    quantity = Int(required=True)


class LastAsk(Shape):
    booking_id = IdField(required=True, allow_none=True)
    quantity = Int(required=True)
    start = Moment(required=True)
    end = Moment(required=True)
    lines = ListOf(Inside(LastLine), required=True)


class ProposalOut(Shape):
    unit_id = IdField(required=True)
    unit = Text(required=True)
    window = Inside(WindowOut, required=True)
    held = Inside(HeldOut, required=True)
    quantity = Int(required=True)
    lines = ListOf(Inside(ProposedLine), required=True)
    last_ask = Inside(LastAsk, required=True, allow_none=True)
    days = ListOf(Inside(AskDayOut), required=True)


@blueprint.route("")
class Proposal(MethodView):
    @blueprint.arguments(ProposalQuery, location="query")
    @blueprint.response(200, ProposalOut)
    def get(self, query: dict[str, Any]) -> Any:
        """So many radios as lines that fit each other, from what goes with what."""
        return radios.propose(session.current_actor(), now=session.now(), **query)
