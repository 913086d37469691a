"""Who one is over HTTP: sessions, tokens, wall links, the demo's doors, other sites' pages."""

import pytest

from asking import PASSWORD, an_account, problem
from crossload.api.session import COOKIE
from crossload.usecases import passwords, throttle
from crossload.usecases.transaction import write
from worlds import DAY, a_world

SESSION = "/api/v1/session"
KNOWN = {"login": "maud", "password": PASSWORD}


@pytest.fixture(scope="module")
def kept() -> str:
    return passwords.make_hash(PASSWORD)


@pytest.fixture
def maud(world, kept):
    return an_account(world, "mixer", "main", login="maud", name="Maud", password_hash=kept)


def cookie_of(answer) -> dict[str, str | bool]:
    name, *attributes = answer.headers["Set-Cookie"].split("; ")
    told = dict(part.partition("=")[::2] for part in attributes)
    return {"name": name.partition("=")[0]} | told


def test_a_name_and_its_password_sign_in(client, world, maud):
    answer = client.post(SESSION, json=KNOWN)
    assert answer.status_code == 201
    body = answer.get_json()
    assert body["account"]["login"] == "maud"
    assert body["account"]["role"] == "mixer"
    assert [unit["name"] for unit in body["units"]] == ["main", "second", "splinter"]
    assert len(body["account"]["unit_ids"]) == 1
    assert body["pool"]["zone"] == "Europe/London"
    assert client.get(SESSION).get_json()["account"] == body["account"]


def test_a_name_is_taken_in_any_case(client, maud):
    assert client.post(SESSION, json=KNOWN | {"login": "MAUD"}).status_code == 201


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites(client, maud):
    told = cookie_of(client.post(SESSION, json=KNOWN))
    assert told["name"] == COOKIE
    assert "HttpOnly" in told
    assert told["SameSite"] == "Lax"
    assert told["Path"] == "/"
    assert "Secure" not in told  # plain HTTP on the machine itself


def test_the_cookie_goes_over_https_alone_where_the_name_is_not_this_machines(app, maud):
    app.config["TRUSTED_HOSTS"] = ["board.example.org"]
    client = app.test_client()
    answer = client.post(SESSION, json=KNOWN, base_url="https://board.example.org")
    assert "Secure" in cookie_of(answer)
    assert "max-age" in answer.headers["Strict-Transport-Security"]


@pytest.mark.parametrize(
    "body",
    [KNOWN | {"password": "four words in a ro"}, KNOWN | {"login": "nobody"}],
    ids=["wrong password", "unknown name"],
)
def test_what_does_not_belong_together_is_401_in_the_same_words(client, maud, body):
    answer = client.post(SESSION, json=body)
    told = problem(answer, 401, "not-signed-in")
    assert told["detail"] == "this name and password do not belong together: check both"
    assert answer.headers["WWW-Authenticate"] == 'Bearer realm="crossload"'
    assert "Set-Cookie" not in answer.headers


def test_an_ended_account_cannot_sign_in(client, world, kept):
    an_account(world, "mixer", login="maud", password_hash=kept, ended_at=world.now)
    problem(client.post(SESSION, json=KNOWN), 401, "not-signed-in")


def test_after_ten_wrong_tries_a_name_waits_and_is_told_how_long(client, clock, maud):
    wrong = KNOWN | {"password": "guess"}
    for _ in range(throttle.MOST_OF_A_LOGIN):
        problem(client.post(SESSION, json=wrong), 401, "not-signed-in")
    clock.later(60)
    answer = client.post(SESSION, json=KNOWN)
    told = problem(answer, 429, "too-many-tries")
    assert answer.headers["Retry-After"] == str(throttle.WINDOW_S - 60)
    assert told["detail"] == "too many failed sign-ins: wait 14 minutes, then try again"
    clock.later(throttle.WINDOW_S - 60)
    assert client.post(SESSION, json=KNOWN).status_code == 201


