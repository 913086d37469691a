"""/session, /demo-sign-ins, /invitations/redeem: who one is, coming in, going out."""

from typing import Any

from flask import Response, current_app, g, request
from flask.views import MethodView
from marshmallow import ValidationError, fields, validates_schema

from crossload.api import session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import IdField, Inside, Int, ListOf, Moment, Shape, Text, Word
from crossload.api.problems import refuse
from crossload.domain.people import Role
from crossload.domain.shoot import UnitKind
from crossload.usecases import invitations, sign_in, whereabouts
from crossload.usecases.identity import SignedIn

blueprint = Blueprint(
    "sign-in", __name__, url_prefix="/api/v1", description="Who one is, coming in, going out."
)


class AccountOut(Shape):
    id = IdField(required=True, allow_none=True)
    login = Text(required=True, allow_none=True)
    name = Text(required=True)
    role = Word(Role, required=True)
    unit_ids = ListOf(IdField(), attribute="units", required=True)


class PoolOut(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    zone = Text(required=True)
    currency = Text(required=True)
    place = Text(required=True)
    phone = Text(required=True)
    opening = fields.Dict(required=True)


class UnitOut(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    kind = Word(UnitKind, required=True)
    production = Text(required=True)


class PollOut(Shape):
    """How often a page asks for news, in milliseconds: seen, and hidden."""

    shown_ms = Int(1, required=True)
    hidden_ms = Int(1, required=True)


class SessionOut(Shape):
    account = Inside(AccountOut, required=True)
    pool = Inside(PoolOut, required=True)
    units = ListOf(Inside(UnitOut), required=True)
    now = Moment(required=True)
    expires_at = Moment(required=True, allow_none=True)
    poll = Inside(PollOut, required=True)


class SignInBody(Shape):
    """A name and a password, or, on this machine, one of the demo's people."""

    login = Text(64, least=1)
    password = Text(1000, least=1)
    demo = Text(64, least=1)

    @validates_schema
    def _one_way(self, given: dict[str, Any], **_: Any) -> None:
        if set(given) not in ({"login", "password"}, {"demo"}):
            raise ValidationError("give login and password, or demo")


class RedeemBody(Shape):
    token = Text(200, required=True, least=1)
    login = Text(64, required=True, least=2)
    name = Text(100, load_default="")
    password = Text(1000, required=True, least=1)


class DemoSignIn(Shape):
    login = Text(required=True)
    name = Text(required=True)
    role = Word(Role, required=True)
    unit = Text(required=True, allow_none=True)


class DemoSignIns(Shape):
    sign_ins = ListOf(Inside(DemoSignIn), required=True)


@blueprint.route("/session")
class Session(MethodView):
    @blueprint.response(200, SessionOut)
    def get(self) -> Any:
        """Who is signed in, to which pool, and what time it is there."""
        signed = session.signed_in()
        until = sign_in.renew(signed, terms=terms(), now=session.now())
        if until is None:
            return described(signed)
        answer = _body(described(signed) | {"expires_at": until}, 200)
        session.set_cookie(answer, request.cookies[session.COOKIE], until)
        return answer

    @session.public
    @blueprint.arguments(SignInBody)
    @blueprint.response(201, SessionOut)
    def post(self, body: dict[str, str]) -> Any:
        """Sign in; the answer sets the session's cookie."""
        if "demo" in body:
            must_be_demo()
            made = sign_in.demo_sign_in(body["demo"], terms=terms(), now=session.now())
        else:
            made = sign_in.sign_in(
                body["login"],
                body["password"],
                address=request.remote_addr or "",
                terms=terms(),
                now=session.now(),
            )
        return welcome(*made)

    @blueprint.response(204)
    def delete(self) -> Response:
        """Sign out: the session ends, here and wherever else its cookie is."""
        sign_in.sign_out(session.signed_in(), now=session.now())
        answer = Response(status=204)
        session.drop_cookie(answer)
        return answer


@blueprint.route("/demo-sign-ins")
class DemoSignInList(MethodView):
    @session.public
    @blueprint.response(200, DemoSignIns)
    def get(self) -> Any:
        """Who may sign in to the demo without a password; only on the machine that serves it."""
        must_be_demo()
        return {"sign_ins": sign_in.demo_people()}


@blueprint.route("/invitations/redeem")
class Redemption(MethodView):
    @session.public
    @blueprint.arguments(RedeemBody)
    @blueprint.response(201, SessionOut)
    def post(self, body: dict[str, str]) -> Any:
        """Take up a one-time link: makes the account, or sets its new password, and signs in."""
        made = invitations.redeem(
            body["token"],
            login=body["login"],
            name=body["name"],
            password=body["password"],
            address=request.remote_addr or "",
            terms=terms(),
            now=session.now(),
        )
        return welcome(*made)


def terms() -> sign_in.Terms:
    """How long sessions last, by the settings."""
    settings = current_app.extensions["settings"]
    return sign_in.Terms(
        usual_s=settings.session_days * sign_in.DAY_S,
        shoot_most_s=settings.shoot_session_most_days * sign_in.DAY_S,
    )


def must_be_demo() -> None:
    """The demo's doors open on this machine alone; elsewhere they are not there."""
    if not session.is_loopback():
        refuse("not-found", "there is no demo here")


def welcome(signed: SignedIn, secret: str) -> Response:
    """The session's body with its cookie."""
    g.signed_in = signed
    answer = _body(described(signed), 201)
    session.set_cookie(answer, secret, signed.credential.expires_at)
    return answer


def described(signed: SignedIn) -> dict[str, Any]:
    settings = current_app.extensions["settings"]
    around = whereabouts.around(signed.actor)
    account: Any = signed.account or {
        "id": None,
        "login": None,
        "name": signed.credential.name,
        "role": signed.actor.role,
        "units": signed.actor.units,
    }
    return {
        "account": account,
        "pool": around.pool,
        "units": around.units,
        "now": session.now(),
        "expires_at": signed.credential.expires_at,
        "poll": {
            "shown_ms": round(settings.poll_s * 1000),
            "hidden_ms": round(settings.poll_hidden_s * 1000),
        },
    }


def _body(described: dict[str, Any], status: int) -> Response:
    """A session's body as a response, for a cookie to go with."""
    text = current_app.json.dumps(SessionOut().dump(described))
    return Response(text, status, mimetype="application/json")
