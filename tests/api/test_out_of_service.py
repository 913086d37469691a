"""Kit out of service over HTTP, on both databases."""

import pytest

from crossload.domain.people import Role
from crossload.usecases import bookings
from crossload.usecases.granting import Granted
from crossload.usecases.transaction import write
from visitors import refusal, text_id
from worlds import HOUR, NOW, an_ask


def fits(house, *args, **more):
    ask = an_ask(house.world, *args, **more)
    return isinstance(bookings.book(house.world.coordinator, ask, now=house.clock.now), Granted)


def test_a_number_of_counted_kit_is_out_of_service_until_further_notice(house, ines):
    kit = house.world.a_kit_type(count=3)
    window = ines.made("/out-of-service", kit_type_id=text_id(kit.id), quantity=2)
    assert (window["start"], window["end"]) == ("2026-11-25T10:00:00+00:00", None)
    assert (window["item_id"], window["condition"]) == (None, None)
    assert not fits(house, "main", (kit, 2), start=300 * 24 * HOUR, end=301 * 24 * HOUR)
    assert fits(house, "main", (kit, 1), start=300 * 24 * HOUR, end=301 * 24 * HOUR)


def test_a_piece_is_free_again_when_its_window_ends(house, ines):
    kit = house.world.a_kit_type(pieces=1)
    (piece,) = house.world.pieces(kit)
    window = ines.made(
        "/out-of-service", item_id=text_id(piece.id), reason="Service",
        start={"day": "2026-11-25", "time": "12:00"}, end={"day": "2026-11-25", "time": "14:00"},
    )  # fmt: skip
    assert window["kit_type_id"] == text_id(kit.id)
    assert not fits(house, "main", piece, start=3 * HOUR, end=5 * HOUR)
    assert fits(house, "main", piece, start=4 * HOUR, end=5 * HOUR)
    assert fits(house, "second", piece, start=HOUR, end=2 * HOUR)


def test_the_end_is_set_and_taken_back(house, ines):
    kit = house.world.a_kit_type(count=1)
    window = ines.made("/out-of-service", kit_type_id=text_id(kit.id))
    path = f"/out-of-service/{window['id']}"
    refusal(ines.patch(path, {"end": None}, match=""), 428)
    set_on = ines.patch(path, {"end": "2026-11-25T12:00:00Z"}, match=1)
    assert set_on.json["end"] == "2026-11-25T12:00:00+00:00"
    refusal(ines.patch(path, {"end": None}, match=1), 412)
    assert fits(house, "main", (kit, 1), start=2 * HOUR, end=3 * HOUR)
    assert ines.changed(path, end=None)["end"] is None
    assert not fits(house, "main", (kit, 1), start=4 * HOUR, end=5 * HOUR)


def test_it_is_accepted_though_it_makes_a_booking_short(house, ines):
    kit = house.world.a_kit_type(pieces=1)
    (piece,) = house.world.pieces(kit)
    assert fits(house, "main", piece)
    ines.made("/out-of-service", item_id=text_id(piece.id), condition="damaged")


def test_a_condition_with_an_expected_end_is_the_pieces_condition_while_it_lasts(house, ines):
    kit = house.world.a_kit_type(pieces=1)
    item = f"/items/{text_id(house.world.pieces(kit)[0].id)}"
    window = ines.made(
        "/out-of-service", item_id=item[7:], condition="in repair", end="2026-11-27T09:00:00Z"
    )
    assert ines.read(item)["condition"] == "in repair"
    house.clock.now = NOW + HOUR
    ines.changed(f"/out-of-service/{window['id']}", end="2026-11-25T11:00:00Z")
    assert ines.read(item)["condition"] == "fit"
    ines.changed(f"/out-of-service/{window['id']}", end=None)
    assert ines.read(item)["condition"] == "in repair"


def test_a_window_to_come_leaves_the_condition_as_it_is(house, ines):
    kit = house.world.a_kit_type(pieces=1)
    item = f"/items/{text_id(house.world.pieces(kit)[0].id)}"
    ines.made(
        "/out-of-service", item_id=item[7:], condition="in repair", start="2026-11-27T09:00:00Z"
    )
    assert ines.read(item)["condition"] == "fit"


def test_a_piece_leaves_its_line_when_its_window_says_that_it_is_damaged(house, ines):
    kit = house.world.a_kit_type(pieces=2)
    piece, _ = house.world.pieces(kit)
    ask = an_ask(house.world, "main", (kit, 1))
    booking = bookings.book(house.world.coordinator, ask, now=NOW).booking
    with write(house.world.pool, NOW) as stores:
        stores.bookings.fix(booking.lines[0].id, piece.id)
    ines.made("/out-of-service", item_id=text_id(piece.id), condition="damaged")
    with write(house.world.pool, NOW) as stores:
        assert stores.bookings.get(booking.id).lines[0].pieces == ()


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "#/item_id"),
        ({"item_id": None}, "#/item_id"),
        ({"item_id": "0" * 13}, "#/item_id"),
        ({"kit_type_id": "0" * 13}, "#/kit_type_id"),
        ({"kit_type_id": "serial"}, "#/item_id"),
        ({"kit_type_id": "count", "quantity": 4}, "#/quantity"),
        ({"kit_type_id": "count", "quantity": 0}, "#/quantity"),
        ({"kit_type_id": "count", "item_id": "piece"}, "#/kit_type_id"),
        ({"item_id": "piece", "quantity": 2}, "#/quantity"),
        ({"item_id": "piece", "condition": "fit"}, "#/condition"),
        ({"item_id": "piece", "condition": "retired"}, "#/condition"),
        ({"item_id": "piece", "end": "2026-11-25T10:00:00Z"}, "#/end"),
        (
            {"item_id": "piece", "start": "2026-11-27T10:00:00Z", "end": "2026-11-26T10:00:00Z"},
            "#/end",
        ),
        ({"item_id": "piece", "start": "2026-11-27T10:00:00"}, "#/start"),
        ({"item_id": "piece", "reason": "x" * 501}, "#/reason"),
    ],
)
def test_a_window_that_breaks_a_rule_is_refused_by_its_place(house, ines, body, pointer):
    counted, serial = house.world.a_kit_type(count=3), house.world.a_kit_type(pieces=1)
    named = {
        "count": text_id(counted.id),
        "serial": text_id(serial.id),
        "piece": text_id(house.world.pieces(serial)[0].id),
    }
    sent = {n: named.get(v, v) if isinstance(v, str) else v for n, v in body.items()}
    refusal(ines.post("/out-of-service", sent), 422, pointer)
    assert ines.read("/out-of-service")["out_of_service"] == []


