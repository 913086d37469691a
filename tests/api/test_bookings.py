"""Bookings over HTTP: the yes, the refusal with its options, conditions and bad input."""

import pytest

from asking import problem
from crossload.domain import ids
from worlds import HOUR, a_world

BOOKINGS, JUDGEMENTS = "/api/v1/bookings", "/api/v1/judgements"
WINDOW = ("start", "end")
START, END = "2026-11-26T06:00:00+00:00", "2026-11-26T20:00:00+00:00"


def body(world, *lines, unit="second", **more):
    return {
        "unit_id": ids.to_text(world.units[unit]),
        "start": START,
        "end": END,
        "lines": [
            {"kit_type_id": ids.to_text(kit.id), "quantity": quantity} for kit, quantity in lines
        ],
    } | more


@pytest.fixture
def mixer(signed_in):
    return signed_in("mixer", "second")


def booked(client, told):
    answer = client.post(BOOKINGS, json=told)
    assert answer.status_code == 201, answer.get_data(as_text=True)
    return answer.get_json()


def test_a_yes_says_where_when_and_from_whom(world, mixer):
    kit = world.a_kit_type(count=8)
    world.a_person("Counter Hand", "counter", "01632 960102")
    told = booked(mixer, body(world, (kit, 6)))
    assert told["booking"]["state"] == "confirmed"
    assert told["booking"]["lines"][0]["quantity"] == 6
    (pickup,) = told["handover"]["pickups"]
    assert (pickup["at"], pickup["from"]) == (START, "house")
    assert (pickup["ask_for"], pickup["phone"]) == ("Counter Hand", "01632 960102")


def test_a_refusal_names_holders_and_its_option_works_when_posted(world, mixer, coordinator):
    kit = world.a_kit_type(count=8)
    world.a_person("Main Hand", "assistant", "07700 900111", unit="main")
    booked(coordinator, body(world, (kit, 5), unit="main"))
    told = problem(mixer.post(BOOKINGS, json=body(world, (kit, 6))), 409, "short")
    (short,) = told["short"]
    assert (short["pointer"], short["quantity"], short["free"]) == ("#/lines/0", 6, 3)
    assert short["stretches"] == [{"start": START, "end": END, "by": 3}]
    (holder,) = short["holders"]
    assert (holder["unit"], holder["quantity"], holder["phone"]) == ("main", 5, "07700 900111")
    fewer = next(option for option in told["options"] if option["kind"] == "fewer")
    assert booked(mixer, fewer["body"])["booking"]["lines"][0]["quantity"] == 3


def test_a_dry_run_writes_nothing(world, mixer):
    kit = world.a_kit_type(count=8)
    answers = [
        mixer.post(JUDGEMENTS, json=body(world, (kit, n))).get_json()["answer"] for n in (8, 9)
    ]
    assert answers == ["yes", "short"]
    assert mixer.get(BOOKINGS).get_json() == {"bookings": []}


def test_without_times_it_is_the_units_next_shoot_day(world, mixer, clock):
    kit = world.a_kit_type(count=8)
    call, wrap = clock.now + 20 * HOUR, clock.now + 30 * HOUR
    world.a_shoot_day("second", clock.now - HOUR, clock.now + HOUR)
    world.a_shoot_day("second", call, wrap, number=2)
    told = body(world, (kit, 1)) | {"start": None, "end": None}
    answer = booked(mixer, told)["booking"]
    assert (answer["start"], answer["end"]) == (START, "2026-11-26T16:00:00+00:00")


def test_times_may_be_wall_times_of_the_pool(world, mixer):
    kit = world.a_kit_type(count=8)
    wall = {"start": {"day": "2026-07-01", "time": "06:00"}}
    told = body(world, (kit, 1)) | wall | {"end": {"day": "2026-07-01", "time": "20:00"}}
    told |= {"start": {"day": "2027-07-01", "time": "06:00"}}
    told |= {"end": {"day": "2027-07-01", "time": "20:00"}}
    answer = booked(mixer, told)["booking"]
    assert answer["start"] == "2027-07-01T06:00:00+01:00"


