"""/board: all that the first page shows, in one answer that is cheap to ask for again."""

from typing import Any

from flask import current_app
from flask.views import MethodView

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.drawn import Drawn
from crossload.api.fields import DayField, Flag, IdField, Inside, Int, ListOf, Moment, Shape, Text
from crossload.api.judgements import Holder
from crossload.api.reminders import StraightKit
from crossload.domain.instants import format_instant
from crossload.domain.window import Instant
from crossload.usecases import board
from crossload.usecases.actor import Actor
from crossload.usecases.freshness import Tag

blueprint = Blueprint("board", __name__, url_prefix="/api/v1/board", description="Today.")


class BoardQuery(Shape):
    first = DayField(data_key="from", load_default=None)
    days = Int(1, 62, query=True, load_default=9)


class UnitDay(Shape):
    unit_id = IdField(required=True)
    unit = Text(required=True)
    number = Int(required=True, allow_none=True)
    working = Flag(required=True)
    call = Moment(required=True, allow_none=True)
    wrap = Moment(required=True, allow_none=True)
    location = Text(required=True, allow_none=True)


class StripDay(Shape):
    date = DayField(required=True)
    units = ListOf(Inside(UnitDay), required=True)
    late = Int(required=True)
    short = Int(required=True)
    at_risk = Int(required=True)


class Decision(Shape):
    kind = Text(required=True)
    key = Text(required=True)
    booking_id = IdField(required=True, allow_none=True)
    unit_id = IdField(required=True)
    unit = Text(required=True)
    kit_type_id = IdField(required=True)
    kit_type = Text(required=True)
    quantity = Int(required=True)
    short_by = Int(required=True)
    start = Moment(required=True)
    end = Moment(required=True)
    behind = ListOf(Inside(Holder), required=True)
    promised_at = Moment(required=True, allow_none=True)
    late_s = Int(required=True, allow_none=True)
    tags = ListOf(Text(), required=True)
    holder_person = Text(required=True, allow_none=True)
    phone = Text(required=True, allow_none=True)


class GoingOut(Shape):
    """`at` is when it is fetched at the latest, `start` when the booking begins."""

    at = Moment(required=True)
    start = Moment(required=True)
    booking_id = IdField(required=True)
    unit_id = IdField(required=True)
    unit = Text(required=True)
    lines = Int(required=True)
    pieces = Int(required=True)
    boxes = ListOf(Text(), required=True)
    state = Text(required=True)
    purpose = Text(required=True)


class KitCount(Shape):
    kit_type_id = IdField(required=True)
    kit_type = Text(required=True)
    quantity = Int(required=True)


class ComingBack(Shape):
    """When it is expected: as due or promised, later when late. `out` is false before it goes out."""

    at = Moment(required=True)
    booking_id = IdField(required=True, allow_none=True)
    unit_id = IdField(required=True)
    unit = Text(required=True)
    pieces = Int(required=True)
    kit = ListOf(Inside(KitCount), required=True)
    person = Text(required=True, allow_none=True)
    out = Flag(required=True)
    late = Flag(required=True)
    due_at = Moment(required=True)
    promised_at = Moment(required=True, allow_none=True)


class BoardReminder(Shape):
    id = IdField(required=True, allow_none=True)
    key = Text(required=True)
    kind = Text(required=True)
    stage = Text(required=True)
    severity = Text(required=True)
    due_at = Moment(required=True)
    at = Moment(required=True, allow_none=True)
    state = Text(required=True)
    unit_id = IdField(required=True, allow_none=True)
    unit = Text(required=True, allow_none=True)
    to = Text(required=True)
    booking_id = IdField(required=True, allow_none=True)
    kit_type_id = IdField(required=True, allow_none=True)
    kit_type = Text(required=True, allow_none=True)
    quantity = Int(required=True, allow_none=True)
    kit = ListOf(Inside(KitCount), required=True)
    straight = ListOf(Inside(StraightKit), required=True)
    tags = ListOf(Text(), required=True)


class Counts(Shape):
    out = Int(required=True)
    overdue = Int(required=True)
    due_today = Int(required=True)


class BoardOut(Shape):
    as_of = Moment(required=True)
    today = DayField(required=True)
    next_change_at = Moment(required=True)
    strip = ListOf(Inside(StripDay), required=True)
    decide = ListOf(Inside(Decision), required=True)
    going_out = ListOf(Inside(GoingOut), required=True)
    coming_back = ListOf(Inside(ComingBack), required=True)
    reminders = ListOf(Inside(BoardReminder), required=True)
    counts = Inside(Counts, required=True)


@blueprint.route("")
class Board(MethodView):
    @blueprint.arguments(BoardQuery, location="query")
    @blueprint.response(200, BoardOut)
    def get(self, query: dict[str, Any]) -> Any:
        """The board. Its ETag holds until something is written or a time passes."""
        actor, now = session.current_actor(), session.now()
        known = conditional.known_still()
        if known:
            return conditional.not_modified(known)
        drawn: Drawn = current_app.extensions["drawn"]
        key = (actor.pool, query["first"], query["days"])
        (told, at), tag = drawn.answer(key, actor, now, lambda: _drawn(actor, now, query))
        answer = current_app.json.response(_as_of(now, told, now - at))
        answer.headers.update(conditional.etag(tag))
        return answer


def _drawn(actor: Actor, now: Instant, query: dict[str, Any]) -> tuple[Any, Tag]:
    """The board as it is told, and when it was drawn."""
    told, tag = board.draw(actor, now=now, **query)
    return (BoardOut().dump(told), now), tag


def _as_of(now: Instant, told: dict[str, Any], later_s: int) -> dict[str, Any]:
    """The board some seconds later: by its clock the page goes on."""
    decide = [
        one if one["late_s"] is None else one | {"late_s": one["late_s"] + later_s}
        for one in told["decide"]
    ]
    return told | {"as_of": format_instant(now, session.zone()), "decide": decide}