def test_nobody_is_401_and_told_how_to_come_in(client, world):
    answer = client.get(SESSION)
    told = problem(answer, 401, "not-signed-in")
    assert told["detail"] == "nobody is signed in: sign in first"
    assert answer.headers["WWW-Authenticate"] == 'Bearer realm="crossload"'


def test_a_wrong_token_is_told_so_as_rfc_6750_has_it(client, world):
    answer = client.get(SESSION, headers={"Authorization": "Bearer clt_unknown"})
    problem(answer, 401, "not-signed-in")
    # RFC 6750 section 3: error="invalid_token" where a token came and is not valid.
    assert answer.headers["WWW-Authenticate"] == 'Bearer realm="crossload", error="invalid_token"'


def test_another_scheme_than_bearer_is_401(client, world):
    problem(client.get(SESSION, headers={"Authorization": "Basic bWF1ZDp4"}), 401, "not-signed-in")


def test_signing_out_ends_the_session_wherever_its_cookie_is(app, client, maud):
    client.post(SESSION, json=KNOWN)
    secret = client.get_cookie(COOKIE).value
    assert client.delete(SESSION).status_code == 204
    assert client.get_cookie(COOKIE) is None
    thief = app.test_client()
    thief.set_cookie(COOKIE, secret)
    problem(thief.get(SESSION), 401, "not-signed-in")


def test_a_session_runs_out(signed_in, clock):
    client = signed_in("coordinator")
    clock.later(7 * DAY - 1)
    assert client.get(SESSION).status_code == 200
    clock.later(1)
    told = problem(client.get(SESSION), 401, "not-signed-in")
    assert told["detail"] == "this sign-in has run out: sign in again"


def test_a_mixers_session_grows_with_the_shoot_and_its_cookie_too(signed_in, world, clock):
    world.a_shoot_day("main", world.now + 3600, world.now + 7200)
    client = signed_in("mixer", "second")
    world.a_shoot_day("main", world.now + 20 * DAY, world.now + 20 * DAY + 3600, number=2)
    answer = client.get(SESSION)
    assert answer.get_json()["expires_at"].startswith("2026-12-16T00:00:00")
    assert int(cookie_of(answer)["Max-Age"]) > 20 * DAY
    assert "Set-Cookie" not in client.get(SESSION).headers
    clock.later(20 * DAY)
    assert client.get(SESSION).status_code == 200


def test_a_token_is_shown_once_and_does_what_its_account_may(app, signed_in):
    supervisor = signed_in("supervisor")
    made = supervisor.post("/api/v1/tokens", json={"name": "night script"}).get_json()
    listed = supervisor.get("/api/v1/tokens").get_json()["tokens"]
    assert [token["name"] for token in listed] == ["night script"]
    assert "token" not in listed[0]
    bearer = {"Authorization": f"Bearer {made['token']}"}
    program = app.test_client()
    assert program.get(SESSION, headers=bearer).get_json()["account"]["role"] == "supervisor"
    problem(program.get("/api/v1/accounts", headers=bearer), 403, "forbidden")
    assert supervisor.delete(f"/api/v1/tokens/{made['id']}").status_code == 204
    problem(program.get(SESSION, headers=bearer), 401, "not-signed-in")


def test_a_secret_is_not_shown_again_when_the_request_comes_again(signed_in):
    client = signed_in("coordinator")
    key = {"Idempotency-Key": '"one"'}
    assert client.post("/api/v1/tokens", json={"name": "a"}, headers=key).status_code == 201
    problem(client.post("/api/v1/tokens", json={"name": "a"}, headers=key), 409, "shown-once")
    assert len(client.get("/api/v1/tokens").get_json()["tokens"]) == 1


