"""List, make, read and change one kind of plain thing over HTTP: one pair of views for all kinds."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask.views import MethodView
from marshmallow import Schema

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery, etag, paged
from crossload.domain.window import Id
from crossload.usecases.registers import Register

View = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Shapes:
    """The schemas of one kind: of one in full, of a page, of a new one, of a change, of a query.

    The page has one member, named like the thing in the plural.
    """

    full: type[Schema]
    page: type[Schema]
    body: type[Schema]
    change: type[Schema]
    query: type[Schema] = PageQuery


def serve(blueprint: Blueprint, register: Register[Any], shapes: Shapes, plural: str) -> None:
    """Put the two views of a kind on its blueprint. `plural` is how sentences name the things."""
    _serve_many(blueprint, register, shapes, plural)
    _serve_one(blueprint, register, shapes, plural)


def _serve_many(blueprint: Blueprint, register: Register[Any], shapes: Shapes, plural: str) -> None:
    (member,) = shapes.page().fields

    @blueprint.route("")
    class Many(MethodView):
        @blueprint.arguments(shapes.query, location="query")
        @blueprint.response(200, shapes.page)
        @saying(f"The pool's {plural}, in order of making; those that have ended too.")
        def get(self, query: dict[str, Any]) -> Any:
            after, limit = query.pop("after"), query.pop("limit")
            found = register.page(session.current_actor(), after, limit + 1, **query)
            shown, headers = paged(found, limit, id_of)
            return {member: shown}, headers

        @blueprint.creates
        @blueprint.arguments(shapes.body)
        @blueprint.response(201, shapes.full)
        @saying(f"Add one to the pool's {plural}.")
        def post(self, body: dict[str, Any]) -> Any:
            key, digest = conditional.key()
            made = register.add(
                session.current_actor(),
                settled(body),
                now=session.now(),
                key=key,
                digest=digest,
            )
            return made, etag(field(made, "version"))


def _serve_one(blueprint: Blueprint, register: Register[Any], shapes: Shapes, plural: str) -> None:
    @blueprint.route("/<id:thing>")
    class One(MethodView):
        @blueprint.response(200, shapes.full)
        @saying(f"One of the pool's {plural}.")
        def get(self, thing: Id) -> Any:
            found = register.get(session.current_actor(), thing)
            return found, etag(field(found, "version"))

        @blueprint.changes
        @blueprint.arguments(shapes.change)
        @blueprint.response(200, shapes.full)
        @saying(f"Change one of the pool's {plural}; what is left out stays as it is.")
        def patch(self, body: dict[str, Any], thing: Id) -> Any:
            changed = register.change(
                session.current_actor(),
                thing,
                settled(body),
                version=conditional.version(),
                now=session.now(),
            )
            return changed, etag(field(changed, "version"))


def saying(text: str) -> Callable[[View], View]:
    """Give a view the sentence that documents it."""

    def told(view: View) -> View:
        view.__doc__ = text
        return view

    return told


def settled(body: dict[str, Any]) -> dict[str, Any]:
    """A body's lists as tuples, as values hold them."""
    return {name: tuple(v) if isinstance(v, list) else v for name, v in body.items()}


def field(thing: Any, name: str) -> Any:
    """A field of what a register shows: a value, or a value's fields with more beside them."""
    return thing[name] if isinstance(thing, dict) else getattr(thing, name)


def id_of(thing: Any) -> Any:
    return field(thing, "id")
