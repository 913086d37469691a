"""One thing of a list beside what the pool has of it: new, changed or the same."""

import dataclasses
from collections.abc import Iterable
from datetime import date
from enum import StrEnum
from functools import cache, cached_property
from typing import Any, Generic, TypeVar

from crossload.domain.kit import Need
from crossload.domain.names import one_line
from crossload.domain.row_problem import RowProblem
from crossload.domain.window import Id

V = TypeVar("V")


class Kind(StrEnum):
    NEW = "new"
    CHANGED = "changed"
    SAME = "same"


@dataclasses.dataclass(frozen=True)
class Merged(Generic[V]):
    """`value` as the list would have it, `before` as the pool has it, None where it has none.

    `row` is the row of the list that says so first; `more` are differences outside the value.
    """

    row: int
    value: V
    before: V | None = None
    more: dict[str, tuple[Any, Any]] = dataclasses.field(default_factory=dict)

    @property
    def id(self) -> Id:
        found: Id = self.value.id  # type: ignore[attr-defined]
        return found

    @property
    def kind(self) -> Kind:
        """Whether the list brings it in, changes it, or leaves it as it is."""
        if self.before is None:
            return Kind.NEW
        return Kind.CHANGED if self.fields or self.more else Kind.SAME

    @cached_property
    def fields(self) -> dict[str, tuple[Any, Any]]:
        """Before and after of each field that differs; of a new thing, of each that says anything."""
        found: dict[str, tuple[Any, Any]] = {}
        kind: Any = type(self.value)
        for name in _names(kind):
            after = getattr(self.value, name)
            before = None if self.before is None else getattr(self.before, name)
            says = after not in (None, "", (), {}) if self.before is None else after != before
            if says:
                found[name] = (before, after)
        return found


@cache
def _names(kind: type[Any]) -> tuple[str, ...]:
    names = (field.name for field in dataclasses.fields(kind))
    return tuple(name for name in names if name not in ("id", "version"))


@dataclasses.dataclass(frozen=True, slots=True)
class Change:
    """What a list would do to one thing, for people: names instead of ids."""

    row: int
    what: str
    kind: Kind
    name: str
    fields: dict[str, tuple[Any, Any]] = dataclasses.field(default_factory=dict)


class Problems:
    """What stands against rows, under the headers that the file has."""

    def __init__(self, headers: dict[str, str]):
        self.headers = headers
        self.found: set[RowProblem] = set()

    def add(self, row: int, field: str, reason: str) -> None:
        """Note what is wrong with a field of a row, under the header that the file has for it."""
        self.found.add(RowProblem(row, self.headers.get(field, ""), reason))

    def in_order(self) -> tuple[RowProblem, ...]:
        """Each once, by row and column."""
        return tuple(sorted(self.found))


def taken(before: Any, after: Any) -> Any:
    """What a field becomes: what was there, where a table cannot tell it from what it says."""
    if isinstance(before, str) and isinstance(after, str) and one_line(before) == one_line(after):
        return before
    return after


def taken_notes(
    before: dict[str, str], after: dict[str, str], spoken: Iterable[str]
) -> dict[str, str]:
    """Notes under headers that the list does not have stay as they are."""
    names = {*spoken, *after}
    kept = {name: text for name, text in before.items() if name not in names}
    return kept | {name: taken(before.get(name), text) for name, text in after.items()}


def counted(kinds: Iterable[Kind]) -> dict[str, int]:
    """How many of each kind."""
    found = dict.fromkeys(map(str, Kind), 0)
    for kind in kinds:
        found[kind] += 1
    return found


def in_json(value: Any) -> Any:
    """A field's value in terms that JSON has."""
    if isinstance(value, tuple):
        return [in_json(each) for each in value]
    if isinstance(value, dict):
        return {str(key): in_json(each) for key, each in value.items()}
    if isinstance(value, Need):
        return [value.category, value.quantity, list(value.match)]
    return value.isoformat() if isinstance(value, date) else value