def test_a_wall_reads_by_its_link_and_changes_nothing(app, signed_in):
    coordinator = signed_in("coordinator")
    made = coordinator.post("/api/v1/wall-links", json={"name": "truck"}).get_json()
    page, _, secret = made["url"].partition("#")
    assert page == "/wall"
    wall, bearer = app.test_client(), {"Authorization": f"Bearer {secret}"}
    account = wall.get(SESSION, headers=bearer).get_json()["account"]
    assert (account["role"], account["name"], account["id"]) == ("wall", "truck", None)
    told = problem(
        wall.post("/api/v1/tokens", json={"name": "a"}, headers=bearer), 403, "forbidden"
    )
    assert told["detail"] == 'a wall may not "make tokens": ask the coordinator'
    problem(wall.delete(SESSION, headers=bearer), 403, "forbidden")
    assert wall.get(SESSION, headers=bearer).status_code == 200
    assert coordinator.delete(f"/api/v1/wall-links/{made['id']}").status_code == 204
    problem(wall.get(SESSION, headers=bearer), 401, "not-signed-in")


def test_a_secret_in_the_cookie_is_no_wall_link_and_in_bearer_no_session(app, signed_in):
    coordinator = signed_in("coordinator")
    url = coordinator.post("/api/v1/wall-links", json={"name": "truck"}).get_json()["url"]
    other = app.test_client()
    other.set_cookie(COOKIE, url.partition("#")[2])
    problem(other.get(SESSION), 401, "not-signed-in")
    session = coordinator.get_cookie(COOKIE).value
    bearer = {"Authorization": f"Bearer {session}"}
    problem(app.test_client().get(SESSION, headers=bearer), 401, "not-signed-in")


def test_an_ended_account_is_out_at_once_and_its_tokens_too(app, signed_in):
    coordinator, mixer = signed_in("coordinator"), signed_in("mixer", "main")
    token = mixer.post("/api/v1/tokens", json={"name": "a"}).get_json()["token"]
    accounts = coordinator.get("/api/v1/accounts").get_json()["accounts"]
    id = next(account["id"] for account in accounts if account["login"] == mixer.account.login)
    match = {"If-Match": '"1"'}
    ended = coordinator.patch(f"/api/v1/accounts/{id}", json={"ended": True}, headers=match)
    assert ended.status_code == 200
    problem(mixer.get(SESSION), 401, "not-signed-in")
    bearer = {"Authorization": f"Bearer {token}"}
    problem(app.test_client().get(SESSION, headers=bearer), 401, "not-signed-in")


def test_a_changed_role_holds_at_once(signed_in):
    coordinator, mixer = signed_in("coordinator"), signed_in("mixer")
    problem(mixer.get("/api/v1/accounts"), 403, "forbidden")
    listed = coordinator.get("/api/v1/accounts").get_json()["accounts"]
    id = next(account["id"] for account in listed if account["login"] == mixer.account.login)
    coordinator.patch(
        f"/api/v1/accounts/{id}", json={"role": "coordinator"}, headers={"If-Match": "*"}
    )
    assert mixer.get("/api/v1/accounts").status_code == 200


def test_signed_out_everywhere_by_the_coordinator(signed_in):
    coordinator, mixer = signed_in("coordinator"), signed_in("mixer")
    listed = coordinator.get("/api/v1/accounts").get_json()["accounts"]
    id = next(account["id"] for account in listed if account["login"] == mixer.account.login)
    assert coordinator.delete(f"/api/v1/accounts/{id}/sessions").status_code == 204
    problem(mixer.get(SESSION), 401, "not-signed-in")
    problem(mixer.delete(f"/api/v1/accounts/{id}/sessions"), 401, "not-signed-in")


def test_what_belongs_to_another_pool_is_not_found(signed_in):
    elsewhere = a_world()
    theirs = signed_in("coordinator", of=elsewhere)
    token = theirs.post("/api/v1/tokens", json={"name": "theirs"}).get_json()["id"]
    account = theirs.get("/api/v1/accounts").get_json()["accounts"][0]["id"]
    ours = signed_in("coordinator")
    problem(ours.delete(f"/api/v1/tokens/{token}"), 404, "not-found")
    problem(ours.get(f"/api/v1/accounts/{account}"), 404, "not-found")
    assert theirs.get("/api/v1/tokens").get_json()["tokens"]