def test_behind_a_pencil_is_its_own_problem(world, mixer, coordinator):
    kit = world.a_kit_type(count=4)
    booked(coordinator, body(world, (kit, 4), unit="splinter", state="pencilled"))
    told = problem(mixer.post(BOOKINGS, json=body(world, (kit, 2))), 409, "behind-pencil")
    assert told["short"][0]["why"] == "pencil"
    behind = next(option for option in told["options"] if option["kind"] == "pencil_behind")
    assert behind["place"] == 2
    assert booked(mixer, behind["body"])["booking"]["state"] == "pencilled"


def test_the_life_of_a_booking(world, mixer):
    kit = world.a_kit_type(count=8)
    made = mixer.post(BOOKINGS, json=body(world, (kit, 6), state="pencilled"))
    path = f"{BOOKINGS}/{made.get_json()['booking']['id']}"
    tag = made.headers["ETag"]
    confirmed = mixer.post(f"{path}/confirm", json={}, headers={"If-Match": tag})
    assert confirmed.get_json()["state"] == "confirmed"
    stale = mixer.post(f"{path}/release", json={}, headers={"If-Match": tag})
    problem(stale, 412, "stale")
    changed = mixer.patch(
        path, json={"end": "2026-11-26T22:00:00+00:00"},
        headers={"If-Match": confirmed.headers["ETag"]},
    )  # fmt: skip
    assert changed.get_json()["end"] == "2026-11-26T22:00:00+00:00"
    line = changed.get_json()["lines"][0]["id"]
    some = mixer.post(
        f"{path}/release", json={"lines": [{"id": line, "quantity": 2}]},
        headers={"If-Match": changed.headers["ETag"]},
    )  # fmt: skip
    assert some.get_json()["lines"][0]["quantity"] == 4
    all_of_it = mixer.post(f"{path}/release", json={}, headers={"If-Match": some.headers["ETag"]})
    assert all_of_it.get_json()["state"] == "released"
    assert mixer.get(f"{path}/standing").get_json()["risk"] is False


def test_undo_puts_things_back(world, mixer, clock):
    kit = world.a_kit_type(count=8)
    made = mixer.post(BOOKINGS, json=body(world, (kit, 6)))
    path = f"{BOOKINGS}/{made.get_json()['booking']['id']}/undo"
    clock.later(599)
    undone = mixer.post(path, headers={"If-Match": made.headers["ETag"]})
    assert undone.get_json()["state"] == "undone"
    again = mixer.post(path, headers={"If-Match": undone.headers["ETag"]})
    problem(again, 409, "conflict")


def test_the_same_key_gives_the_same_booking_and_another_body_is_refused(world, mixer):
    kit = world.a_kit_type(count=8)
    headers = {"Idempotency-Key": '"one"'}
    first = mixer.post(BOOKINGS, json=body(world, (kit, 6)), headers=headers)
    again = mixer.post(BOOKINGS, json=body(world, (kit, 6)), headers=headers)
    assert first.get_json()["booking"]["id"] == again.get_json()["booking"]["id"]
    other = mixer.post(BOOKINGS, json=body(world, (kit, 5)), headers=headers)
    problem(other, 422, "key-reused")


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"start": "2026-11-26T06:00:00"}, "#/start"),
        ({"start": END, "end": START}, "#/end"),
        ({"start": "2026-11-26T06:00:00.5Z"}, "#/start"),
        ({"lines": []}, "#/lines"),
        ({"lines": [{"kit_type_id": "0000000000000", "quantity": 1}]}, "#/lines/0/kit_type_id"),
        ({"lines": [{"kit_type_id": "0000000000000", "quantity": 0}]}, "#/lines/0/quantity"),
        ({"lines": [{"kit_type_id": "0000000000000", "quantity": 10**9}]}, "#/lines/0/quantity"),
        ({"lines": [{"kit_type_id": "0000000000000", "quantity": 1.5}]}, "#/lines/0/quantity"),
        ({"lines": [{"quantity": 1}]}, "#/lines/0"),
        ({"state": "released"}, "#/state"),
        ({"surprise": 1}, "#/surprise"),
        ({"pencil_expires_at": "2020-01-01T00:00:00Z"}, "#/pencil_expires_at"),
        ({"start": {"day": "2027-03-28", "time": "01:30"}}, "#/start"),
    ],
    ids=lambda value: str(value)[:60],
)
def test_bad_input_is_422_and_pointed_at(world, mixer, change, pointer):
    kit = world.a_kit_type(count=8)
    told = problem(mixer.post(BOOKINGS, json=body(world, (kit, 1)) | change), 422, "invalid")
    assert pointer in {error["pointer"] for error in told["errors"]}
    assert mixer.get(BOOKINGS).get_json() == {"bookings": []}


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "'; DROP TABLE line; --", "😀 ʼn"])
def test_any_text_is_kept_as_it_is(world, mixer, text):
    kit = world.a_kit_type(count=8)
    told = booked(mixer, body(world, (kit, 1), purpose=text))["booking"]
    assert mixer.get(f"{BOOKINGS}/{told['id']}").get_json()["purpose"] == text


