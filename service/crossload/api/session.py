"""Who is behind a request, and what time it is for it."""

from collections.abc import Callable
from ipaddress import ip_address
from typing import Any, TypeVar
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from flask import Flask, Response, current_app, g, request

from crossload.api.problems import Problem
from crossload.domain.window import Instant
from crossload.domain.zones import load_zone
from crossload.usecases.actor import Actor
from crossload.usecases.errors import NotSignedIn
from crossload.usecases.identity import SignedIn, identify

COOKIE = "crossload_session"
SAFE = ("GET", "HEAD", "OPTIONS")
FORWARDING = (
    "Forwarded", "Via", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-Ip",
)  # fmt: skip
"""Header fields that only a proxy adds: with any of them a loopback address says nothing."""

F = TypeVar("F", bound=Callable[..., Any])


def now() -> Instant:
    """The instant of this request: one and the same however often it is asked for."""
    if "now" not in g:
        g.now = current_app.extensions["clock"]()
    return int(g.now)


def current_actor() -> Actor:
    """Who is asking; NotSignedIn (a 401 problem) when nobody is."""
    return signed_in().actor


def signed_in() -> SignedIn:
    """The actor with its credential, account and zone; looked up once a request."""
    if "signed_in" not in g:
        g.signed_in = _identified()
    found: SignedIn = g.signed_in
    return found


def zone() -> ZoneInfo:
    """The time zone of the pool that this request speaks of."""
    return load_zone(signed_in().zone)


def _identified() -> SignedIn:
    header = request.headers.get("Authorization", "")
    if header:
        scheme, _, secret = header.partition(" ")
        if scheme.lower() != "bearer" or not secret.strip():
            raise NotSignedIn("the Authorization header takes a Bearer token")
        return identify(secret.strip(), ("token", "wall"), now=now())
    secret = request.cookies.get(COOKIE, "")
    if not secret:
        raise NotSignedIn("nobody is signed in: sign in first")
    return identify(secret, ("session",), now=now())


def public(view: F) -> F:
    """Mark a view that answers without sign-in."""
    view.is_public = True  # type: ignore[attr-defined]
    return view


def is_public(view: Callable[..., Any], method: str) -> bool:
    """Whether the view answers this method without sign-in; a class is asked by method."""
    views: Any = getattr(view, "view_class", None)
    own = getattr(views, "get" if method == "HEAD" else method.lower(), None) if views else view
    return bool(getattr(own, "is_public", False))


def guard() -> None:
    """Before every view of the interface: no request of another site's page, and nobody unknown."""
    if not request.path.startswith("/api/") or request.endpoint is None:
        return
    refuse_cross_site()
    if not is_public(current_app.view_functions[request.endpoint], request.method):
        signed_in()


def refuse_cross_site() -> None:
    """A write that a browser sent with this site's cookie from another site's page is refused.

    Sec-Fetch-Site tells; Origin where a browser is too old for it. A request with neither comes
    from no browser. One with an Authorization header carries nothing that a browser adds by itself.
    """
    if request.method in SAFE or "Authorization" in request.headers:
        return
    site, origin = request.headers.get("Sec-Fetch-Site"), request.headers.get("Origin")
    if site is not None:
        cross = site not in ("same-origin", "none")
    else:
        cross = origin is not None and urlsplit(origin).netloc != request.host
    if cross:
        raise Problem("cross-site", "a page of another site sent this: do it from the board")


def is_loopback() -> bool:
    """True for a request from this very machine that no proxy handed on.

    The host must be a loopback name too: a page of another site may have its own name point here.
    """
    if any(name in request.headers for name in FORWARDING):
        return False
    return _is_local(request.remote_addr or "") and _is_local(host_name())


def host_name() -> str:
    return (urlsplit(f"//{request.host}").hostname or "").lower()


def _is_local(name: str) -> bool:
    if name == "localhost":
        return True
    try:
        return ip_address(name).is_loopback
    except ValueError:
        return False


def set_cookie(response: Response, secret: str, expires_at: Instant) -> None:
    """Hand the session to the browser: out of reach of scripts, and not sent from other sites."""
    choice = current_app.extensions["settings"].secure_cookie
    response.set_cookie(
        COOKIE,
        secret,
        expires=expires_at,
        max_age=expires_at - now(),
        httponly=True,
        samesite="Lax",
        secure=not _is_local(host_name()) if choice == "auto" else choice == "always",
    )


def drop_cookie(response: Response) -> None:
    response.delete_cookie(COOKIE, httponly=True, samesite="Lax")


def install(app: Flask) -> None:
    app.before_request(guard)
