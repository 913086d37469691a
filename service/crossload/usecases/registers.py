"""Things that are kept one row each: read, paged, added and changed in one and the same way."""

import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, ClassVar, Generic, Literal, TypeVar

from crossload.domain.kit import Need
from crossload.domain.names import fold
from crossload.domain.window import Id, Instant
from crossload.storage.ids import new_id
from crossload.storage.shelf import Compared, Shelf
from crossload.storage.stores import Stores
from crossload.usecases import once
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid, NotFound, Stale
from crossload.usecases.transaction import read, write

V = TypeVar("V")

Wrong = list[tuple[str, str]]
"""Pointers into the body, each with the sentence that says what to mend."""


class Register(Generic[V]):
    """One kind of thing: what is alike of all, and hooks for the rules of each.

    A subclass says `shelf`, and overrides `made`, `changed`, `allow`, `check`, `follow` or `shown`
    where its kind has more to it.
    """

    what: ClassVar[str]
    """In sentences: "kit type"."""
    kind: ClassVar[str]
    """In the journal and in what an idempotency key led to: "kit_type"."""
    verb: ClassVar[str]
    """What an actor must be allowed, to add and to change."""
    value: type[V]
    silent: ClassVar[frozenset[str]] = frozenset()
    """Fields that can name a person: the journal says that they changed, never what they hold."""
    ranges: ClassVar[Mapping[str, tuple[str, Literal["<", "<=", ">", ">="]]]] = {}
    """Words by which `page` compares a field otherwise than by equality."""

    def shelf(self, stores: Stores) -> Shelf[V]:
        raise NotImplementedError

    # What the use-cases call

    def get(self, actor: Actor, id: Id) -> Any:
        """One of them, ended or not; NotFound when this pool has none of that id."""
        actor.must("read")
        with read(actor.pool) as stores:
            return self.shown(stores, [self.known(stores, id)])[0]

    def page(
        self, actor: Actor, after: int = 0, limit: int | None = None, **chosen: Any
    ) -> list[Any]:
        """Those beyond the id `after`, in order of making, ended ones too."""
        actor.must("read")
        compared: list[Compared] = [
            (*self.ranges[word], chosen.pop(word)) for word in list(chosen) if word in self.ranges
        ]
        with read(actor.pool) as stores:
            found = self.shelf(stores).page(after, limit, compared, **chosen)
            return self.shown(stores, found)

    def add(
        self,
        actor: Actor,
        values: Mapping[str, Any],
        *,
        now: Instant,
        key: str | None = None,
        digest: str = "",
    ) -> Any:
        """A new one. The same key again answers what it made the first time, as it is now.

        Raises Forbidden, Invalid, Conflict, KeyReused.
        """
        actor.must_some(self.verb)
        with write(actor.pool, now) as stores:
            earlier = once.earlier(stores, actor, key, digest)
            if earlier is not None:
                return self.shown(stores, [self.known(stores, earlier[self.kind])])[0]
            id = self.enter(stores, actor, values, now)
            once.keep(stores, actor, key, digest, {self.kind: id}, now)
            return self.shown(stores, [self.known(stores, id)])[0]

    def change(
        self,
        actor: Actor,
        id: Id,
        changes: Mapping[str, Any],
        *,
        version: int | None,
        now: Instant,
    ) -> Any:
        """Set fields of one; `ended` ends it or takes that back. Nothing new makes no new version.

        Raises NotFound, Forbidden, Stale, Invalid, Conflict.
        """
        actor.must_some(self.verb)
        with write(actor.pool, now) as stores:
            before = self.known(stores, id)
            self.allow(stores, actor, before)
            if version is not None and _version(before) != version:
                raise Stale(self.what)
            self.amend(stores, actor, before, changes, now)
            return self.shown(stores, [self.known(stores, id)])[0]

    # The same within a transaction that is already open, for imports and the demo

    def enter(self, stores: Stores, actor: Actor, values: Mapping[str, Any], now: Instant) -> Id:
        """Add one and note it in the journal; answers its id."""
        made = self.made(stores, values, now)
        self.allow(stores, actor, made)
        _refuse(self.check(stores, None, made, now))
        self.shelf(stores).add(made)
        id = _id(made)
        after = self.told(made, self._fields())
        stores.journal.write(actor.account, "made", self.kind, id, now, after=after)
        self.follow(stores, actor, None, made, now)
        return id

    def amend(
        self, stores: Stores, actor: Actor, before: V, changes: Mapping[str, Any], now: Instant
    ) -> bool:
        """Change one and note it in the journal; False when nothing of it is new."""
        after = self.changed(stores, before, changes, now)
        fields = [f for f in self._fields() if getattr(before, f) != getattr(after, f)]
        if not fields:
            return False
        _refuse(self.check(stores, before, after, now))
        stored = self.shelf(stores).kept.fields
        told = {field: getattr(after, field) for field in fields if field in stored}
        if not self.shelf(stores).change(_id(before), _version(before), **told):
            raise Stale(self.what)
        told_before, told_after = self.told(before, fields), self.told(after, fields)
        stores.journal.write(
            actor.account, "changed", self.kind, _id(before), now, told_before, told_after
        )
        self.follow(stores, actor, before, after, now)
        return True

    # What a kind may have of its own

    def known(self, stores: Stores, id: Id) -> V:
        found = self.shelf(stores).get(id)
        if found is None:
            raise NotFound(self.what)
        return found

    def made(self, stores: Stores, values: Mapping[str, Any], now: Instant) -> V:
        """The new value, not yet kept."""
        return self.value(id=new_id(), **values)  # type: ignore[call-arg]

    def changed(self, stores: Stores, before: V, changes: Mapping[str, Any], now: Instant) -> V:
        """The value as it would be; `ended` becomes the instant of ending."""
        new = dict(changes)
        ended = new.pop("ended", None)
        if ended is not None:
            new["ended_at"] = (getattr(before, "ended_at", None) or now) if ended else None
        return dataclasses.replace(before, **new)  # type: ignore[type-var]

    def allow(self, stores: Stores, actor: Actor, value: V) -> None:
        """Forbidden unless the actor may add or change this one."""
        actor.must(self.verb)

    def check(self, stores: Stores, before: V | None, after: V, now: Instant) -> Wrong:
        """What of `after` breaks a rule; it may raise Conflict. `before` is None for a new one."""
        return []

    def follow(
        self, stores: Stores, actor: Actor, before: V | None, after: V, now: Instant
    ) -> None:
        """What else changes with it; `after` is kept already."""

    def shown(self, stores: Stores, values: Sequence[V]) -> list[Any]:
        """The values as somebody sees them, with what belongs to each."""
        return list(values)

    def told(self, value: V, fields: Sequence[str]) -> dict[str, Any]:
        """The fields as the journal keeps them."""
        spoken = {f: plain(getattr(value, f)) for f in fields if f not in self.silent}
        silent = sorted(field for field in fields if field in self.silent)
        return spoken | ({"not_shown": silent} if silent else {})

    def _fields(self) -> list[str]:
        names = [field.name for field in dataclasses.fields(self.value)]  # type: ignore[arg-type]
        return [name for name in names if name not in ("id", "version")]


