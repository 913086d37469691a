"""What a scanned code is, over HTTP, on both databases."""

import pytest

from crossload.domain.people import Role
from visitors import refusal, text_id
from worlds import HOUR, NOW


@pytest.fixture
def pack(ines):
    return ines.made("/kit-types", name="Pack", category="pack", tracking="serial")


def found(visitor, code):
    answer = visitor.scan(code)
    assert answer.status_code == 200, answer.json
    return answer.json


def test_a_tag_a_barcode_and_a_spoken_number_are_one_piece(ines, pack):
    item = ines.made(
        "/items", kit_type_id=pack["id"], tag="PL01", barcode="2000000003443", radio_number="7"
    )
    for code in ("PL01", "2000000003443", "7", "pl01", "  PL01\r\n", "\x02PL01\x03"):
        scanned = found(ines, code)
        assert (scanned["item"]["id"], scanned["tag"]) == (item["id"], "PL01")
        assert (scanned["name"], scanned["kit_type_id"]) == ("Pack", pack["id"])
        assert (scanned["condition"], scanned["booking_id"]) == ("fit", None)
        assert scanned["box"] is scanned["kit_type"] is None


@pytest.mark.parametrize("code", ["PL 12", "pl-12", "PL-12", "p l 1 2", "PL–12"])
def test_an_owners_tag_is_known_without_its_spaces_and_hyphens(ines, pack, code):
    ines.made("/items", kit_type_id=pack["id"], tag="PL12")
    ines.made("/items", kit_type_id=pack["id"], tag="PL11", barcode="20 00-34")
    assert found(ines, code)["tag"] == "PL12"
    assert found(ines, "200034")["tag"] == "PL11"


def test_a_code_as_it_is_comes_before_one_that_is_only_spaced_like_it(ines, pack):
    ines.made("/items", kit_type_id=pack["id"], tag="A-12")
    plain = ines.made("/items", kit_type_id=pack["id"], tag="A12")
    assert found(ines, "a12")["item"]["id"] == plain["id"]
    answer = ines.scan("A 12")
    assert "A-12 Pack or A12 Pack" in refusal(answer, 409)


def test_what_came_back_says_when_and_what_is_out_who_has_it(house, ines):
    kit = house.world.a_kit_type(pieces=1)
    (piece,) = house.world.pieces(kit)
    assert found(ines, piece.tag)["back_at"] is None
    house.world.has_out("second", kit, NOW + 9 * HOUR, item=piece.id)
    scanned = found(ines, piece.tag)
    assert (scanned["unit_id"], scanned["back_at"]) == (
        text_id(house.world.units["second"]),
        None,
    )
    house.clock.now = NOW + HOUR
    back = {"key": "b", "kind": "back", "happened_at": "2026-11-25T11:00:00Z"}
    assert ines.post("/custody-events", {**back, "pieces": [{"tag": piece.tag}]}).status_code == 201
    scanned = found(ines, piece.tag)
    assert (scanned["unit_id"], scanned["back_at"]) == (None, "2026-11-25T11:00:00+00:00")


def test_our_own_tag_is_read_however_it_is_written(ines, pack):
    tag = ines.made("/items", kit_type_id=pack["id"])["tag"]
    for code in (tag, tag.lower(), tag.replace("-", ""), tag.replace("-", " "), f" {tag} "):
        assert found(ines, code)["tag"] == tag


def test_a_mistyped_tag_is_refused_by_name(ines, pack):
    tag = ines.made("/items", kit_type_id=pack["id"])["tag"]
    swapped = tag[:2] + tag[3] + tag[2] + tag[4:]
    assert swapped != tag == "A336-F"  # the check of ISO 7064 mod 37,2: see domain/tags
    for mistyped in (swapped, "A337-F"):
        said = refusal(ines.scan(mistyped.lower()), 422)
        assert said.startswith(f"{mistyped} is not a tag")


def test_a_tag_of_no_piece_is_not_found_by_name(ines):
    assert "K7PK-3" in refusal(ines.scan("k7pk3"), 404)


def test_what_an_owner_wrote_wins_over_what_looks_like_our_tag(ines, pack):
    item = ines.made("/items", kit_type_id=pack["id"], tag="AAAA1")
    assert found(ines, "AAAA1")["item"]["id"] == item["id"]


@pytest.mark.parametrize("code", ["nothing here", "123456", "a/b", "<script>", "' OR 1=1 --", "é"])
def test_what_nothing_carries_is_not_found(ines, code):
    assert "read it again" in refusal(ines.scan(code), 404)


