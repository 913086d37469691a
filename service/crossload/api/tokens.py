"""/tokens: secrets for programs, which do what their account may."""

from typing import Any

from flask import Response
from flask.views import MethodView

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import IdField, Inside, ListOf, Moment, Shape, Text
from crossload.domain.window import Id
from crossload.usecases import tokens

blueprint = Blueprint(
    "tokens", __name__, url_prefix="/api/v1/tokens", description="Secrets for programs."
)


class TokenBody(Shape):
    name = Text(100, least=1, required=True)


class TokenOut(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    account_id = IdField(attribute="account", required=True)
    created_at = Moment(required=True)


class NewToken(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    token = Text(required=True)


class TokensOut(Shape):
    tokens = ListOf(Inside(TokenOut), required=True)


@blueprint.route("")
class Tokens(MethodView):
    @blueprint.response(200, TokensOut)
    def get(self) -> Any:
        """The tokens in force: one's own, everybody's for a coordinator."""
        return {"tokens": tokens.tokens(session.current_actor(), now=session.now())}

    @blueprint.creates
    @blueprint.arguments(TokenBody)
    @blueprint.response(201, NewToken)
    def post(self, body: dict[str, str]) -> Any:
        """Make a token. It is shown this once and never again."""
        key, digest = conditional.key()
        made, secret = tokens.make_token(
            session.current_actor(), body["name"], now=session.now(), key=key, digest=digest
        )
        return {"id": made.id, "name": made.name, "token": secret}


@blueprint.route("/<id:token>")
class Token(MethodView):
    @blueprint.response(204)
    def delete(self, token: Id) -> Response:
        """End a token: whoever holds it is signed out at once."""
        tokens.end_credential(session.current_actor(), token, "token", now=session.now())
        return Response(status=204)
