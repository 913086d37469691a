"""People who use the interface over HTTP in tests: each has a token and remembers nothing else."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import quote
from uuid import uuid4

from flask.testing import FlaskClient

from asking import Clock, an_account
from crossload.domain import ids
from crossload.domain.people import Role
from crossload.usecases import tokens
from crossload.usecases.actor import Actor
from worlds import NOW, World, a_world


@dataclass
class Visitor:
    """Somebody with a token. Every answer is Flask's response."""

    client: FlaskClient
    secret: str

    def get(self, path: str, **headers: str):
        return self._send("GET", path, headers)

    def post(self, path: str, body: Any, key: str | None = None):
        return self._send("POST", path, {"Idempotency-Key": key or f'"{uuid4()}"'}, json=body)

    def patch(self, path: str, body: Any, match: object = "*"):
        header = match if match in ("*", "") else f'"{match}"'
        headers = {"If-Match": header} if header else {}
        return self._send("PATCH", path, headers, json=body)

    def made(self, path: str, **body: Any) -> dict[str, Any]:
        """Make one and answer it; fails where it is refused."""
        answer = self.post(path, body)
        assert answer.status_code == 201, answer.json
        return answer.json

    def changed(self, path: str, **body: Any) -> dict[str, Any]:
        """Change one, whatever version it has, and answer it."""
        answer = self.patch(path, body)
        assert answer.status_code == 200, answer.json
        return answer.json

    def read(self, path: str) -> dict[str, Any]:
        answer = self.get(path)
        assert answer.status_code == 200, answer.json
        return answer.json

    def scan(self, code: str):
        return self.get(f"/scan/{quote(code, safe='')}")

    def _send(self, method: str, path: str, headers: dict[str, str], **more: Any):
        headers = {"Authorization": f"Bearer {self.secret}", **headers}
        return self.client.open(f"/api/v1{path}", method=method, headers=headers, **more)


@dataclass
class House:
    """A pool over HTTP, with somebody in each role; `world` builds what the tests need in it."""

    world: World
    client: FlaskClient
    clock: Clock

    def visitor(self, role: Role, *units: str) -> Visitor:
        account = an_account(self.world, role, *units)
        actor = Actor(self.world.pool, role, account.id, account.units)
        return Visitor(self.client, tokens.make_token(actor, "test", now=NOW)[1])

    @property
    def coordinator(self) -> Visitor:
        return self.visitor(Role.COORDINATOR)

    def another(self) -> "House":
        """Another pool behind the same address."""
        return House(a_world(), self.client, self.clock)


def refusal(answer, status: int, pointer: str | None = None) -> str:
    """The detail of a problem, which must have this status and point at this place."""
    assert answer.status_code == status, (answer.status_code, answer.json)
    assert answer.mimetype == "application/problem+json"
    if pointer is not None:
        assert pointer in [error["pointer"] for error in answer.json["errors"]], answer.json
    return answer.json["detail"]


text_id = ids.to_text
