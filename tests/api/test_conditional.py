"""Versions, keys and pages: If-Match, ETag, Idempotency-Key and Link."""

import re

import pytest

from asking import PASSWORD, an_account, problem
from crossload.domain import ids

TOKENS, ACCOUNTS = "/api/v1/tokens", "/api/v1/accounts"


@pytest.fixture
def tobin(coordinator, world) -> str:
    """The address of an account."""
    account = an_account(world, "mixer", "second", login="tobin", name="Tobin")
    return f"{ACCOUNTS}/{ids.to_text(account.id)}"


def rename(client, address, name, match):
    headers = {"If-Match": match} if match is not None else {}
    return client.patch(address, json={"name": name}, headers=headers)


def test_a_thing_carries_its_version_as_a_strong_etag(coordinator, tobin):
    assert coordinator.get(tobin).headers["ETag"] == '"1"'
    changed = rename(coordinator, tobin, "Tobin A", '"1"')
    assert changed.status_code == 200
    assert changed.headers["ETag"] == '"2"'
    assert coordinator.get(tobin).headers["ETag"] == '"2"'


def test_a_change_without_if_match_is_428_and_says_how(coordinator, tobin):
    answer = rename(coordinator, tobin, "Tobin A", None)
    told = problem(answer, 428, "no-if-match")
    assert "If-Match" in told["detail"]
    # RFC 6585 section 3: such an answer must not be stored by a cache.
    assert answer.headers["Cache-Control"] == "no-store"
    assert coordinator.get(tobin).get_json()["name"] == "Tobin"


STALE = {
    "an older version": '"1"',
    "a version to come": '"3"',
    # RFC 9110 section 8.8.3.2: W/"1" and "1" do not match strongly.
    "a weak tag of the version": 'W/"2"',
    "a tag that is no number": '"two"',
    "a number of many digits": f'"{"9" * 30}"',
    "the number without quotes": "2",
    "nothing in quotes": '""',
}


@pytest.mark.parametrize("match", STALE.values(), ids=STALE)
def test_a_change_to_another_version_is_412_and_changes_nothing(coordinator, tobin, match):
    rename(coordinator, tobin, "Tobin A", '"1"')
    problem(rename(coordinator, tobin, "Tobin B", match), 412, "stale")
    assert coordinator.get(tobin).get_json()["name"] == "Tobin A"


def test_a_star_matches_whatever_stands_there(coordinator, tobin):
    assert rename(coordinator, tobin, "Tobin A", "*").status_code == 200


def test_two_tags_are_400(coordinator, tobin):
    problem(rename(coordinator, tobin, "Tobin A", '"1", "2"'), 400, "bad-request")


def test_who_has_the_version_already_gets_304_without_a_body(coordinator, tobin):
    # RFC 9110 section 13.1.2: If-None-Match compares weakly.
    for tag in ('"1"', 'W/"1"', '"0", "1"', "*"):
        answer = coordinator.get(tobin, headers={"If-None-Match": tag})
        assert (answer.status_code, answer.get_data()) == (304, b"")
        assert answer.headers["ETag"] == '"1"'
    assert coordinator.get(tobin, headers={"If-None-Match": '"2"'}).status_code == 200


def test_making_without_a_key_is_400_and_makes_nothing(coordinator):
    answer = coordinator.post(TOKENS, json={"name": "a"}, headers={"Idempotency-Key": ""})
    told = problem(answer, 400, "no-key")
    assert "Idempotency-Key" in told["detail"]
    assert coordinator.get(TOKENS).get_json() == {"tokens": []}


@pytest.mark.parametrize("key", ['"a b"', f'"{"k" * 101}"', '""', '"caf\xe9"'])
def test_a_key_that_is_none_is_400(coordinator, key):
    answer = coordinator.post(TOKENS, json={"name": "a"}, headers={"Idempotency-Key": key})
    problem(answer, 400, "no-key")


def make(client, login, key):
    body = {"login": login, "role": "mixer"}
    return client.post(ACCOUNTS, json=body, headers={"Idempotency-Key": key})


