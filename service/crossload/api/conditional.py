"""Versions, keys and pages: If-Match, ETag, Idempotency-Key and Link, for every resource alike."""

import hashlib
import re
from collections.abc import Callable, Sequence
from operator import attrgetter
from typing import Any, TypeVar
from urllib.parse import urlencode

from flask import Flask, Response, request

from crossload.api import session
from crossload.api.fields import IdField, Int, Shape
from crossload.api.problems import refuse
from crossload.domain import ids
from crossload.usecases.freshness import Tag, is_fresh

V = TypeVar("V")

_STRONG = re.compile(r'"([^"]*)"')
_KEY = re.compile(r"[!#-\[\]-~]{1,100}")


def etag(version: object) -> dict[str, str]:
    """The header of a thing at a version: `return thing, etag(thing.version)`."""
    return {"ETag": f'"{version}"'}


def version() -> int | None:
    """The version that If-Match names, None for `*`. 428 without the header.

    A tag that no version has (weak ones too: RFC 9110 section 13.1.1 compares strongly) gives -1,
    which nothing is at, so that the use-case finds it stale.
    """
    header = request.headers.get("If-Match", "").strip()
    if not header:
        refuse("no-if-match", "a change needs If-Match: send the ETag that you read it with")
    if header == "*":
        return None
    if len(_STRONG.findall(header)) > 1:
        refuse("bad-request", "If-Match takes one ETag here: send the one that you read last")
    match = _STRONG.fullmatch(header)
    number = match[1] if match else ""
    return int(number) if number.isascii() and number.isdigit() and len(number) < 17 else -1


def key() -> tuple[str, str]:
    """The Idempotency-Key and the digest of what was sent. 400 without the header.

    The key is a string of RFC 8941, in quotes; one without quotes means the same.
    """
    header = request.headers.get("Idempotency-Key", "").strip()
    if not header:
        refuse("no-key", 'making something needs an Idempotency-Key: "…", a new UUID for each')
    bare = header[1:-1] if len(header) > 1 and header[0] == header[-1] == '"' else header
    if not _KEY.fullmatch(bare):
        refuse("no-key", "an Idempotency-Key is 1 to 100 characters without spaces: send a UUID")
    return bare, digest()


def digest() -> str:
    """A digest of the method, the address and the body: what makes a request the same one."""
    query = request.query_string
    told = b"\n".join((request.method.encode(), request.path.encode(), query, request.get_data()))
    return hashlib.sha256(told).hexdigest()


def known_still() -> Tag | None:
    """The tag of an answer that the asker has and that still stands, though the clock went on."""
    for text in request.if_none_match:
        tag = Tag.read(text)
        if tag and is_fresh(session.current_actor(), tag, session.now()):
            return tag
    return None


def not_modified(tag: object) -> Response:
    """A 304 without a body, under the tag that the asker has."""
    response = Response(status=304)
    response.headers.update(etag(tag))
    return response


class PageQuery(Shape):
    """How much of a list, and after what."""

    limit = Int(1, 500, query=True, load_default=100)
    after = IdField(load_default=0)


def paged(
    found: Sequence[V], limit: int, id_of: Callable[[V], Any] = attrgetter("id")
) -> tuple[list[V], dict[str, str]]:
    """A page and its Link header, from `found`, which was read with a limit of one more.

    The next page begins after the last id of this one, so rows that come or go shift nothing.
    """
    shown = list(found[:limit])
    if len(found) <= limit:
        return shown, {}
    query = request.args.copy()
    query["after"] = ids.to_text(id_of(shown[-1]))
    return shown, {
        "Link": f'<{request.path}?{urlencode(list(query.items(multi=True)))}>; rel="next"'
    }


def _answer_conditionally(response: Response) -> Response:
    """A read whose ETag the asker has already answers 304, without a body."""
    if request.method in ("GET", "HEAD") and response.status_code == 200 and response.get_etag()[0]:
        response.make_conditional(request.environ)
    return response


def install(app: Flask) -> None:
    app.after_request(_answer_conditionally)
