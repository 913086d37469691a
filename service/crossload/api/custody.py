"""/custody-events and /custody: what goes out and comes back, and what is out now."""

from typing import Any

from flask.views import MethodView
from marshmallow import ValidationError, validates_schema

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import (
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
from crossload.domain.custody import Move
from crossload.domain.kit import Condition
from crossload.domain.window import Id
from crossload.usecases import handing, out_now, undoing
from crossload.usecases.moving import Event, Piece

blueprint = Blueprint("custody", __name__, url_prefix="/api/v1", description="Kit out and back.")

RETURNED = (Condition.FIT, Condition.SUSPECT, Condition.DAMAGED, Condition.LOST)


class PieceBody(Shape):
    tag = Text(60, load_default="")
    kit_type_id = IdField(load_default=None, allow_none=True)
    quantity = Int(1, 100_000, load_default=1)

    @validates_schema
    def one_of_both(self, body: dict[str, Any], **_: Any) -> None:
        if bool(body["tag"]) == (body["kit_type_id"] is not None):
            raise ValidationError("a piece is a tag, or a kit_type_id with a quantity")
        if body["tag"] and body["quantity"] != 1:
            raise ValidationError("a tag is one piece: leave the quantity out")


class EventBody(Shape):
    key = Text(100, least=1, required=True)
    kind = Word(Move, required=True)
    happened_at = InstantField(required=True)
    booking_id = IdField(load_default=None, allow_none=True)
    unit_id = IdField(load_default=None, allow_none=True)
    person = Text(100, load_default="")
    pieces = ListOf(Inside(PieceBody), 500, least=1, required=True)
    condition = Word(RETURNED, load_default=Condition.FIT)
    words = Text(500, load_default="", lines=True)
    promised_at = InstantField(load_default=None, allow_none=True)
    anyway = Flag(load_default=False)


class MovedOut(Shape):
    item_id = IdField(required=True, allow_none=True)
    tag = Text(required=True, allow_none=True)
    kit_type_id = IdField(required=True)
    kit_type = Text(required=True)
    quantity = Int(required=True)
    line_id = IdField(required=True, allow_none=True)
    booking_id = IdField(required=True, allow_none=True)
    unit_id = IdField(required=True, allow_none=True)
    unit = Text(required=True, allow_none=True)


class Endangered(Shape):
    booking_id = IdField(required=True)
    unit_id = IdField(required=True)
    unit = Text(required=True)
    kit_type_id = IdField(required=True)
    short_by = Int(required=True)
    start = Moment(required=True)


class EventOut(Shape):
    id = IdField(required=True)
    moved = ListOf(Inside(MovedOut), required=True)
    cautions = ListOf(Text(1000), required=True)
    endangers = ListOf(Inside(Endangered), required=True)


class CustodyOut(Shape):
    id = IdField(required=True)
    item_id = IdField(required=True, allow_none=True)
    tag = Text(required=True, allow_none=True)
    kit_type_id = IdField(required=True)
    kit_type = Text(required=True)
    quantity = Int(required=True)
    unit_id = IdField(required=True)
    unit = Text(required=True)
    person = Text(required=True, allow_none=True)
    phone = Text(required=True, allow_none=True)
    booking_id = IdField(required=True, allow_none=True)
    out_at = Moment(required=True)
    due_at = Moment(required=True)
    expected_at = Moment(required=True)
    overdue = Flag(required=True)


class CustodiesOut(Shape):
    custody = ListOf(Inside(CustodyOut), 100_000, required=True)


class CustodyQuery(Shape):
    unit = IdField(load_default=None)
    booking = IdField(load_default=None)
    overdue = Flag(query=True, load_default=None)


@blueprint.route("/custody-events")
class Events(MethodView):
    @blueprint.arguments(EventBody)
    @blueprint.response(201, EventOut)
    def post(self, body: dict[str, Any]) -> Any:
        """Record that kit went out, came back, was promised or handed over; `key` makes it once."""
        event = Event(
            key=body["key"],
            kind=body["kind"],
            happened_at=body["happened_at"],
            pieces=tuple(
                Piece(piece["tag"], piece["kit_type_id"], piece["quantity"])
                for piece in body["pieces"]
            ),
            booking=body["booking_id"],
            unit=body["unit_id"],
            person=body["person"],
            condition=body["condition"],
            words=body["words"],
            promised_at=body["promised_at"],
            anyway=body["anyway"],
        )
        actor = session.current_actor()
        return handing.record(actor, event, conditional.digest(), now=session.now())


@blueprint.route("/custody-events/<id:event>/undo")
class Undo(MethodView):
    @blueprint.response(200, EventOut)
    def post(self, event: Id) -> Any:
        """Take back what one handed out or took back just now; done twice it is done once."""
        return undoing.undo_event(session.current_actor(), event, now=session.now())


@blueprint.route("/custody")
class Custody(MethodView):
    @blueprint.arguments(CustodyQuery, location="query")
    @blueprint.response(200, CustodiesOut)
    def get(self, query: dict[str, Any]) -> Any:
        """What is out now, longest due first."""
        return {"custody": out_now.page(session.current_actor(), now=session.now(), **query)}
