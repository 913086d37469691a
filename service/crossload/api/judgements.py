"""/judgements: whether kit could be had; and how a booking is asked for, and refused."""

from typing import Any

from flask.views import MethodView
from marshmallow import ValidationError, validates_schema

from crossload.api import session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import (
    LEAST,
    Flag,
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
from crossload.api.problems import refuse
from crossload.domain.booking import BookingState
from crossload.usecases import booked
from crossload.usecases.judging import Answer

blueprint = Blueprint(
    "judgements", __name__, url_prefix="/api/v1/judgements", description="What could be had."
)

ASKED = (BookingState.CONFIRMED, BookingState.PENCILLED)


class LineBody(Shape):
    id = IdField(load_default=None, allow_none=True)
    kit_type_id = IdField(load_default=None, allow_none=True)
    quantity = Int(1, 100_000, load_default=1)
    item_id = IdField(load_default=None, allow_none=True)
    prep_s = Int(0, 31_536_000, load_default=None, allow_none=True)
    check_in_s = Int(0, 31_536_000, load_default=None, allow_none=True)
    straight_from_id = IdField(load_default=None, allow_none=True)

    @validates_schema
    def one_of_both(self, body: dict[str, Any], **_: Any) -> None:
        if body["kit_type_id"] is None and body["item_id"] is None:
            raise ValidationError("a line needs kit_type_id with quantity, or item_id")


class BookingBody(Shape):
    unit_id = IdField(required=True)
    start = InstantField("start", load_default=None, allow_none=True)
    end = InstantField("end", load_default=None, allow_none=True)
    purpose = Text(200, load_default="")
    state = Word(ASKED, load_default=BookingState.CONFIRMED)
    accept_part = Flag(load_default=False)
    override_pencils = Flag(load_default=False)
    who_pays = Text(200, load_default="")
    order_number = Text(100, load_default="")
    pencil_expires_at = InstantField(load_default=None, allow_none=True)
    lines = ListOf(Inside(LineBody), 100, least=1, required=True)


class Holder(Shape):
    booking_id = IdField(required=True, allow_none=True)
    unit_id = IdField(required=True, allow_none=True)
    unit = Text(required=True, allow_none=True)
    state = Text(required=True)
    quantity = Int(required=True)
    start = Moment(required=True)
    end = Moment(required=True, allow_none=True)
    out = Int(required=True)
    overdue = Flag(required=True)
    idle = Int(required=True)
    tags = ListOf(Text(), required=True)
    person = Text(required=True, allow_none=True)
    phone = Text(required=True, allow_none=True)
    expires_at = Moment(required=True, allow_none=True)
    reason = Text()


class StretchOut(Shape):
    start = Moment(required=True)
    end = Moment(required=True)
    by = Int(required=True)


class Shortage(Shape):
    pointer = Text(required=True)
    kit_type_id = IdField(required=True)
    name = Text(required=True)
    quantity = Int(required=True)
    free = Int(LEAST, required=True)
    if_pencils_fall = Int(LEAST, required=True)
    why = Text(required=True)
    stretches = ListOf(Inside(StretchOut), required=True)
    holders = ListOf(Inside(Holder), required=True)
    swap_at = ListOf(Moment(), required=True)


class CountedKit(Shape):
    kit_type_id = IdField(required=True)
    name = Text(required=True)
    category = Text()
    quantity = Int(required=True)
    free = Int(LEAST)


class StraightOut(Shape):
    unit = Text(required=True)
    at = Moment(required=True)
    place = Text(required=True)


class OptionKit(CountedKit):
    straight = Inside(StraightOut, required=True, allow_none=True)


class OptionLineBody(Shape):
    id = IdField()
    kit_type_id = IdField()
    quantity = Int()
    item_id = IdField()
    straight_from_id = IdField()


class OptionBody(Shape):
    unit_id = IdField(required=True)
    start = Moment(required=True)
    end = Moment(required=True)
    purpose = Text(required=True)
    state = Word(BookingState, required=True)
    accept_part = Flag(required=True)
    who_pays = Text(required=True)
    order_number = Text(required=True)
    lines = ListOf(Inside(OptionLineBody), required=True)


class OptionOut(Shape):
    kind = Text(required=True)
    body = Inside(OptionBody, required=True)
    lines = ListOf(Inside(OptionKit), required=True)
    start = Moment(required=True)
    end = Moment(required=True)
    shift_s = Int(-(10**10), required=True)
    brings = ListOf(Inside(CountedKit), required=True)
    lacks = ListOf(Inside(CountedKit), required=True)
    outside_hours = Flag(required=True)
    outside_s = Int(required=True)
    place = Int(required=True, allow_none=True)


class JudgedLine(Shape):
    kit_type_id = IdField(required=True)
    name = Text(required=True)
    quantity = Int(required=True)
    granted = Int(required=True)
    free = Int(LEAST, required=True)


class JudgementOut(Shape):
    answer = Word(Answer, required=True)
    unit_id = IdField(required=True)
    start = Moment(required=True)
    end = Moment(required=True)
    lines = ListOf(Inside(JudgedLine), required=True)
    short = ListOf(Inside(Shortage), required=True)
    options = ListOf(Inside(OptionOut), required=True)
    cautions = ListOf(Text(1000), required=True)


PROBLEMS = {
    Answer.SHORT: ("short", "this cannot be had"),
    Answer.BEHIND_PENCIL: ("behind-pencil", "this is behind a pencil"),
    Answer.UNDECIDED: ("undecided", "whether this can be served was not found in time"),
}


def refused(told: dict[str, Any]) -> None:
    """Raise the 409 of a judgement that is no yes."""
    slug, sentence = PROBLEMS[told["answer"]]
    short = told["short"]
    if short:
        lacking = {
            each["name"]: f"{each['quantity']} of {each['name']} asked, {max(0, each['free'])} free"
            for each in short
        }
        sentence = f"{sentence}: {'; '.join(lacking.values())}"
    members = JudgementOut(only=("short", "options", "cautions", "start", "end")).dump(told)
    refuse(slug, sentence, **members)


@blueprint.route("")
class Judgements(MethodView):
    @blueprint.arguments(BookingBody)
    @blueprint.response(200, JudgementOut)
    def post(self, body: dict[str, Any]) -> Any:
        """Judge a booking as if it were asked for; nothing is written."""
        return booked.judged(session.current_actor(), body, now=session.now())