def test_strange_codes_are_refused_with_a_sentence(ines):
    refusal(ines.scan("\x00"), 422)
    refusal(ines.scan("x" * 201), 422)
    refusal(ines.scan("%ED%A0%BD".replace("%25", "%")), 404)


def test_a_code_with_a_slash_scans_as_it_is(ines, pack):
    ines.made("/items", kit_type_id=pack["id"], tag="S/12/3")
    assert found(ines, "S/12/3")["tag"] == "S/12/3"


def test_a_number_that_two_pieces_are_called_is_not_guessed_at(ines, pack):
    boom = ines.made("/kit-types", name="Boom", category="wireless boom", tracking="serial")
    ines.made("/items", kit_type_id=pack["id"], tag="PL01", radio_number="7")
    ines.made("/items", kit_type_id=boom["id"], tag="WB01", radio_number="7")
    answer = ines.scan("7")
    assert "PL01 Pack or WB01 Boom" in refusal(answer, 409)
    assert answer.json["tags"] == ["PL01", "WB01"]


def test_a_tag_wins_over_a_spoken_number(ines, pack):
    ines.made("/items", kit_type_id=pack["id"], tag="PL01", radio_number="12")
    tagged = ines.made("/items", kit_type_id=pack["id"], tag="12")
    assert found(ines, "12")["item"]["id"] == tagged["id"]


def test_a_box_is_found_by_its_number_and_a_radio_number_comes_first(ines, pack):
    outer = ines.made("/boxes", number="20", name="Truck drawers", place="Bay 4")
    box = ines.made("/boxes", number="7", name="Packs", inside_box_id=outer["id"])
    scanned = found(ines, "7")
    assert (scanned["box"]["id"], scanned["name"]) == (box["id"], "Box 7 Packs")
    assert scanned["where"] == {"kind": "box", "text": "in Box 20 Truck drawers, Bay 4"}
    ines.made("/items", kit_type_id=pack["id"], tag="PL01", radio_number="7")
    assert found(ines, "7")["tag"] == "PL01"
    assert found(ines, "box 7")["box"]["id"] == box["id"]
    refusal(ines.scan("Box 99"), 404)


def test_counted_kit_is_found_by_its_name(ines):
    stand = ines.made("/kit-types", name="Stand", category="stand", tracking="count", count=3)
    scanned = found(ines, "stand")
    assert (scanned["kit_type"]["id"], scanned["kit_type_id"]) == (stand["id"],) * 2
    assert scanned["item"] is scanned["tag"] is scanned["where"] is None


def test_where_a_piece_is_goes_from_its_box_to_a_unit_to_out_of_service(house, ines):
    kit = house.world.a_kit_type(pieces=2)
    piece, other = house.world.pieces(kit)
    path = f"/items/{text_id(piece.id)}"
    assert found(ines, piece.tag)["where"] == {"kind": "box", "text": "in no box"}
    box = ines.made("/boxes", number="3", name="Packs", place="A1")
    ines.changed(path, home_box_id=box["id"])
    assert found(ines, piece.tag)["where"] == {"kind": "box", "text": "Box 3 Packs, A1"}
    house.world.has_out("second", kit, NOW + 9 * HOUR, item=piece.id)
    scanned = found(ines, piece.tag)
    assert scanned["where"] == {"kind": "unit", "text": "second"}
    assert scanned["due_at"] == "2026-11-25T19:00:00+00:00"
    ines.changed(path, condition="lost")
    where = found(ines, piece.tag)["where"]
    assert where == {"kind": "out_of_service", "text": "lost, with second"}
    house.world.has_out("main", kit, NOW + 9 * HOUR, item=other.id, person="Runner")
    assert found(ines, other.tag)["where"] == {"kind": "person", "text": "Runner, main"}


def test_a_piece_in_service_for_a_while_is_out_of_service(house, ines, pack):
    item = ines.made("/items", kit_type_id=pack["id"], tag="PL01")
    ines.made("/out-of-service", item_id=item["id"], end="2026-11-25T12:00:00Z")
    assert found(ines, "PL01")["where"]["text"] == "out of service"
    house.clock.now = NOW + 2 * HOUR
    assert found(ines, "PL01")["where"]["kind"] == "box"


def test_everybody_scans_and_another_pools_codes_are_not_there(house, ines, pack):
    ines.made("/items", kit_type_id=pack["id"], tag="PL01")
    assert found(house.visitor(Role.ASSISTANT, "main"), "PL01")["tag"] == "PL01"
    refusal(house.another().coordinator.scan("PL01"), 404)


def test_nobody_scans_without_signing_in(house, ines):
    ines.secret = ""
    refusal(ines.scan("PL01"), 401)
