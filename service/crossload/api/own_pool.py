"""/pool: the pool that one is in."""

from typing import Any

from flask.views import MethodView
from marshmallow import fields

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.conditional import etag
from crossload.api.fields import Flag, IdField, Int, Shape, Text
from crossload.usecases import own_pool

blueprint = Blueprint(
    "pool", __name__, url_prefix="/api/v1/pool", description="The pool that one is in."
)

_AN_OBJECT: dict[str, Any] = {"invalid": "an object belongs here", "null": "this cannot be null"}


class PoolChange(Shape):
    """Whatever is left out stays as it is.

    `swap_check_s` is how long kit is looked over that goes straight from one unit to another.
    `opening` is {"week": {"mon": [["07:00", "20:00"]]}, "exceptions": {"2026-12-25": []}}.
    """

    name = Text(100, least=1)
    zone = Text(64, least=1)
    currency = Text(3, least=3)
    place = Text(200)
    phone = Text(40)
    opening = fields.Dict(error_messages=_AN_OBJECT)
    swap_check_s = Int(0, 86_400)


class PoolFull(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    zone = Text(required=True)
    currency = Text(required=True)
    place = Text(required=True)
    phone = Text(required=True)
    opening = fields.Dict(required=True)
    swap_check_s = Int(required=True)
    demo = Flag(required=True)
    version = Int(1, required=True)


@blueprint.route("")
class OwnPool(MethodView):
    @blueprint.response(200, PoolFull)
    def get(self) -> Any:
        """The pool that one is in."""
        pool = own_pool.own_pool(session.current_actor())
        return pool, etag(pool.version)

    @blueprint.changes
    @blueprint.arguments(PoolChange)
    @blueprint.response(200, PoolFull)
    def patch(self, body: dict[str, Any]) -> Any:
        """Change it. New opening hours count anew what coming bookings occupy."""
        pool = own_pool.change_pool(
            session.current_actor(), body, version=conditional.version(), now=session.now()
        )
        return pool, etag(pool.version)
