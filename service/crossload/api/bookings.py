"""/bookings: ask, be told yes or why not, change, release, undo."""

from typing import Any

from flask.views import MethodView
from marshmallow import ValidationError, pre_load, validates_schema

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
from crossload.api.judgements import BookingBody, LineBody, Shortage, refused
from crossload.domain.booking import BookingState
from crossload.domain.kit import Tracking
from crossload.domain.window import Id
from crossload.usecases import booked, standing

blueprint = Blueprint(
    "bookings", __name__, url_prefix="/api/v1", description="Bookings: asked, changed, kept."
)

TWICE = "this line stands here twice: give it once"


class ChangeBody(Shape):
    """Whatever is left out stays. With `state` confirmed a pencil is confirmed in the same step."""

    state = Word((BookingState.CONFIRMED,), load_default=None)
    start = InstantField("start", load_default=None, allow_none=True)
    end = InstantField("end", load_default=None, allow_none=True)
    purpose = Text(200, load_default=None)
    who_pays = Text(200, load_default=None)
    order_number = Text(100, load_default=None)
    lines = ListOf(Inside(LineBody), 100, least=1, load_default=None)


class ConfirmBody(Shape):
    override_pencils = Flag(load_default=False)

    @pre_load
    def empty(self, body: Any, **_: Any) -> Any:
        return body or {}


class ReleasedLine(Shape):
    id = IdField(required=True)
    quantity = Int(1, 100_000, required=True)


class ReleaseBody(Shape):
    lines = ListOf(Inside(ReleasedLine), 100, least=1, load_default=None, allow_none=True)

    @validates_schema
    def each_line_once(self, body: dict[str, Any], **_: Any) -> None:
        seen = [line["id"] for line in body.get("lines") or ()]
        twice = {n: {"id": [TWICE]} for n, id in enumerate(seen) if id in seen[:n]}
        if twice:
            raise ValidationError({"lines": twice})


class LineOut(Shape):
    id = IdField(required=True)
    kit_type_id = IdField(required=True)
    name = Text(required=True)
    category = Text(required=True)
    tracking = Word(Tracking, required=True)
    quantity = Int(required=True)
    released = Int(required=True)
    item_id = IdField(required=True, allow_none=True)
    tag = Text(required=True, allow_none=True)
    start = Moment(required=True)
    end = Moment(required=True)
    state = Word(BookingState, required=True)
    prep_s = Int(required=True, allow_none=True)
    check_in_s = Int(required=True, allow_none=True)
    straight_from_id = IdField(required=True, allow_none=True)
    tags = ListOf(Text(), required=True)
    frequencies = ListOf(Int(), required=True)


class BookingOut(Shape):
    id = IdField(required=True)
    unit_id = IdField(required=True)
    unit = Text(required=True)
    production = Text(required=True)
    state = Word(BookingState, required=True)
    start = Moment(required=True)
    end = Moment(required=True)
    purpose = Text(required=True)
    who_pays = Text(required=True)
    order_number = Text(required=True)
    pencil_expires_at = Moment(required=True, allow_none=True)
    created_at = Moment(required=True)
    created_by = Text(required=True, allow_none=True)
    undo_until = Moment(required=True, allow_none=True)
    version = Int(required=True)
    lines = ListOf(Inside(LineOut), required=True)


class BookingsOut(Shape):
    bookings = ListOf(Inside(BookingOut), required=True)


class PickupLine(Shape):
    kit_type_id = IdField(required=True)
    name = Text(required=True)
    quantity = Int(required=True)
    boxes = ListOf(Text(), required=True)
    tags = ListOf(Text(), required=True)


class Pickup(Shape):
    at = Moment(required=True, allow_none=True)
    place = Text(required=True)
    source = Text(data_key="from", attribute="from", required=True)
    ask_for = Text(required=True, allow_none=True)
    phone = Text(required=True, allow_none=True)
    unit = Text(required=True, allow_none=True)
    open_until = Moment(required=True, allow_none=True)
    lines = ListOf(Inside(PickupLine), required=True)
    note = Text(required=True, allow_none=True)


class HandOn(Shape):
    at = Moment(required=True)
    place = Text(required=True)
    unit = Text(required=True)
    ask_for = Text(required=True, allow_none=True)
    phone = Text(required=True, allow_none=True)
    lines = ListOf(Inside(PickupLine), required=True)


class GivenFrequency(Shape):
    frequency_hz = Int(required=True)
    label = Text(required=True)


class HandoverOut(Shape):
    pickups = ListOf(Inside(Pickup), required=True)
    hand_on = ListOf(Inside(HandOn), required=True)
    frequencies = ListOf(Inside(GivenFrequency), required=True)


class YesOut(Shape):
    booking = Inside(BookingOut, required=True)
    handover = Inside(HandoverOut, required=True)
    undo_until = Moment(required=True, allow_none=True)
    cautions = ListOf(Text(1000), required=True)


