"""The journal, and the idempotency keys."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from crossload.domain.window import Id, Instant
from crossload.storage import sql
from crossload.storage.ids import new_id
from crossload.storage.sql import dumps

KEY_KEPT_S = 14 * 86_400
"""A phone may send again what it could not send for two weeks."""

_ENTRY = "id, seq, at, account_id, verb, subject_kind, subject, before, after"


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the journal: ids only, so that a person can be erased elsewhere."""

    id: Id
    seq: int
    at: Instant
    account: Id | None
    verb: str
    subject_kind: str
    subject: Id
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class Noted:
    """One of many entries that are written together."""

    verb: str
    kind: str
    subject: Id
    before: Any = None
    after: Any = None


class Journals:
    """`last` takes what is written at the end of the transaction: there it is seen, not before."""

    def __init__(self, pool: Id, seq: int, last: list[sql.Rows]):
        self.pool, self.seq, self._last = pool, seq, last

    def write(
        self, account: Id | None, verb: str, kind: str, subject: Id, now: Instant,
        before: Any = None, after: Any = None,
    ) -> None:  # fmt: skip
        self.write_all(account, [Noted(verb, kind, subject, before, after)], now)

    def write_all(self, account: Id | None, notes: Iterable[Noted], now: Instant) -> None:
        """Many entries by one actor at one instant."""
        columns = (
            "id", "pool_id", "seq", "at", "account_id", "verb", "subject_kind", "subject", "before",
            "after",
        )  # fmt: skip
        start = (self.pool, self.seq, now, account)
        lines = [
            (new_id(), *start, n.verb, n.kind, n.subject, _text(n.before), _text(n.after))
            for n in notes
        ]
        self._last.append(("journal", columns, lines))

    def page(
        self, after: int = 0, limit: int = 100, kind: str | None = None, subject: Id | None = None
    ) -> list[Entry]:
        """Entries in order; of one subject when it is named."""
        text = f"SELECT {_ENTRY} FROM journal WHERE pool_id = ? AND id > ?"
        values: list[Any] = [self.pool, after]
        if kind is not None:
            text, values = f"{text} AND subject_kind = ?", [*values, kind]
        if subject is not None:
            text, values = f"{text} AND subject = ?", [*values, subject]
        found = sql.rows(f"{text} ORDER BY id LIMIT ?", *values, limit)
        return [_entry(row) for row in found]

    def since(self, seq: int, subjects: Sequence[Id]) -> list[Entry]:
        """Entries about any of these subjects that were written after the write `seq`, in order."""
        text = (
            f"SELECT {_ENTRY} FROM journal WHERE pool_id = ? AND seq > ?"
            f" AND subject IN ({sql.marks(subjects)}) ORDER BY seq, id"
        )
        return [_entry(row) for row in sql.rows(text, self.pool, seq, *subjects)]

    def newest_of_kit(self, kit_type: Id, limit: int = 1000) -> list[Entry]:
        """The last entries about a kit type, newest first."""
        text = (
            f"SELECT {_ENTRY} FROM journal WHERE pool_id = ? AND subject_kind = 'kit_type'"
            " AND subject = ? ORDER BY seq DESC, id DESC LIMIT ?"
        )
        return [_entry(row) for row in sql.rows(text, self.pool, kit_type, limit)]


def _entry(row: tuple[Any, ...]) -> Entry:
    return Entry(*row[:7], *(None if text is None else json.loads(text) for text in row[7:]))


def _text(value: Any) -> str | None:
    return None if value is None else dumps(value)


class Keys:
    """`last` as for the journal."""

    def __init__(self, pool: Id, last: list[sql.Rows]):
        self.pool, self._last = pool, last

    def find(self, owner: Id, key: str) -> tuple[str, Any] | None:
        """The body digest and the outcome stored under a key."""
        text = "SELECT body_digest, outcome FROM idempotency_key WHERE pool_id = ? AND owner = ? AND key = ?"
        found = sql.row(text, self.pool, owner, key)
        return (found[0], json.loads(found[1])) if found else None

    def keep(self, owner: Id, key: str, digest: str, outcome: Any, now: Instant) -> None:
        columns = ("id", "pool_id", "owner", "key", "body_digest", "outcome", "created_at")
        line = (new_id(), self.pool, owner, key, digest, dumps(outcome), now)
        self._last.append(("idempotency_key", columns, [line]))

    def is_any_old(self, now: Instant) -> bool:
        """Whether there are keys past their time."""
        text = "SELECT 1 FROM idempotency_key WHERE pool_id = ? AND created_at < ? LIMIT 1"
        return sql.row(text, self.pool, now - KEY_KEPT_S) is not None

    def forget(self, now: Instant) -> int:
        """Drop keys past their time; answers how many."""
        text = "DELETE FROM idempotency_key WHERE pool_id = ? AND created_at < ?"
        return int(sql.run(text, self.pool, now - KEY_KEPT_S).rowcount)
