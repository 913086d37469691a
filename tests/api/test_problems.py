"""Every error is a problem (RFC 9457), and bad input of every kind gets its status and a sentence."""

import json

import pytest
from flask import Response
from werkzeug.exceptions import ServiceUnavailable

from asking import problem
from crossload.api import problems
from crossload.api.json_text import DEEPEST
from crossload.api.problem_kinds import KINDS
from crossload.api.session import public
from crossload.storage.database import open_database
from crossload.usecases import errors

SESSION, TOKENS, ACCOUNTS = "/api/v1/session", "/api/v1/tokens", "/api/v1/accounts"
JSON = {"Content-Type": "application/json"}


def test_a_problem_has_the_members_of_rfc_9457_and_a_request_id(client, world):
    answer = client.get(ACCOUNTS)
    told = problem(answer, 401, "not-signed-in")
    # RFC 9457 section 3.1: type, title, status, detail, instance.
    assert list(told) == ["type", "title", "status", "detail", "instance", "request_id"]
    assert told["instance"] == ACCOUNTS
    assert told["title"] == "Nobody is signed in"
    assert len(told["request_id"]) == 16
    assert answer.headers["Cache-Control"] == "no-store"


def test_two_requests_have_two_ids(client, world):
    assert (
        client.get(ACCOUNTS).get_json(force=True)["request_id"]
        != (client.get(ACCOUNTS).get_json(force=True)["request_id"])
    )


MALFORMED = {
    "half an object": (b'{"name": ', "the body is not JSON: "),
    "nothing but spaces": (b"   ", "the body is empty: send JSON"),
    "not UTF-8": (b'{"name": "\xe9"}', "the body is not UTF-8 at byte 10: send UTF-8"),
    "UTF-16": ('{"name": "a"}'.encode("utf-16"), "the body is not UTF-8 at byte 0: send UTF-8"),
    "a name twice": (b'{"name": "a", "name": "b"}', "'name' stands twice in one object"),
    "NaN": (b'{"name": NaN}', "NaN is no JSON number: send null for what is unknown"),
    "Infinity": (b'{"name": -Infinity}', "-Infinity is no JSON number"),
    "a float that overflows": (b'{"name": 1e999}', "a number in the body is too large"),
    "a number of 5,000 digits": (b'{"name": %s}' % (b"9" * 5000), "a number in the body has more"),
    "deep lists": (b"[" * 100_000 + b"]" * 100_000, f"the JSON nests deeper than {DEEPEST}"),
    "deep objects": (
        b'{"a":' * (DEEPEST + 1) + b"1" + b"}" * (DEEPEST + 1),
        f"the JSON nests deeper than {DEEPEST}",
    ),
    "a byte order mark": ('\ufeff{"name": "a"}'.encode(), "the body is not JSON: "),
}


@pytest.mark.parametrize(("raw", "sentence"), MALFORMED.values(), ids=MALFORMED)
def test_json_that_cannot_be_read_is_400_with_what_to_mend(signed_in, raw, sentence):
    client = signed_in("coordinator")
    told = problem(client.post(TOKENS, data=raw, headers=JSON), 400, "bad-request")
    assert told["detail"].startswith(sentence)
    assert client.get(TOKENS).get_json() == {"tokens": []}


NO_OBJECT = {"a list": [], "text": "name", "a number": 1, "null": None, "true": True}


@pytest.mark.parametrize("body", NO_OBJECT.values(), ids=NO_OBJECT)
def test_json_that_is_no_object_is_422(signed_in, body):
    answer = signed_in("coordinator").post(TOKENS, data=json.dumps(body), headers=JSON)
    told = problem(answer, 422, "invalid")
    assert told["errors"] == [{"pointer": "#", "detail": "an object belongs here"}]


def test_json_may_nest_as_deep_as_the_limit(signed_in):
    deep = b'{"name":' + b"[" * (DEEPEST - 1) + b"]" * (DEEPEST - 1) + b"}"
    told = problem(signed_in("coordinator").post(TOKENS, data=deep, headers=JSON), 422, "invalid")
    assert told["errors"] == [{"pointer": "#/name", "detail": "text belongs here"}]


WRONG_NAMES = {
    "a number": (1, "text belongs here"),
    "null": (None, "this cannot be null"),
    "an object": ({"a": 1}, "text belongs here"),
    "empty": ("", "this is empty: the least is 1"),
    "nothing but spaces": (" \t", "this is empty: the least is 1"),
    "too long": ("x" * 101, "this has 101 characters: the most is 100"),
    "NUL": ("a\0b", "this holds a control character: write it again without"),
    "an escape character": ("a\x1b[31m", "this holds a control character: write it again without"),
    "two lines": ("a\nb", "this holds a control character: write it again without"),
    "a lone surrogate": (
        "a\ud800",
        "this holds half a character (a lone surrogate): write it anew",
    ),
}


