"""The interface describes itself: OpenAPI 3.1, valid, and with a problem on every operation."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from asking import problem

METHODS = {"get", "put", "post", "delete", "patch"}


@pytest.fixture
def migrated_url(migrated_sqlite, tmp_path):
    """The description is the same on both kinds, so one will do."""
    copy = tmp_path / "crossload.db"
    copy.write_bytes(migrated_sqlite.read_bytes())
    return f"sqlite:///{copy}"


@pytest.fixture
def told(client) -> dict[str, Any]:
    answer = client.get("/api/v1/openapi.json")
    assert answer.status_code == 200
    assert answer.mimetype == "application/json"
    return answer.get_json()


def operations(told: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, item in told["paths"].items():
        for method in METHODS & set(item):
            yield path, method, item[method]


def test_it_is_valid_openapi_3_1(told):
    assert told["openapi"].startswith("3.1.")
    assert list(OpenAPIV31SpecValidator(told).iter_errors()) == []


def test_every_route_of_the_interface_is_described(app, told):
    served = {
        (str(rule), method.lower())
        for rule in app.url_map.iter_rules()
        if str(rule).startswith("/api/") and rule.endpoint != "api-docs.openapi_json"
        for method in rule.methods - {"HEAD", "OPTIONS"}
    }
    described = {(path, method) for path, method, _ in operations(told)}
    assert {(as_template(path), method) for path, method in served} == described


def as_template(rule: str) -> str:
    """`/a/<id:b>` as OpenAPI writes it, `/a/{b}`."""
    return "/".join(
        f"{{{part[1:-1].rpartition(':')[2]}}}" if part.startswith("<") else part
        for part in rule.split("/")
    )


def test_every_operation_documents_a_problem_for_all_that_is_refused(told):
    for path, method, operation in operations(told):
        default = operation["responses"]["default"]
        assert default == {"$ref": "#/components/responses/PROBLEM"}, (path, method)
    (media,) = told["components"]["responses"]["PROBLEM"]["content"]
    assert media == "application/problem+json"


def test_every_operation_says_what_it_does_and_what_it_answers(told):
    for path, method, operation in operations(told):
        assert operation["summary"].endswith("."), (path, method)
        assert {"200", "201", "204"} & set(operation["responses"]), (path, method)


def test_what_makes_something_asks_for_a_key_and_what_changes_something_for_a_version(told):
    asked = {
        (path, method): {
            parameter["name"]
            for parameter in operation.get("parameters", ())
            if parameter["in"] == "header"
        }
        for path, method, operation in operations(told)
    }
    for (path, method), headers in asked.items():
        if method == "patch":
            assert headers == {"If-Match"}, path
    assert asked["/api/v1/bookings", "post"] == {"Idempotency-Key"}
    assert asked["/api/v1/bookings/{booking}/confirm", "post"] == {"If-Match"}
    assert asked["/api/v1/judgements", "post"] == set()


PUBLIC = {
    ("/api/v1/health", "get"), ("/api/v1/session", "post"), ("/api/v1/demo-sign-ins", "get"),
    ("/api/v1/invitations/redeem", "post"),
}  # fmt: skip


def test_what_needs_no_sign_in_is_this_and_no_more(client, told):
    free = {
        (path, method)
        for path, method, operation in operations(told)
        if operation.get("security") == []
    }
    assert free == PUBLIC
    for path, method, _ in operations(told):
        address = re.sub(r"{\w+}", "0000000000001", path)
        if (path, method) not in PUBLIC:
            problem(client.open(address, method=method.upper()), 401, "not-signed-in")


def test_no_two_schemas_share_a_name_with_a_number_behind_it(told):
    names = set(told["components"]["schemas"])
    assert {name for name in names if name[-1].isdigit()} == set()


def test_the_description_is_the_same_each_time(client):
    first, second = (client.get("/api/v1/openapi.json").get_data() for _ in range(2))
    assert first == second
    assert json.loads(first)["info"]["title"] == "Crossload"
