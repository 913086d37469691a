"""/wall-links: read-only links for screens. The secret stands after the #, so no log sees it."""

from typing import Any

from flask import Response
from flask.views import MethodView

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import IdField, Inside, ListOf, Moment, Shape, Text
from crossload.domain.window import Id
from crossload.usecases import tokens

blueprint = Blueprint(
    "wall-links", __name__, url_prefix="/api/v1/wall-links", description="Links for screens."
)


class WallLinkBody(Shape):
    name = Text(100, least=1, required=True)


class WallLinkOut(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    created_at = Moment(required=True)


class NewWallLink(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    url = Text(required=True)


class WallLinksOut(Shape):
    wall_links = ListOf(Inside(WallLinkOut), required=True)


@blueprint.route("")
class WallLinks(MethodView):
    @blueprint.response(200, WallLinksOut)
    def get(self) -> Any:
        """The links in force."""
        return {"wall_links": tokens.wall_links(session.current_actor(), now=session.now())}

    @blueprint.creates
    @blueprint.arguments(WallLinkBody)
    @blueprint.response(201, NewWallLink)
    def post(self, body: dict[str, str]) -> Any:
        """Make a link for a screen. It is shown this once and never again."""
        key, digest = conditional.key()
        made, secret = tokens.make_wall_link(
            session.current_actor(), body["name"], now=session.now(), key=key, digest=digest
        )
        return {"id": made.id, "name": made.name, "url": f"/wall#{secret}"}


@blueprint.route("/<id:wall_link>")
class WallLink(MethodView):
    @blueprint.response(204)
    def delete(self, wall_link: Id) -> Response:
        """End a link: the screen that shows it goes dark."""
        tokens.end_credential(session.current_actor(), wall_link, "wall", now=session.now())
        return Response(status=204)
