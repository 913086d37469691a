"""/accounts: who may sign in, as what, for which units; and one's own password."""

from typing import Any

from flask import Response, request
from flask.views import MethodView

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery, etag, paged
from crossload.api.fields import Flag, IdField, Inside, Int, ListOf, Moment, Shape, Text, Word
from crossload.api.invitations import PEOPLE
from crossload.domain.window import Id
from crossload.usecases import accounts

blueprint = Blueprint(
    "accounts", __name__, url_prefix="/api/v1/accounts", description="Who may sign in."
)


class AccountBody(Shape):
    login = Text(64, least=2, required=True)
    name = Text(100, load_default="")
    role = Word(PEOPLE, required=True)
    unit_ids = ListOf(IdField(), 100, attribute="units", load_default=())
    password = Text(1000, least=1, load_default=None, allow_none=True)
    person_id = IdField(attribute="person", load_default=None, allow_none=True)


class AccountChange(Shape):
    name = Text(100, least=1)
    role = Word(PEOPLE)
    unit_ids = ListOf(IdField(), 100, attribute="units")
    ended = Flag()


class PasswordBody(Shape):
    password = Text(1000, least=1, required=True)
    current_password = Text(1000, required=True)


class AccountFull(Shape):
    id = IdField(required=True)
    login = Text(required=True)
    name = Text(required=True)
    role = Word(PEOPLE, required=True)
    unit_ids = ListOf(IdField(), attribute="units", required=True)
    person_id = IdField(attribute="person", required=True, allow_none=True)
    ended_at = Moment(required=True, allow_none=True)
    version = Int(1, required=True)


class AccountsOut(Shape):
    accounts = ListOf(Inside(AccountFull), required=True)


@blueprint.route("")
class Accounts(MethodView):
    @blueprint.arguments(PageQuery, location="query")
    @blueprint.response(200, AccountsOut)
    def get(self, query: dict[str, Any]) -> Any:
        """The pool's accounts, ended ones too."""
        found = accounts.accounts(session.current_actor(), query["after"], query["limit"] + 1)
        shown, headers = paged(found, query["limit"])
        return {"accounts": shown}, headers

    @blueprint.creates
    @blueprint.arguments(AccountBody)
    @blueprint.response(201, AccountFull)
    def post(self, body: dict[str, Any]) -> Any:
        """Make an account. Without a password its person needs an invitation."""
        key, digest = conditional.key()
        body["units"] = tuple(body["units"])
        made = accounts.add_account(
            session.current_actor(), **body, now=session.now(), key=key, digest=digest
        )
        return made, etag(made.version)


@blueprint.route("/<id:account>")
class Account(MethodView):
    @blueprint.response(200, AccountFull)
    def get(self, account: Id) -> Any:
        """One account."""
        found = accounts.account(session.current_actor(), account)
        return found, etag(found.version)

    @blueprint.changes
    @blueprint.arguments(AccountChange)
    @blueprint.response(200, AccountFull)
    def patch(self, body: dict[str, Any], account: Id) -> Any:
        """Change a name, a role, units, or end the account; what it holds open keeps pace."""
        if "units" in body:
            body["units"] = tuple(body["units"])
        changed = accounts.change_account(
            session.current_actor(),
            account,
            accounts.Changes(**body),
            version=conditional.version(),
            now=session.now(),
        )
        return changed, etag(changed.version)


@blueprint.route("/<id:account>/sessions")
class Sessions(MethodView):
    @blueprint.response(204)
    def delete(self, account: Id) -> Response:
        """Sign an account out everywhere: its sessions and tokens end."""
        accounts.end_sessions(session.current_actor(), account, now=session.now())
        return Response(status=204)


@blueprint.route("/own/password")
class OwnPassword(MethodView):
    @blueprint.arguments(PasswordBody)
    @blueprint.response(204)
    def put(self, body: dict[str, str]) -> Response:
        """Set one's own password; all other sessions and tokens of the account end."""
        accounts.set_password(
            session.current_actor(),
            body["password"],
            body["current_password"],
            address=request.remote_addr or "",
            now=session.now(),
        )
        return Response(status=204)