def test_an_invitation_makes_one_account_and_signs_it_in(app, signed_in, client):
    coordinator = signed_in("coordinator")
    units = coordinator.get(SESSION).get_json()["units"]
    asked = {"role": "mixer", "unit_ids": [units[1]["id"]], "name": "Tobin"}
    url = coordinator.post("/api/v1/invitations", json=asked).get_json()["url"]
    page, _, secret = url.partition("#")
    assert page == "/welcome"
    body = {"token": secret, "login": "tobin", "name": "Tobin", "password": PASSWORD}
    answer = client.post("/api/v1/invitations/redeem", json=body)
    assert answer.status_code == 201
    assert answer.get_json()["account"]["unit_ids"] == [units[1]["id"]]
    assert client.get(SESSION).status_code == 200
    again = body | {"login": "another"}
    told = problem(
        app.test_client().post("/api/v1/invitations/redeem", json=again), 404, "not-found"
    )
    assert told["detail"] == "this link has been used or is over: ask for a new one"
    assert client.post(SESSION, json={"login": "tobin", "password": PASSWORD}).status_code == 201


def test_an_invitation_that_was_refused_can_be_taken_up_still(signed_in, client):
    coordinator = signed_in("coordinator")
    url = coordinator.post("/api/v1/invitations", json={}).get_json()["url"]
    body = {"token": url.partition("#")[2], "login": "tobin", "password": "short"}
    told = problem(client.post("/api/v1/invitations/redeem", json=body), 422, "invalid")
    assert told["errors"][0]["pointer"] == "#/password"
    assert told["detail"] == "a password has 15 characters at least: four words in a row do"
    taken = body | {"password": PASSWORD, "login": coordinator.account.login}
    told = problem(client.post("/api/v1/invitations/redeem", json=taken), 422, "invalid")
    assert told["errors"][0]["pointer"] == "#/login"
    body["password"] = PASSWORD
    assert client.post("/api/v1/invitations/redeem", json=body).status_code == 201


def test_an_invitation_runs_out(signed_in, client, clock):
    url = signed_in("coordinator").post("/api/v1/invitations", json={}).get_json()["url"]
    clock.later(7 * DAY)
    body = {"token": url.partition("#")[2], "login": "tobin", "password": PASSWORD}
    problem(client.post("/api/v1/invitations/redeem", json=body), 404, "not-found")


def test_a_new_password_ends_the_other_sessions(app, client, maud):
    client.post(SESSION, json=KNOWN)
    other = app.test_client()
    other.post(SESSION, json=KNOWN)
    body = {"current_password": PASSWORD, "password": "another four words"}
    assert client.put("/api/v1/accounts/own/password", json=body).status_code == 204
    assert client.get(SESSION).status_code == 200
    problem(other.get(SESSION), 401, "not-signed-in")


def test_a_session_left_open_is_no_way_to_guess_the_password(client, maud):
    client.post(SESSION, json=KNOWN)
    body = {"current_password": "guess", "password": "another four words"}
    for _ in range(throttle.MOST_OF_A_LOGIN):
        problem(client.put("/api/v1/accounts/own/password", json=body), 422, "invalid")
    answer = client.put("/api/v1/accounts/own/password", json=body)
    problem(answer, 429, "too-many-tries")


CROSS = {
    "another site": {"Sec-Fetch-Site": "cross-site"},
    "a sister site": {"Sec-Fetch-Site": "same-site"},
    "an old browser's Origin": {"Origin": "https://elsewhere.example"},
    "a page without origin": {"Origin": "null"},
    "the same name on another port": {"Origin": "http://localhost:9999"},
}


@pytest.mark.parametrize("headers", CROSS.values(), ids=CROSS)
def test_a_write_from_another_sites_page_is_refused(signed_in, headers):
    client = signed_in("coordinator")
    answer = client.post("/api/v1/tokens", json={"name": "a"}, headers=headers)
    problem(answer, 403, "cross-site")
    assert client.get("/api/v1/tokens").get_json() == {"tokens": []}
    assert client.get(SESSION, headers=headers).status_code == 200