def test_the_same_request_again_is_answered_the_same_and_makes_nothing_new(coordinator):
    first, second = make(coordinator, "tobin", '"k1"'), make(coordinator, "tobin", '"k1"')
    assert (first.status_code, second.status_code) == (201, 201)
    assert first.get_json() == second.get_json()
    assert len(coordinator.get(ACCOUNTS).get_json()["accounts"]) == 2


def test_a_key_without_quotes_is_the_same_key(coordinator):
    assert make(coordinator, "tobin", '"k1"').get_json() == (
        make(coordinator, "tobin", "k1").get_json()
    )


def test_a_key_with_another_body_is_422_and_makes_nothing(coordinator):
    make(coordinator, "tobin", '"k1"')
    problem(make(coordinator, "another", '"k1"'), 422, "key-reused")
    assert len(coordinator.get(ACCOUNTS).get_json()["accounts"]) == 2


def test_a_key_at_another_address_is_422(coordinator):
    make(coordinator, "tobin", '"k1"')
    answer = coordinator.post(TOKENS, json={"name": "a"}, headers={"Idempotency-Key": '"k1"'})
    problem(answer, 422, "key-reused")


def test_a_refusal_is_judged_afresh_under_its_key(coordinator, world):
    taken = an_account(world, "mixer", login="tobin")
    problem(make(coordinator, "tobin", '"k1"'), 422, "invalid")
    problem(make(coordinator, "tobin", '"k1"'), 422, "invalid")
    assert taken.login == "tobin"
    assert make(coordinator, "another", '"k1"').status_code == 201


def test_a_key_belongs_to_its_account(coordinator, signed_in):
    make(coordinator, "tobin", '"k1"')
    assert make(signed_in("coordinator"), "another", '"k1"').status_code == 201


def test_the_key_is_asked_for_before_the_body_is_read(coordinator):
    answer = coordinator.post(TOKENS, json={"nonsense": 1}, headers={"Idempotency-Key": ""})
    problem(answer, 400, "no-key")


def test_pages_lead_through_the_whole_list_once(coordinator, world):
    for number in range(6):
        an_account(world, "mixer", login=f"mixer-{number}")
    seen, address, pages = [], f"{ACCOUNTS}?limit=3", 0
    while address:
        answer = coordinator.get(address)
        seen += [account["login"] for account in answer.get_json()["accounts"]]
        pages += 1
        # RFC 8288 section 3: <target>; rel="next"
        link = re.fullmatch(r'<(/[^>]*)>; rel="next"', answer.headers.get("Link", ""))
        address = link[1] if link else None
        assert link is not None or "Link" not in answer.headers
    assert pages == 3
    assert len(seen) == len(set(seen)) == 7
    assert seen[1:] == [f"mixer-{number}" for number in range(6)]


def test_a_page_that_is_exactly_full_has_no_next(coordinator, world):
    an_account(world, "mixer")
    answer = coordinator.get(f"{ACCOUNTS}?limit=2")
    assert len(answer.get_json()["accounts"]) == 2
    assert "Link" not in answer.headers


def test_what_is_made_between_two_pages_shifts_nothing(coordinator, world):
    for number in range(3):
        an_account(world, "mixer", login=f"mixer-{number}")
    first = coordinator.get(f"{ACCOUNTS}?limit=2")
    an_account(world, "mixer", login="late")
    address = first.headers["Link"].partition("<")[2].partition(">")[0]
    second = coordinator.get(address.replace("limit=2", "limit=5")).get_json()["accounts"]
    assert [account["login"] for account in second] == ["mixer-1", "mixer-2", "late"]


def test_a_login_that_is_taken_in_another_pool_is_refused_by_name(coordinator):
    body = {"login": coordinator.account.login, "role": "mixer", "password": PASSWORD}
    told = problem(coordinator.post(ACCOUNTS, json=body), 422, "invalid")
    assert told["errors"] == [
        {"pointer": "#/login", "detail": "this sign-in name is taken: choose another"}
    ]


def test_the_last_coordinator_stays(coordinator):
    own = coordinator.get(ACCOUNTS).get_json()["accounts"][0]["id"]
    for body in ({"ended": True}, {"role": "mixer"}):
        answer = coordinator.patch(f"{ACCOUNTS}/{own}", json=body, headers={"If-Match": "*"})
        told = problem(answer, 409, "conflict")
        assert told["detail"] == "this is the pool's last coordinator: make another one first"
