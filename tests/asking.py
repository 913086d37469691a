"""What tests of the interface ask with: a clock, a client, accounts, and how to read a problem."""

from dataclasses import dataclass
from itertools import count
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from crossload.domain.people import Account, Role
from crossload.storage.ids import new_id
from crossload.usecases.transaction import write
from worlds import NOW, World

PASSWORD = "four words in a row"

_keys = count(1)


@dataclass
class Clock:
    """The app's clock: it stands still until a test sets it on."""

    now: int = NOW

    def __call__(self) -> int:
        return self.now

    def later(self, seconds: int) -> None:
        self.now += seconds


class Client(FlaskClient):
    """Flask's, which sends a new Idempotency-Key with each POST that has none of its own.

    It reads each answer to its end, as a browser does.
    """

    account: Account | None = None

    def open(self, *args: Any, **options: Any) -> TestResponse:
        if options.get("method") == "POST":
            fresh = {"Idempotency-Key": f'"test-{next(_keys)}"'}
            options["headers"] = fresh | dict(options.get("headers") or {})
        return super().open(*args, **{"buffered": True} | options)


def an_account(world: World, role: str, *units: str, **more: Any) -> Account:
    """An account in a world; without `password_hash` nobody can sign in to it with a password."""
    id = new_id()
    ids = tuple(world.units[unit] for unit in units)
    values: dict[str, Any] = {"login": f"{role}-{id}", "name": role.capitalize()} | more
    account = Account(id, role=Role(role), units=ids, **values)
    with write(world.pool, world.now) as stores:
        assert stores.accounts.add_new(account)
    return account


def problem(answer: TestResponse, status: int, slug: str) -> dict[str, Any]:
    """The body of an answer that must be this problem."""
    assert answer.status_code == status, answer.get_data(as_text=True)
    assert answer.mimetype == "application/problem+json"
    body: dict[str, Any] = answer.get_json(force=True)
    assert body["type"] == f"/problems/{slug}"
    assert body["status"] == status
    assert body["request_id"] == answer.headers["X-Request-Id"]
    return body