def test_an_end_before_the_start_is_refused_afterwards_too(house, ines):
    kit = house.world.a_kit_type(count=1)
    window = ines.made("/out-of-service", kit_type_id=text_id(kit.id))
    path = f"/out-of-service/{window['id']}"
    refusal(ines.patch(path, {"end": "2026-11-25T10:00:00Z"}), 422, "#/end")


def test_a_mixer_does_so_for_the_kit_that_own_units_have(house):
    serial, counted = house.world.a_kit_type(pieces=3), house.world.a_kit_type(count=9)
    mine, theirs, inside = house.world.pieces(serial)
    house.world.has_out("second", serial, NOW + 9 * HOUR, item=mine.id)
    house.world.has_out("main", serial, NOW + 9 * HOUR, item=theirs.id)
    house.world.has_out("second", counted, NOW + 9 * HOUR, quantity=2)
    mixer = house.visitor(Role.MIXER, "second")
    window = mixer.made("/out-of-service", item_id=text_id(mine.id), condition="suspect")
    mixer.changed(f"/out-of-service/{window['id']}", reason="Crackles")
    for piece in (theirs, inside):
        answer = mixer.post("/out-of-service", {"item_id": text_id(piece.id)})
        assert "own units" in refusal(answer, 403)
    some = {"kit_type_id": text_id(counted.id)}
    mixer.made("/out-of-service", **some, quantity=2)
    refusal(mixer.post("/out-of-service", some | {"quantity": 3}), 403)


def test_an_assistant_does_so_for_all_kit_and_a_supervisor_for_none(house):
    kit = house.world.a_kit_type(count=1)
    body = {"kit_type_id": text_id(kit.id)}
    house.visitor(Role.ASSISTANT, "main").made("/out-of-service", **body)
    refusal(house.visitor(Role.SUPERVISOR).post("/out-of-service", body), 403)


def test_another_pools_windows_are_not_there(house, ines):
    stranger = house.another().coordinator
    kit = house.world.a_kit_type(pieces=1)
    piece = text_id(house.world.pieces(kit)[0].id)
    window = ines.made("/out-of-service", item_id=piece)
    refusal(stranger.get(f"/out-of-service/{window['id']}"), 404)
    refusal(stranger.patch(f"/out-of-service/{window['id']}", {"end": None}), 404)
    refusal(stranger.post("/out-of-service", {"item_id": piece}), 422, "#/item_id")
    assert stranger.read("/out-of-service")["out_of_service"] == []


def test_windows_are_listed_by_kit_and_by_what_still_lasts(house, ines):
    one, two = house.world.a_kit_type(count=3), house.world.a_kit_type(count=3)
    over = ines.made(
        "/out-of-service", kit_type_id=text_id(one.id), start="2026-11-24T10:00:00Z",
        end="2026-11-24T11:00:00Z",
    )  # fmt: skip
    lasting = ines.made("/out-of-service", kit_type_id=text_id(one.id))
    other = ines.made("/out-of-service", kit_type_id=text_id(two.id))

    def listed(query):
        found = ines.read(f"/out-of-service?{query}")["out_of_service"]
        return [window["id"] for window in found]

    assert listed(f"kit_type={text_id(one.id)}") == [over["id"], lasting["id"]]
    assert listed("ends_after=2026-11-25T10:00:00Z") == [lasting["id"], other["id"]]


def test_the_journal_has_the_window_and_what_became_of_the_piece(house, ines):
    kit = house.world.a_kit_type(pieces=1)
    piece = text_id(house.world.pieces(kit)[0].id)
    window = ines.made("/out-of-service", item_id=piece, condition="lost", reason="Not said here")
    (made,) = ines.read(f"/journal?subject=out_of_service:{window['id']}")["entries"]
    assert (made["after"]["item"], made["after"]["condition"]) == (piece, "lost")
    assert made["after"]["not_shown"] == ["reason"]
    (marked,) = ines.read(f"/journal?subject=item:{piece}")["entries"]
    assert (marked["before"], marked["after"]) == ({"condition": "fit"}, {"condition": "lost"})
    assert marked["seq"] == made["seq"]


def test_the_same_key_makes_one_window(house, ines):
    body = {"kit_type_id": text_id(house.world.a_kit_type(count=2).id)}
    first, again = (ines.post("/out-of-service", body, key='"w1"') for _ in range(2))
    assert (again.status_code, again.json) == (201, first.json)
    assert len(ines.read("/out-of-service")["out_of_service"]) == 1