OWN = {
    "the board": {"Sec-Fetch-Site": "same-origin"},
    "typed by hand": {"Sec-Fetch-Site": "none"},
    "an old browser": {"Origin": "http://localhost"},
    "no browser": {},
}


@pytest.mark.parametrize("headers", OWN.values(), ids=OWN)
def test_a_write_from_the_board_or_from_no_browser_is_taken(signed_in, headers):
    answer = signed_in("coordinator").post("/api/v1/tokens", json={"name": "a"}, headers=headers)
    assert answer.status_code == 201


def test_a_token_is_taken_whatever_page_it_comes_from(app, signed_in):
    token = signed_in("coordinator").post("/api/v1/tokens", json={"name": "a"}).get_json()["token"]
    headers = {"Authorization": f"Bearer {token}", "Sec-Fetch-Site": "cross-site"}
    answer = app.test_client().post("/api/v1/tokens", json={"name": "b"}, headers=headers)
    assert answer.status_code == 201


def test_another_sites_page_cannot_sign_anybody_in(client, maud):
    answer = client.post(SESSION, json=KNOWN, headers={"Sec-Fetch-Site": "cross-site"})
    problem(answer, 403, "cross-site")


@pytest.fixture
def demo(world):
    with write(world.pool, world.now) as stores:
        stores.own_pool.change(None, demo=True)
    return an_account(world, "coordinator", login="ines", name="Ines", demo=True)


def test_on_the_machine_itself_the_demos_people_come_in_without_a_password(client, demo):
    listed = client.get("/api/v1/demo-sign-ins").get_json()["sign_ins"]
    assert listed == [{"login": "ines", "name": "Ines", "role": "coordinator", "unit": None}]
    answer = client.post(SESSION, json={"demo": "ines"})
    assert answer.status_code == 201
    assert client.get(SESSION).get_json()["account"]["login"] == "ines"


FROM_AFAR = {
    "another machine": {"environ_overrides": {"REMOTE_ADDR": "192.0.2.7"}},
    "through a proxy": {"headers": {"X-Forwarded-For": "192.0.2.7"}},
    "through a proxy that says Forwarded": {"headers": {"Forwarded": "for=192.0.2.7"}},
    "through a proxy that says Via": {"headers": {"Via": "1.1 proxy"}},
}


@pytest.mark.parametrize("how", FROM_AFAR.values(), ids=FROM_AFAR)
def test_from_anywhere_else_the_demos_doors_are_not_there(client, demo, how):
    problem(client.get("/api/v1/demo-sign-ins", **how), 404, "not-found")
    problem(client.post(SESSION, json={"demo": "ines"}, **how), 404, "not-found")


def test_a_name_that_was_pointed_at_this_machine_opens_no_demo_door(app, demo):
    app.config["TRUSTED_HOSTS"] = None
    answer = app.test_client().get("/api/v1/demo-sign-ins", base_url="http://rebound.example")
    problem(answer, 404, "not-found")


def test_an_account_that_is_not_the_demos_has_no_such_door(client, demo, world):
    an_account(world, "coordinator", login="real")
    problem(client.post(SESSION, json={"demo": "real"}), 401, "not-signed-in")


def test_without_a_demo_there_are_no_demo_sign_ins(client, world):
    problem(client.get("/api/v1/demo-sign-ins"), 404, "not-found")


def test_every_sign_in_and_out_is_in_the_journal(client, world, maud):
    client.post(SESSION, json=KNOWN)
    client.delete(SESSION)
    from crossload.storage import sql
    from crossload.storage.database import connected

    with connected():
        rows = sql.rows("SELECT verb FROM journal WHERE pool_id = ? ORDER BY id", world.pool)
    assert [verb for (verb,) in rows] == ["signed in", "signed out"]
