"""/reminders: what was told, and answering it: somebody has seen it, somebody has done it."""

from typing import Any

from flask.views import MethodView

from crossload.api import session
from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery, paged
from crossload.api.fields import DayField, IdField, Inside, Int, ListOf, Moment, Shape, Text, Word
from crossload.domain.reminders import Kind, Severity, Stage, To
from crossload.domain.told_reminder import ReminderState
from crossload.domain.window import Id
from crossload.usecases import reminders

blueprint = Blueprint(
    "reminders", __name__, url_prefix="/api/v1/reminders", description="What is due, and for whom."
)


class ReminderQuery(PageQuery):
    state = Word(ReminderState, load_default=None)
    since = DayField(data_key="from", load_default=None)


class ReminderKit(Shape):
    kit_type_id = IdField(required=True)
    kit_type = Text(required=True)
    quantity = Int(required=True)


class StraightKit(Shape):
    unit = Text(required=True)
    kit_type = Text(required=True)
    quantity = Int(required=True)


class ReminderOut(Shape):
    """`at` is the instant it is about, `due_at` when it was to be told."""

    id = IdField(required=True)
    key = Text(required=True)
    kind = Word(Kind, required=True)
    stage = Word(Stage, required=True)
    severity = Word(Severity, required=True)
    due_at = Moment(required=True)
    at = Moment(required=True)
    state = Word(ReminderState, required=True)
    unit_id = IdField(required=True, allow_none=True)
    unit = Text(required=True, allow_none=True)
    to = Word(To, required=True)
    booking_id = IdField(required=True, allow_none=True)
    kit_type_id = IdField(required=True, allow_none=True)
    kit_type = Text(required=True, allow_none=True)
    quantity = Int(required=True, allow_none=True)
    kit = ListOf(Inside(ReminderKit), required=True)
    straight = ListOf(Inside(StraightKit), required=True)
    tags = ListOf(Text(), required=True)
    told_at = Moment(required=True)
    seen_at = Moment(required=True, allow_none=True)
    seen_by = Text(required=True, allow_none=True)
    done_at = Moment(required=True, allow_none=True)
    done_by = Text(required=True, allow_none=True)
    ended_at = Moment(required=True, allow_none=True)


class RemindersOut(Shape):
    reminders = ListOf(Inside(ReminderOut), required=True)


@blueprint.route("")
class Reminders(MethodView):
    @blueprint.arguments(ReminderQuery, location="query")
    @blueprint.response(200, RemindersOut)
    def get(self, query: dict[str, Any]) -> Any:
        """What somebody still has to do; with `state`, what is in that state."""
        limit = query.pop("limit")
        found = reminders.page(
            session.current_actor(),
            query["after"],
            limit + 1,
            state=query["state"],
            since=query["since"],
        )
        shown, headers = paged(found, limit, lambda one: Id(one["id"]))
        return {"reminders": shown}, headers


@blueprint.route("/<id:reminder>/seen")
class Seen(MethodView):
    @blueprint.response(200, ReminderOut)
    def post(self, reminder: Id) -> Any:
        """Somebody knows of it. Saying so twice changes nothing."""
        return reminders.seen(session.current_actor(), reminder, session.now())


@blueprint.route("/<id:reminder>/done")
class Done(MethodView):
    @blueprint.response(200, ReminderOut)
    def post(self, reminder: Id) -> Any:
        """It is done; who was first stands. 409 for one that no longer applies."""
        return reminders.done(session.current_actor(), reminder, session.now())
