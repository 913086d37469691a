"""Every operation of the interface, under requests that were made up: no 5xx, nothing undocumented."""

import re
import shutil
from collections import Counter
from itertools import cycle

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from asking import an_account
from crossload.app import create_app
from crossload.domain import ids
from crossload.domain.people import Role
from crossload.settings import read_settings
from crossload.storage.database import close_database
from crossload.usecases import bookings, tokens
from crossload.usecases.actor import Actor
from worlds import HOUR, NOW, a_world, an_ask

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
"""Not the check that valid shapes are accepted: rules refuse some that have the right shape."""

LEFT_OUT = ("/api/v1/session", "/api/v1/invitations/redeem", "/api/v1/accounts/own/password")
"""Signing in is throttled, and a new password ends the asker's own sessions: see test_session."""

ID = re.compile(f"[{ids.ALPHABET}]{{{ids.LENGTH}}}")
EXAMPLES = 12


class Asker:
    """Sends made-up requests as a coordinator; ids in them are mostly ids that there are."""

    def __init__(self, schema, token, known):
        self.schema, self.token = schema, token
        self.known = cycle(known)
        self.answered = Counter()
        self.broken = []

    def ask(self, case):
        case.headers = {**(case.headers or {}), "Authorization": f"Bearer {self.token}"}
        case.cookies = {}
        case.path_parameters = self._with_known(case.path_parameters)
        case.body = self._with_known(case.body)
        case.query = self._with_known(case.query)
        answer = case.call()
        self.answered[answer.status_code] += 1
        try:
            case.validate_response(answer, checks=CHECKS)
        except Exception as error:
            told = f"{case.method} {case.formatted_path}: {answer.status_code} {str(error)[:600]}"
            self.broken.append(told)

    def _with_known(self, value):
        if isinstance(value, dict):
            return {name: self._with_known(inner) for name, inner in value.items()}
        if isinstance(value, list):
            return [self._with_known(inner) for inner in value]
        if isinstance(value, str) and ID.fullmatch(value):
            return next(self.known)
        return value


@pytest.fixture
def asker(migrated_sqlite, tmp_path):
    """The interface over a small pool, asked by its coordinator."""
    shutil.copyfile(migrated_sqlite, tmp_path / "crossload.db")
    app = create_app(read_settings({}, data=tmp_path), lambda: NOW)
    world = a_world()
    counted = world.a_kit_type(count=8)
    serial = world.a_kit_type(pieces=3, substitutes=(counted.id,))
    world.a_shoot_day("second", NOW + HOUR, NOW + 9 * HOUR)
    booked = bookings.book(world.coordinator, an_ask(world, "main", (counted, 5)), now=NOW)
    account = an_account(world, "coordinator")
    actor = Actor(world.pool, Role.COORDINATOR, account.id)
    _, token = tokens.make_token(actor, "asker", now=NOW, key=None, digest="")
    known = [
        counted.id, serial.id, *world.units.values(), world.pieces(serial)[0].id,
        booked.booking.id, world.production,
    ]  # fmt: skip
    schema = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", app)
    yield Asker(schema, token, [ids.to_text(id) for id in known])
    close_database()


def test_no_made_up_request_breaks_the_service(asker):
    operations = [found.ok() for found in asker.schema.get_all_operations()]
    for operation in operations:
        if operation.path not in LEFT_OUT:
            _ask_often(asker, operation)
    assert asker.broken == []
    assert asker.answered[200] > 100, "requests that are answered were among them"
    assert asker.answered[422] > 100, "requests that break a rule were among them"
    assert asker.answered[401] == 0


def _ask_often(asker, operation):
    @settings(
        max_examples=EXAMPLES,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy())
    def once(case):
        asker.ask(case)

    once()