@pytest.mark.parametrize(("name", "sentence"), WRONG_NAMES.values(), ids=WRONG_NAMES)
def test_text_that_cannot_be_kept_is_422_and_pointed_at(signed_in, name, sentence):
    client = signed_in("coordinator")
    answer = client.post(TOKENS, data=json.dumps({"name": name}), headers=JSON)
    told = problem(answer, 422, "invalid")
    assert told["errors"] == [{"pointer": "#/name", "detail": sentence}]
    assert told["detail"] == sentence
    assert client.get(TOKENS).get_json() == {"tokens": []}


HOSTILE = {
    "SQL": "'); DROP TABLE account; --",
    "script": "<script>alert(1)</script>",
    "format": "%s {0} ${x}",
    "right to left": "\u202eabc",
    "beyond the first plane": "🎧 mixer",
    "a composed letter": "Zoe\u0308",
}


@pytest.mark.parametrize("name", HOSTILE.values(), ids=HOSTILE)
def test_hostile_text_is_kept_as_text(signed_in, name):
    client = signed_in("coordinator")
    assert client.post(TOKENS, json={"name": name}).status_code == 201
    answer = client.get(TOKENS)
    assert answer.mimetype == "application/json"
    kept = answer.get_json()["tokens"][0]["name"]
    assert kept == ("Zo\u00eb" if name.startswith("Zoe") else name)


def test_several_wrong_fields_are_all_pointed_at(signed_in):
    body = {"login": 1, "role": "king", "unit_ids": ["x", 2], "admin": True}
    told = problem(signed_in("coordinator").post(ACCOUNTS, json=body), 422, "invalid")
    assert {entry["pointer"]: entry["detail"] for entry in told["errors"]} == {
        "#/login": "text belongs here",
        "#/role": "this is one of coordinator, mixer, assistant, supervisor",
        "#/unit_ids/0": "an id is 13 characters of 0-9 and a-z without i, l, o and u",
        "#/unit_ids/1": "an id belongs here, as text",
        "#/admin": "there is no field of this name here",
    }


def test_a_field_with_a_slash_in_its_name_is_pointed_at_as_rfc_6901_has_it(signed_in):
    body = {"name": "a", "m/n": 1, "m~n": 2}
    told = problem(signed_in("coordinator").post(TOKENS, json=body), 422, "invalid")
    # RFC 6901 sections 3 and 5: "/" is ~1, "~" is ~0.
    assert {entry["pointer"] for entry in told["errors"]} == {"#/m~1n", "#/m~0n"}


def test_an_answer_stays_small_however_much_is_wrong(signed_in):
    body = {"name": "a"} | {f"{index}{'x' * 2000}": 1 for index in range(200)}
    answer = signed_in("coordinator").post(TOKENS, json=body)
    told = problem(answer, 422, "invalid")
    assert len(told["errors"]) == problems.MOST_ERRORS
    assert answer.content_length < 100_000


def test_another_pools_unit_is_422_and_pointed_at(signed_in, world):
    body = {"login": "tobin", "role": "mixer", "unit_ids": ["0000000000001"]}
    told = problem(signed_in("coordinator").post(ACCOUNTS, json=body), 422, "invalid")
    assert told["errors"] == [
        {"pointer": "#/unit_ids/0", "detail": "this pool has no such unit"},
    ]


QUERIES = {
    "words": ("limit=many", "limit", "a whole number belongs here"),
    "none": ("limit=0", "limit", "this is 1 to 500"),
    "huge": ("limit=99999999999999999999", "limit", "a whole number belongs here"),
    "a fraction": ("limit=1.5", "limit", "a whole number belongs here"),
    "other digits": ("limit=%D9%A3", "limit", "a whole number belongs here"),
    "no id": ("after=1", "after", "an id is 13 characters of 0-9 and a-z without i, l, o and u"),
    "an unknown one": ("colour=red", "colour", "there is no field of this name here"),
}


@pytest.mark.parametrize(("query", "name", "sentence"), QUERIES.values(), ids=QUERIES)
def test_a_wrong_parameter_is_422_and_named(signed_in, query, name, sentence):
    told = problem(signed_in("coordinator").get(f"{ACCOUNTS}?{query}"), 422, "invalid")
    assert told["errors"] == [{"parameter": name, "detail": sentence}]


def test_a_body_past_the_limit_is_413_and_told_the_limit(signed_in, settings):
    body = {"name": "x" * settings.most_body_bytes}
    told = problem(signed_in("coordinator").post(TOKENS, json=body), 413, "too-large")
    assert told["detail"] == f"the body is larger than {settings.most_body_bytes} bytes"


