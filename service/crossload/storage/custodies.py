"""What is out, and the events that made it so."""

from collections.abc import Sequence
from operator import attrgetter
from typing import Any, TypeVar

from crossload.domain.custody import Custody, OutOfService
from crossload.domain.window import Id, Instant
from crossload.storage import kept, sql
from crossload.storage.ids import new_id
from crossload.storage.shelf import Shelf

V = TypeVar("V", Custody, OutOfService)


def _in_order(found: list[V]) -> list[V]:
    """By id. SQLite takes eight times as long to find nothing where the statement sorts."""
    return sorted(found, key=attrgetter("id"))


def _among(kit_types: Sequence[Id] | None) -> tuple[str, Sequence[Id]]:
    """The condition that leaves these kit types, and its values; none leaves all."""
    if kit_types is None:
        return "", ()
    return f"AND kit_type_id IN ({sql.marks(kit_types)})", kit_types


class Custodies(Shelf[Custody]):
    def __init__(self, pool: Id):
        super().__init__(pool, kept.CUSTODY)

    def out(self, kit_types: Sequence[Id] | None = None) -> list[Custody]:
        """What is out now, of these kit types or of all, oldest first."""
        more, values = _among(kit_types)
        return _in_order(self._where(f"AND back_at IS NULL {more}", *values))

    def of_item(self, item: Id) -> Custody | None:
        """Where a piece is out to now."""
        return next(iter(self._where("AND item_id = ? AND back_at IS NULL", item)), None)

    def last_back(self, item: Id) -> Instant | None:
        """When a piece last came back."""
        text = "SELECT max(back_at) FROM custody WHERE pool_id = ? AND item_id = ?"
        found = sql.row(text, self.pool, item)
        return found[0] if found else None

    def of_line(self, line: Id) -> list[Custody]:
        """All that ever went out on a line, oldest first."""
        return self.of_lines([line])[line]

    def of_lines(self, lines: Sequence[Id]) -> dict[Id, list[Custody]]:
        """All that ever went out on each of these lines, oldest first."""
        found: dict[Id, list[Custody]] = {line: [] for line in lines}
        for custody in self._where(f"AND line_id IN ({sql.marks(lines)}) ORDER BY id", *lines):
            if custody.line is not None:
                found[custody.line].append(custody)
        return found

    def back_since(self, since: Instant) -> list[Custody]:
        """What came back at `since` or later."""
        return self._where("AND back_at >= ? ORDER BY id", since)

    def set(self, id: Id, **changes: Any) -> None:
        """Custody has no version: the open row is the lock."""
        sql.update("custody", changes, pool_id=self.pool, id=id)

    def services_of(self, item: Id, now: Instant) -> list[OutOfService]:
        """The out-of-service windows of a piece that hold `now`, in the order of recording."""
        shelf = kept.OUT_OF_SERVICE
        text = (
            f"SELECT {shelf.selected} FROM out_of_service WHERE pool_id = ? AND item_id = ?"
            " AND start_s <= ? AND end_s > ? ORDER BY recorded_at, id"
        )
        return [shelf.to_value(row) for row in sql.rows(text, self.pool, item, now, now)]

    def services(
        self, kit_types: Sequence[Id] | None, since: Instant, until: Instant
    ) -> list[OutOfService]:
        """Out-of-service windows that overlap [since, until).

        Those of retired pieces are left out: such a piece is in no stock, so none can be taken
        from it.
        """
        shelf = kept.OUT_OF_SERVICE
        text = (
            f"SELECT {shelf.selected} FROM out_of_service WHERE pool_id = ? AND end_s > ?"
            " AND start_s < ? AND NOT EXISTS (SELECT 1 FROM item"
            " WHERE item.id = out_of_service.item_id AND item.condition = 'retired')"
        )
        more, values = _among(kit_types)
        found = sql.rows(f"{text} {more}", self.pool, since, until, *values)
        return _in_order([shelf.to_value(row) for row in found])

    def event(self, key: str) -> tuple[Id, str, str] | None:
        """The id, body digest and outcome of an event that came before."""
        text = "SELECT id, body_digest, outcome FROM custody_event WHERE pool_id = ? AND key = ?"
        found = sql.row(text, self.pool, key)
        return (found[0], found[1], found[2]) if found else None

    def event_of(self, id: Id) -> tuple[Id | None, str, Instant, str] | None:
        """Whose an event is, its kind, when it was recorded, and its outcome."""
        text = (
            "SELECT account_id, kind, recorded_at, outcome FROM custody_event"
            " WHERE pool_id = ? AND id = ?"
        )
        found = sql.row(text, self.pool, id)
        return (found[0], found[1], found[2], found[3]) if found else None

    def append(
        self, key: str, account: Id | None, kind: str, happened_at: Instant, now: Instant,
        digest: str, outcome: str,
    ) -> Id:  # fmt: skip
        id = new_id()
        columns = (
            "id", "pool_id", "key", "account_id", "kind", "happened_at", "recorded_at", "body_digest",
            "outcome",
        )  # fmt: skip
        values = (id, self.pool, key, account, kind, happened_at, now, digest, outcome)
        sql.insert("custody_event", columns, [values])
        return id
