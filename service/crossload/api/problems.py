"""Errors over HTTP, RFC 9457: the only module that makes them.

Each `type` is `/problems/<slug>`, stable, with a page of its own.
"""

import secrets
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NoReturn

import structlog
from flask import Flask, Response, current_app, g, has_request_context, request
from werkzeug.exceptions import HTTPException, SecurityError

from crossload.api.problem_kinds import KINDS
from crossload.usecases import errors

MEDIA_TYPE = "application/problem+json"

MOST_ERRORS, LONGEST = 50, 500
"""A body can be wrong in a hundred thousand places, and hold a megabyte for a field's name."""

_BY_STATUS = {
    400: "bad-request", 401: "not-signed-in", 403: "forbidden", 404: "not-found",
    405: "method-not-allowed", 406: "not-acceptable", 409: "conflict", 412: "stale",
    413: "too-large", 415: "wrong-media-type", 422: "invalid", 428: "no-if-match",
    429: "too-many-tries", 500: "failed", 503: "unavailable",
}  # fmt: skip

_SENTENCES = {
    404: "there is nothing at this address",
    405: "this address does not take {method}: it takes {allow}",
    413: "the body is larger than {limit} bytes",
    415: "this address does not read {media_type}: send application/json",
}


class Problem(Exception):
    """An answer that is an error; raise it from anywhere below a view."""

    def __init__(
        self,
        slug: str,
        detail: str,
        *,
        errors: Iterable[Mapping[str, str]] = (),
        headers: Mapping[str, str] | None = None,
        status: int | None = None,
        **members: Any,
    ):
        super().__init__(detail)
        self.kind = KINDS[slug]
        self.status = status or self.kind.status
        self.detail, self.errors, self.members = detail, list(errors), members
        self.headers = dict(headers or {})

    def response(self) -> Response:
        """The problem as JSON. A member is left out rather than null."""
        body: dict[str, Any] = {
            "type": f"/problems/{self.kind.slug}",
            "title": self.kind.title,
            "status": self.status,
            "detail": _short(self.detail),
            "instance": _short(request.path),
            "request_id": request_id(),
        }
        if self.errors:
            body["errors"] = [
                {name: _short(text) for name, text in entry.items()}
                for entry in self.errors[:MOST_ERRORS]
            ]
        text = current_app.json.dumps(body | self.members)
        made = Response(text, self.status, mimetype=MEDIA_TYPE)
        made.headers.extend(self.headers)
        made.cache_control.no_store = True
        return made


def _short(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"


def refuse(slug: str, detail: str, **more: Any) -> NoReturn:
    """Raise a Problem: `refuse("short", sentence, short=[…], options=[…])`."""
    raise Problem(slug, detail, **more)


def pointed(pointer: str, detail: str) -> dict[str, str]:
    """One entry of `errors`; the pointer is a URI fragment (RFC 6901 section 6)."""
    return {"pointer": f"#{pointer}", "detail": detail}


def request_id() -> str:
    """This request's id, made on first use; the log line and every problem carry it."""
    if not has_request_context():
        return ""
    if "request_id" not in g:
        g.request_id = secrets.token_hex(8)
    return str(g.request_id)


def of_refusal(error: errors.Refusal) -> Problem:
    """What a use-case refused, as HTTP says it."""
    text = str(error)
    match error:
        case errors.NotSignedIn():
            return Problem("not-signed-in", text, headers={"WWW-Authenticate": challenge()})
        case errors.Invalid():
            return Problem("invalid", text, errors=[pointed(*pair) for pair in error.wrong])
        case errors.Conflict():
            return Problem(error.kind, text, **error.members)
        case errors.TooManyTries():
            after = {"Retry-After": str(error.retry_after_s)}
            return Problem("too-many-tries", text, headers=after)
    return Problem(_SLUGS[type(error)], text)


_SLUGS: dict[type[errors.Refusal], str] = {
    errors.Forbidden: "forbidden",
    errors.NotFound: "not-found",
    errors.Stale: "stale",
    errors.KeyReused: "key-reused",
}


def challenge() -> str:
    """RFC 6750 section 3: no error code where no token came, invalid_token where one did."""
    if request.headers.get("Authorization"):
        return 'Bearer realm="crossload", error="invalid_token"'
    return 'Bearer realm="crossload"'


def of_http(error: HTTPException) -> Problem:
    """What Flask, werkzeug or webargs raised. Their headers (Allow, Retry-After) stay."""
    status = error.code or 500
    given: dict[str, Any] = getattr(error, "data", None) or {}
    headers = {
        name: value
        for name, value in error.get_headers(request.environ)
        if name in ("Allow", "WWW-Authenticate", "Retry-After", "Location")
    }
    headers |= given.get("headers") or {}
    messages = given.get("messages")
    found = list(flattened(messages)) if messages else []
    detail = "; ".join(entry["detail"] for entry in found[:3]) or _sentence(error, status)
    slug = _BY_STATUS.get(status, "http")
    return Problem(slug, detail, errors=found, headers=headers, status=status)


def _sentence(error: HTTPException, status: int) -> str:
    if status == 500:
        return "the service failed; nothing was changed"
    if isinstance(error, SecurityError):
        return "this service does not answer to that host name: see CROSSLOAD_TRUSTED_HOSTS"
    said = _SENTENCES.get(status, error.description or error.name)
    allow = ", ".join(sorted(getattr(error, "valid_methods", None) or ()))
    return said.format(
        method=request.method,
        allow=allow or "none",
        limit=request.max_content_length,
        media_type=request.mimetype or "a body without Content-Type",
    )


def flattened(messages: Any, path: Sequence[str] = ()) -> Iterable[dict[str, str]]:
    """marshmallow's nested messages, {location: {field: {index: [sentence]}}}, one entry each.

    A body's fields are pointed at; parameters of the query or header fields are named.
    """
    if isinstance(messages, Mapping):
        for name, inner in messages.items():
            here = path if name == "_schema" else (*path, str(name))
            yield from flattened(inner, here)
        return
    for sentence in [messages] if isinstance(messages, str) else messages:
        location, *fields = path or ("json",)
        if location == "json":
            pointer = "".join("/" + field.replace("~", "~0").replace("/", "~1") for field in fields)
            yield pointed(pointer, str(sentence))
        else:
            yield {"parameter": ".".join(fields), "detail": str(sentence)}


def install(app: Flask) -> None:
    """Every error of the app leaves as a problem."""

    def unavailable(error: errors.DatabaseUnavailable) -> Response:
        structlog.get_logger().warning("database unavailable", reason=str(error))
        sentence = "the database did not answer; nothing was changed"
        return Problem("unavailable", sentence, headers={"Retry-After": "2"}).response()

    def failed(error: Exception) -> Response:
        structlog.get_logger().exception("failed", request_id=request_id())
        return Problem("failed", "the service failed; nothing was changed").response()

    app.register_error_handler(Problem, lambda problem: problem.response())
    app.register_error_handler(errors.Refusal, lambda error: of_refusal(error).response())
    app.register_error_handler(errors.DatabaseUnavailable, unavailable)
    app.register_error_handler(HTTPException, lambda error: of_http(error).response())
    app.register_error_handler(Exception, failed)