class StandingLine(Shape):
    id = IdField(required=True)
    short_by = Int(required=True)
    place = Int(required=True, allow_none=True)
    out = Int(required=True)
    back = Int(required=True)
    due = Int(required=True)
    overdue = Int(required=True)
    missing = Int(required=True)
    used = Int(required=True)


class StandingOut(Shape):
    """Of a pencil: its place, whether it could be confirmed now, and for each line why not.

    `used` is how many of a consumable have gone out: they do not come back.
    """

    risk = Flag(required=True)
    place = Int(required=True, allow_none=True)
    can_confirm = Flag(required=True, allow_none=True)
    short = ListOf(Inside(Shortage), required=True)
    lines = ListOf(Inside(StandingLine), required=True)


class BookingsQuery(conditional.PageQuery):
    unit = IdField(load_default=None)
    state = Word(BookingState, load_default=None)
    start = InstantField(data_key="from", load_default=None)
    end = InstantField(data_key="to", load_default=None)


@blueprint.route("/bookings")
class Bookings(MethodView):
    @blueprint.arguments(BookingsQuery, location="query")
    @blueprint.response(200, BookingsOut)
    def get(self, query: dict[str, Any]) -> Any:
        """Bookings in order of asking."""
        limit = query.pop("limit")
        after = query.pop("after")
        chosen = {"unit": query["unit"], "state": query["state"]}
        chosen |= {"since": query["start"], "until": query["end"]}
        found = booked.page(session.current_actor(), after=after, limit=limit + 1, **chosen)
        shown, headers = conditional.paged(found, limit, lambda one: one["id"])
        return {"bookings": shown}, headers

    @blueprint.creates
    @blueprint.arguments(BookingBody)
    @blueprint.response(201, YesOut)
    def post(self, body: dict[str, Any]) -> Any:
        """Ask for kit: granted at once, or refused with who has it and what would work."""
        key, digest = conditional.key()
        told = booked.asked(
            session.current_actor(), body, now=session.now(), key=key, digest=digest
        )
        if "answer" in told:
            refused(told)
        return told, conditional.etag(told["booking"]["version"])


@blueprint.route("/bookings/<id:booking>")
class Booking(MethodView):
    @blueprint.response(200, BookingOut)
    def get(self, booking: Id) -> Any:
        """A booking as it is stored."""
        told = booked.one(session.current_actor(), booking)
        return told, conditional.etag(told["version"])

    @blueprint.changes
    @blueprint.arguments(ChangeBody)
    @blueprint.response(200, BookingOut)
    def patch(self, body: dict[str, Any], booking: Id) -> Any:
        """Change window, lines or words; window and lines are judged anew."""
        told = booked.changed(
            session.current_actor(), booking, body, version=conditional.version(), now=session.now()
        )
        return _changed(told)


def _changed(told: dict[str, Any]) -> Any:
    if "answer" in told:
        refused(told)
    return told, conditional.etag(told["version"])


@blueprint.route("/bookings/<id:booking>/confirm")
class Confirm(MethodView):
    @blueprint.changes
    @blueprint.arguments(ConfirmBody, required=False)
    @blueprint.response(200, BookingOut)
    def post(self, body: dict[str, Any], booking: Id) -> Any:
        """A pencil becomes confirmed, if it fits."""
        told = booked.confirmed(
            session.current_actor(),
            booking,
            override_pencils=body.get("override_pencils", False),
            version=conditional.version(),
            now=session.now(),
        )
        return _changed(told)


@blueprint.route("/bookings/<id:booking>/release")
class Release(MethodView):
    @blueprint.changes
    @blueprint.arguments(ReleaseBody, required=False)
    @blueprint.response(200, BookingOut)
    def post(self, body: dict[str, Any], booking: Id) -> Any:
        """Give back some lines, or all of it."""
        lines = body.get("lines")
        told = booked.released(
            session.current_actor(),
            booking,
            {line["id"]: line["quantity"] for line in lines} if lines else None,
            version=conditional.version(),
            now=session.now(),
        )
        return _changed(told)


@blueprint.route("/bookings/<id:booking>/undo")
class Undo(MethodView):
    @blueprint.changes
    @blueprint.response(200, BookingOut)
    def post(self, booking: Id) -> Any:
        """Take a yes back within its ten minutes, until somebody builds on it."""
        told = booked.undone(
            session.current_actor(), booking, version=conditional.version(), now=session.now()
        )
        return _changed(told)


@blueprint.route("/bookings/<id:booking>/handover")
class Handover(MethodView):
    @blueprint.response(200, HandoverOut)
    def get(self, booking: Id) -> Any:
        """Where the kit is, when and where it is handed over, and by whom."""
        return booked.handover(session.current_actor(), booking, now=session.now())


@blueprint.route("/bookings/<id:booking>/standing")
class Standing(MethodView):
    @blueprint.response(200, StandingOut)
    def get(self, booking: Id) -> Any:
        """How the booking stands now: at risk, its place, what is out and late."""
        return standing.standing(session.current_actor(), booking, now=session.now())