@pytest.mark.parametrize("type", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_what_is_not_called_json_is_415(signed_in, type):
    client = signed_in("coordinator")
    answer = client.post(TOKENS, data=b'{"name": "a"}', headers={"Content-Type": type})
    told = problem(answer, 415, "wrong-media-type")
    assert told["detail"] == "JSON belongs here: send Content-Type application/json"


def test_a_missing_body_is_422(signed_in):
    told = problem(signed_in("coordinator").post(TOKENS), 422, "invalid")
    assert told["errors"] == [{"pointer": "#/name", "detail": "this is missing"}]


def test_another_method_is_405_with_those_that_are_taken(signed_in):
    answer = signed_in("coordinator").put(TOKENS, json={})
    told = problem(answer, 405, "method-not-allowed")
    allowed = {"GET", "HEAD", "OPTIONS", "POST"}
    assert set(answer.headers["Allow"].split(", ")) == allowed
    assert told["detail"] == "this address does not take PUT: it takes GET, HEAD, OPTIONS, POST"


NOWHERE = ["/api/v1/nothing", "/nothing", "/api/v1/tokens/0", "/web/nothing.js", "/../etc/passwd"]


@pytest.mark.parametrize("path", NOWHERE)
def test_an_unknown_address_is_404(signed_in, path):
    told = problem(signed_in("coordinator").delete(path), 404, "not-found")
    assert told["detail"] == "there is nothing at this address"


@pytest.mark.parametrize("host", ["elsewhere.example", "localhost.elsewhere.example", "a b", "["])
def test_a_request_for_another_host_is_400(client, host):
    told = problem(client.get(SESSION, headers={"Host": host}), 400, "bad-request")
    said = "this service does not answer to that host name: see CROSSLOAD_TRUSTED_HOSTS"
    assert told["detail"] == said


def test_a_failure_is_500_and_tells_nothing_of_the_inside(app, capfd):
    @public
    def fail():
        raise ZeroDivisionError("the secret is 42")

    app.add_url_rule("/api/v1/fail", view_func=fail)
    told = problem(app.test_client().get("/api/v1/fail"), 500, "failed")
    assert told["detail"] == "the service failed; nothing was changed"
    logged = capfd.readouterr()
    assert told["request_id"] in logged.out + logged.err
    assert "the secret is 42" in logged.out + logged.err


def test_a_failure_says_on_the_page_of_its_type_that_nothing_changed(client):
    assert "Nothing was changed" in client.get("/problems/failed").get_data(as_text=True)


def test_headers_that_came_with_an_error_stay_on_the_problem(app):
    @public
    def away():
        raise ServiceUnavailable("a moment", retry_after=7)

    app.add_url_rule("/api/v1/away", view_func=away)
    answer = app.test_client().get("/api/v1/away")
    problem(answer, 503, "unavailable")
    assert answer.headers["Retry-After"] == "7"


def test_a_database_that_does_not_answer_is_503_and_says_when_to_come_again(app, client):
    open_database("postgresql://nobody@127.0.0.1:9/nothing")  # the discard port: nobody listens
    answer = client.get("/api/v1/health")
    told = problem(answer, 503, "unavailable")
    assert told["detail"] == "the database did not answer; nothing was changed"
    assert answer.headers["Retry-After"] == "2"
    problem(client.get("/api/v1/health"), 503, "unavailable")


def test_a_use_cases_refusal_keeps_its_own_members(app):
    @public
    def refuse() -> Response:
        raise errors.Conflict("no", kind="short", short=[{"by": 1}], options=[])

    app.add_url_rule("/api/v1/refuse", view_func=refuse)
    told = problem(app.test_client().get("/api/v1/refuse"), 409, "short")
    assert (told["short"], told["options"]) == ([{"by": 1}], [])


def test_every_refusal_of_the_use_cases_has_a_problem(app):
    kinds = errors.Refusal.__subclasses__()
    assert kinds
    made = {
        errors.NotFound: errors.NotFound("thing"),
        errors.Stale: errors.Stale("thing"),
        errors.Invalid: errors.Invalid([("/a", "no")]),
        errors.KeyReused: errors.KeyReused(),
        errors.TooManyTries: errors.TooManyTries(60),
    }
    with app.test_request_context():
        for kind in kinds:
            told = problems.of_refusal(made[kind] if kind in made else kind("no"))
            assert told.kind.slug in KINDS
            assert 400 <= told.status < 500


@pytest.mark.parametrize("slug", KINDS)
def test_every_type_has_a_page_that_says_what_to_do(client, slug):
    answer = client.get(f"/problems/{slug}")
    assert answer.status_code == 200
    assert answer.mimetype == "text/html"
    text = answer.get_data(as_text=True)
    assert f"<h1>{KINDS[slug].title}</h1>" in text.replace("&#x27;", "'")
    assert str(KINDS[slug].status) in text


def test_an_unknown_type_has_none(client):
    problem(client.get("/problems/nothing"), 404, "not-found")
