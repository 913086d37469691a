"""The Blueprint of every resource: one way to read bodies, and documentation that is whole."""

from collections.abc import Callable
from functools import wraps
from typing import Any

import flask_smorest
import marshmallow
from flask import Request, current_app
from webargs import core
from webargs.flaskparser import FlaskParser, is_json_request

from crossload.api import conditional
from crossload.api.problems import pointed, refuse
from crossload.api.session import is_public

View = Callable[..., Any]
Doc = dict[str, Any]
Decorator = Callable[[Any], Any]

_KEY_PARAMETER = {
    "in": "header",
    "name": "Idempotency-Key",
    "required": True,
    "description": "A key of this request's own, in quotes; the same key again makes nothing new.",
    "schema": {"type": "string", "minLength": 1, "maxLength": 102},
}
_MATCH_PARAMETER = {
    "in": "header",
    "name": "If-Match",
    "required": True,
    "description": "The ETag that came with the thing, or * for whatever stands there now.",
    "schema": {"type": "string"},
}


class Parser(FlaskParser):
    """Bodies through the app's own JSON; a parameter that nobody knows is refused by name."""

    DEFAULT_UNKNOWN_BY_LOCATION = FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION | {
        "query": marshmallow.RAISE
    }

    def _raw_load_json(self, req: Request) -> Any:
        raw = req.get_data(cache=True)
        if not raw:
            return core.missing
        if not is_json_request(req):
            refuse("wrong-media-type", "JSON belongs here: send Content-Type application/json")
        try:
            value = current_app.json.loads(raw)
        except ValueError as error:
            refuse("bad-request", str(error))
        if value is None:  # which webargs takes for no body at all
            sentence = "an object belongs here"
            refuse("invalid", sentence, errors=[pointed("", sentence)])
        return value


class Blueprint(flask_smorest.Blueprint):  # type: ignore[misc]
    """flask-smorest's, with a documented default problem and our two header rules.

    `@blueprint.creates` on a view that makes something: it takes an Idempotency-Key, had from
    `conditional.key()`. `@blueprint.changes`: it takes If-Match, had from `conditional.version()`.
    Both are refused before the body is looked at.
    """

    ARGUMENTS_PARSER = Parser()

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self._prepare_doc_cbks.append(self._prepare_headers_doc)

    def route(self, rule: str, **options: Any) -> Decorator:
        """flask-smorest's own, with types."""
        made: Decorator = super().route(rule, **options)
        return made

    def arguments(self, schema: Any, **options: Any) -> Decorator:
        """flask-smorest's own, with types."""
        made: Decorator = super().arguments(schema, **options)
        return made

    def response(self, status_code: int, schema: Any = None, **options: Any) -> Decorator:
        """flask-smorest's own, with types."""
        made: Decorator = super().response(status_code, schema, **options)
        return made

    def doc(self, **told: Any) -> Decorator:
        """flask-smorest's own, with types."""
        made: Decorator = super().doc(**told)
        return made

    def creates(self, view: View) -> View:
        """Mark a view that makes something: 400 without an Idempotency-Key."""
        return _taking(view, conditional.key, _KEY_PARAMETER)

    def changes(self, view: View) -> View:
        """Mark a view that changes something: 428 without an If-Match."""
        return _taking(view, conditional.version, _MATCH_PARAMETER)

    def _store_endpoint_docs(
        self, endpoint: str, obj: Any, parameters: Any, tags: Any, **options: Any
    ) -> None:
        super()._store_endpoint_docs(endpoint, obj, parameters, tags, **options)
        for method, told in self._docs[endpoint].items():
            if method != "parameters":
                own = getattr(obj, method) if isinstance(obj, type) else obj
                told["is_public"] = is_public(own, method)

    def _prepare_headers_doc(self, doc: Doc, doc_info: Doc, **_: Any) -> Doc:
        doc.setdefault("parameters", []).extend(doc_info.get("header_parameters", ()))
        doc.setdefault("responses", {})["default"] = "PROBLEM"
        doc["responses"].pop("422", None)
        doc["responses"].pop(422, None)
        if doc_info.get("is_public"):
            doc["security"] = []
        return doc


def _taking(view: View, check: Callable[[], Any], parameter: dict[str, Any]) -> View:
    @wraps(view)
    def wrapper(*args: Any, **kwargs: Any) -> Any:
        check()
        return view(*args, **kwargs)

    told = dict(getattr(view, "_apidoc", {}))
    told["header_parameters"] = [*told.get("header_parameters", ()), parameter]
    wrapper._apidoc = told  # type: ignore[attr-defined]
    return wrapper
