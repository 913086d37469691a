"""/invitations: one-time links with which people make their account, or set a new password."""

from typing import Any

from flask import Response
from flask.views import MethodView

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import IdField, Inside, ListOf, Moment, Shape, Text, Word
from crossload.domain.people import Role
from crossload.domain.window import Id
from crossload.usecases import invitations, tokens

blueprint = Blueprint(
    "invitations", __name__, url_prefix="/api/v1/invitations", description="One-time links."
)

PEOPLE = [role for role in Role if role is not Role.WALL]
"""The roles that an account can have."""


class InvitationBody(Shape):
    """For somebody new: role and units. For somebody who forgot the password: account_id."""

    name = Text(100, load_default="")
    role = Word(PEOPLE, load_default=Role.MIXER)
    unit_ids = ListOf(IdField(), 100, data_key="unit_ids", attribute="units", load_default=())
    account_id = IdField(attribute="account", load_default=None, allow_none=True)


class InvitationOut(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    role = Word(PEOPLE, required=True)
    unit_ids = ListOf(IdField(), attribute="units", required=True)
    account_id = IdField(attribute="account", required=True, allow_none=True)
    created_at = Moment(required=True)
    expires_at = Moment(required=True)


class NewInvitation(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    url = Text(required=True)
    expires_at = Moment(required=True)


class InvitationsOut(Shape):
    invitations = ListOf(Inside(InvitationOut), required=True)


@blueprint.route("")
class Invitations(MethodView):
    @blueprint.response(200, InvitationsOut)
    def get(self) -> Any:
        """The invitations that nobody has taken up yet."""
        return {"invitations": invitations.invitations(session.current_actor(), now=session.now())}

    @blueprint.creates
    @blueprint.arguments(InvitationBody)
    @blueprint.response(201, NewInvitation)
    def post(self, body: dict[str, Any]) -> Any:
        """Make a one-time link. It is shown this once and never again."""
        key, digest = conditional.key()
        made, secret = invitations.invite(
            session.current_actor(),
            role=body["role"],
            units=tuple(body["units"]),
            name=body["name"],
            account=body["account"],
            now=session.now(),
            key=key,
            body_digest=digest,
        )
        url = f"/welcome#{secret}"
        return {"id": made.id, "name": made.name, "url": url, "expires_at": made.expires_at}


@blueprint.route("/<id:invitation>")
class Invitation(MethodView):
    @blueprint.response(204)
    def delete(self, invitation: Id) -> Response:
        """Take an invitation back."""
        actor = session.current_actor()
        tokens.end_credential(actor, invitation, "invitation", now=session.now())
        return Response(status=204)