def plain(value: Any) -> Any:
    """A field's value as JSON holds it."""
    if isinstance(value, Need):
        return [value.category, value.quantity, list(value.match)]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [plain(each) for each in value]
    if isinstance(value, dict) and any(isinstance(name, int) for name in value):
        return [list(pair) for pair in sorted(value.items())]  # ids are not to become text
    return value


def fields_of(value: Any) -> dict[str, Any]:
    """A value's fields by name, to be shown with more beside them."""
    return {field.name: getattr(value, field.name) for field in dataclasses.fields(value)}


def unknown(shelf: Shelf[Any], id: Id | None, pointer: str, what: str) -> Wrong:
    """Wrong when an id is given and the pool has nothing of it."""
    if id is None or shelf.get(id) is not None:
        return []
    return [(pointer, f"this pool has no such {what}")]


def taken(
    shelf: Shelf[Any], field: str, after: Any, sentence: str, *, pointer: str = "", **within: Any
) -> Wrong:
    """Wrong when another one has the same text in a field, case and spaces aside."""
    name = fold(getattr(after, field))
    for other in shelf.all(**within):
        if other.id != after.id and fold(getattr(other, field)) == name:
            return [(pointer or f"/{field}", sentence)]
    return []


def _refuse(wrong: Wrong) -> None:
    if wrong:
        raise Invalid(wrong)


def _id(value: Any) -> Id:
    id: Id = value.id
    return id


def _version(value: Any) -> int:
    version: int = value.version
    return version