def test_a_key_that_left_the_day_open_gives_its_booking_when_that_day_is_past(world, mixer, clock):
    kit = world.a_kit_type(count=4)
    world.a_shoot_day("second", clock.now + HOUR, clock.now + 9 * HOUR)
    told = {name: value for name, value in body(world, (kit, 3)).items() if name not in WINDOW}
    key = {"Idempotency-Key": '"kept-on-the-phone"'}
    first = mixer.post(BOOKINGS, json=told, headers=key)
    clock.later(30 * HOUR)
    again = mixer.post(BOOKINGS, json=told, headers=key)
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.get_json()["booking"]["id"] == first.get_json()["booking"]["id"]


@pytest.mark.parametrize("how", ["change", "release"])
def test_a_line_stands_once_in_what_changes_a_booking(world, mixer, how):
    kit = world.a_kit_type(count=4)
    made = booked(mixer, body(world, (kit, 3)))["booking"]
    at, line = f"{BOOKINGS}/{made['id']}", made["lines"][0]
    twice = {"lines": [{"id": line["id"], "quantity": 1}] * 2}
    send = {"headers": {"If-Match": "*"}}
    if how == "release":
        answer = mixer.post(f"{at}/release", json=twice, **send)
    else:
        lines = [one | {"kit_type_id": line["kit_type_id"]} for one in twice["lines"]]
        answer = mixer.patch(at, json={"lines": lines}, **send)
    assert problem(answer, 422, "invalid")["errors"][0]["pointer"] == "#/lines/1/id"
    assert mixer.get(at).get_json()["lines"] == made["lines"]


def test_another_pools_booking_is_not_there(world, mixer, signed_in):
    kit = world.a_kit_type(count=8)
    made = booked(mixer, body(world, (kit, 1)))["booking"]["id"]
    stranger = signed_in("coordinator", of=a_world())
    problem(stranger.get(f"{BOOKINGS}/{made}"), 404, "not-found")
    problem(stranger.post(f"{BOOKINGS}/{made}/undo", headers={"If-Match": "*"}), 404, "not-found")


@pytest.mark.parametrize("role", ["assistant", "supervisor"])
def test_who_may_not_book_is_told_so(world, signed_in, role):
    kit = world.a_kit_type(count=8)
    problem(signed_in(role).post(BOOKINGS, json=body(world, (kit, 1))), 403, "forbidden")


def test_a_list_pages_by_cursor(world, coordinator):
    kit = world.a_kit_type(count=8)
    made = [booked(coordinator, body(world, (kit, 1)))["booking"]["id"] for _ in range(3)]
    first = coordinator.get(f"{BOOKINGS}?limit=2")
    assert [one["id"] for one in first.get_json()["bookings"]] == made[:2]
    following = first.headers["Link"].partition(">")[0].removeprefix("<")
    rest = coordinator.get(following)
    assert [one["id"] for one in rest.get_json()["bookings"]] == made[2:]
    assert "Link" not in rest.headers


def test_the_board_shows_what_was_booked_and_is_cheap_to_ask_again(world, mixer, clock):
    kit = world.a_kit_type(count=8)
    before = mixer.get("/api/v1/board")
    unchanged = mixer.get("/api/v1/board", headers={"If-None-Match": before.headers["ETag"]})
    assert unchanged.status_code == 304
    made = booked(mixer, body(world, (kit, 6)))["booking"]["id"]
    after = mixer.get("/api/v1/board", headers={"If-None-Match": before.headers["ETag"]})
    assert made in {one["booking_id"] for one in after.get_json()["going_out"]}
    clock.later(86_400)
    tomorrow = mixer.get("/api/v1/board", headers={"If-None-Match": after.headers["ETag"]})
    assert tomorrow.get_json()["today"] == "2026-11-26"
