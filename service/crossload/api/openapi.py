"""OpenAPI 3.1, made from the same schemas that validate, at /api/v1/openapi.json."""

import warnings
from functools import partial
from typing import Any

import flask_smorest
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.common import resolve_schema_instance
from flask import Flask, Response
from werkzeug.routing import BaseConverter, ValidationError

import crossload
from crossload.api import problems
from crossload.api.fields import OPENAPI_TYPES, Inside, Int, ListOf, Shape, Text
from crossload.api.session import COOKIE, public
from crossload.domain import ids
from crossload.domain.window import Id

PREFIX = "/api/v1"


class WrongValue(Shape):
    """One wrong value: where it stands in the body, or which parameter it is, and what to mend."""

    pointer = Text(problems.LONGEST)
    parameter = Text(problems.LONGEST)
    detail = Text(problems.LONGEST, required=True)


class ProblemBody(Shape):
    """Problem details, RFC 9457."""

    type = Text(100, required=True)
    title = Text(100, required=True)
    status = Int(400, 599, required=True)
    detail = Text(problems.LONGEST, required=True)
    instance = Text(problems.LONGEST, required=True)
    request_id = Text(16, required=True)
    errors = ListOf(Inside(WrongValue), problems.MOST_ERRORS)


class IdConverter(BaseConverter):
    """`<id:booking>` in a route: 13 characters outside, a number inside; anything else is a 404."""

    regex = f"[{ids.ALPHABET}]{{{ids.LENGTH}}}"

    def to_python(self, value: str) -> Id:
        try:
            return ids.from_text(value)
        except ValueError as error:
            raise ValidationError from error

    def to_url(self, value: Any) -> str:
        return ids.to_text(value)


def schema_name(schema: Any) -> str:
    """A schema's name in the document. Variants say how they vary: two may not share a name."""
    made = resolve_schema_instance(schema)
    name = type(made).__name__.removesuffix("Schema")
    if made.partial:
        name += "Part"
    if made.only:
        name += "Of" + "And".join(sorted(made.only)).title().replace("_", "")
    if made.exclude:
        name += "Without" + "And".join(sorted(made.exclude)).title().replace("_", "")
    return name


class Api(flask_smorest.Api):  # type: ignore[misc]
    """flask-smorest's, speaking problem details, with what apispec doubts made an error."""

    ERROR_SCHEMA = ProblemBody

    def _register_error_handlers(self) -> None:
        problems.install(self._app)

    def _register_responses(self) -> None:
        """One answer stands for all that is refused; the stock one says application/json."""
        told = {
            "description": "Refused: problem details. `type` says why, and has a page.",
            "content": {problems.MEDIA_TYPE: {"schema": ProblemBody}},
        }
        self.spec.components.response("PROBLEM", told, lazy=True)

    def _openapi_json(self) -> Response:
        text = self._app.json.dumps(self.spec.to_dict())
        return Response(text, mimetype="application/json")

    def register_blueprint(self, blp: Any, **options: Any) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            super().register_blueprint(blp, **options)


def install(app: Flask) -> Api:
    """The interface without its resources yet; `app.py` registers their blueprints."""
    app.url_map.converters["id"] = IdConverter
    app.config.update(
        API_TITLE="Crossload",
        API_VERSION=crossload.__version__,
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX=PREFIX,
        OPENAPI_JSON_PATH="openapi.json",
        API_SPEC_OPTIONS={
            "info": {"description": "One pool of location-sound kit, shared by several units."},
            "security": [{"session": []}, {"bearer": []}],
        },
    )
    api = Api()
    for field, type_name in OPENAPI_TYPES.items():
        api.register_field(field, type_name, None)
    plugin = MarshmallowPlugin(schema_name_resolver=schema_name)
    api.init_app(app, spec_kwargs={"marshmallow_plugin": plugin})
    api.register_converter(IdConverter, _id_parameter)
    api.spec.components.security_scheme(
        "session", {"type": "apiKey", "in": "cookie", "name": COOKIE}
    )
    api.spec.components.security_scheme("bearer", {"type": "http", "scheme": "bearer"})
    # A bound method takes no mark, so it is wrapped in a function that does.
    app.view_functions["api-docs.openapi_json"] = public(partial(api._openapi_json))
    return api


def _id_parameter(converter: IdConverter) -> dict[str, str]:
    return {"type": "string", "pattern": f"^{converter.regex}$"}


__all__ = ["PREFIX", "Api", "IdConverter", "install", "schema_name"]
