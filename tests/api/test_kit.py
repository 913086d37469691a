"""Kit types, items and boxes over HTTP, on both databases."""

import json
from dataclasses import replace

import pytest

from crossload.domain.booking import Wanted
from crossload.domain.kit import Condition
from crossload.domain.people import Role
from crossload.domain.tags import make_tag
from crossload.usecases import bookings
from crossload.usecases.transaction import read, write
from visitors import refusal, text_id
from worlds import HOUR, NOW, an_ask, book

PACK = {
    "name": "Pack, 470 to 548 MHz",
    "category": "pack",
    "tracking": "serial",
    "price_minor": 148_000,
    "mass_g": 142,
    "traits": {"range": "470 to 548", "battery": "AA"},
    "goes_with": [{"category": "battery", "quantity": 2, "match": ["battery"]}],
    "notes": {"Bought": "2021"},
}
STAND = {"name": "Stand, tall", "category": "stand", "tracking": "count", "count": 12}


def journal_of(visitor, subject):
    entries = visitor.read(f"/journal?subject={subject}")["entries"]
    return [(entry["verb"], entry["before"], entry["after"]) for entry in entries]


# Kit types


def test_a_kit_type_is_made_read_and_listed_as_it_was_given(ines):
    made = ines.made("/kit-types", **PACK)
    assert PACK.items() <= made.items()
    assert (made["capacity"], made["version"]) == (0, 1)
    assert ines.read(f"/kit-types/{made['id']}") == made
    assert ines.read("/kit-types")["kit_types"] == [made]


def test_the_capacity_of_serial_kit_is_its_pieces_that_are_not_retired(ines):
    kit = ines.made("/kit-types", **PACK)
    first = ines.made("/items", kit_type_id=kit["id"], tag="PL01")
    ines.made("/items", kit_type_id=kit["id"], tag="PL02")
    both = ines.read(f"/kit-types/{kit['id']}")
    ines.changed(f"/items/{first['id']}", condition="retired")
    one = ines.read(f"/kit-types/{kit['id']}")
    assert (both["capacity"], one["capacity"]) == (2, 1)
    assert kit["version"] < both["version"] < one["version"]


def test_a_change_needs_the_version_that_was_read(ines):
    kit = ines.made("/kit-types", **STAND)
    path = f"/kit-types/{kit['id']}"
    refusal(ines.patch(path, {"count": 13}, match=""), 428)
    changed = ines.patch(path, {"count": 13}, match=kit["version"])
    assert (changed.json["count"], changed.headers["ETag"]) == (13, '"2"')
    assert "read it again" in refusal(ines.patch(path, {"count": 14}, match=kit["version"]), 412)
    assert ines.read(path)["count"] == 13


def test_a_change_that_is_none_makes_no_new_version(ines):
    kit = ines.made("/kit-types", **STAND)
    answer = ines.patch(f"/kit-types/{kit['id']}", {"count": 12}, match=1)
    assert answer.json["version"] == 1


def test_a_read_with_the_version_one_has_is_not_modified(ines):
    kit = ines.made("/kit-types", **STAND)
    answer = ines.get(f"/kit-types/{kit['id']}", **{"If-None-Match": '"1"'})
    assert (answer.status_code, answer.data) == (304, b"")


def test_the_same_key_makes_one_kit_type_and_another_body_is_refused(ines):
    first = ines.post("/kit-types", STAND, key='"k1"')
    again = ines.post("/kit-types", STAND, key='"k1"')
    assert (again.status_code, again.json) == (201, first.json)
    assert len(ines.read("/kit-types")["kit_types"]) == 1
    refusal(ines.post("/kit-types", STAND | {"count": 1}, key='"k1"'), 422)


def test_a_refused_kit_type_leaves_its_key_free(ines):
    refusal(ines.post("/kit-types", STAND | {"substitutes": ["0" * 13]}, key='"k2"'), 422)
    assert ines.post("/kit-types", STAND, key='"k2"').status_code == 201


@pytest.mark.parametrize("role", [Role.MIXER, Role.ASSISTANT, Role.SUPERVISOR], ids=str)
def test_only_a_coordinator_changes_kit(house, ines, role):
    kit = ines.made("/kit-types", **STAND)
    somebody = house.visitor(role, "main")
    assert somebody.read(f"/kit-types/{kit['id']}")["name"] == kit["name"]
    assert "ask the coordinator" in refusal(somebody.post("/kit-types", PACK), 403)
    refusal(somebody.patch(f"/kit-types/{kit['id']}", {"count": 1}), 403)
    refusal(somebody.post("/items", {"kit_type_id": kit["id"]}), 403)
    refusal(somebody.post("/boxes", {"number": "1"}), 403)


def test_another_pools_kit_is_not_there(house, ines):
    stranger = house.another().coordinator
    kit = ines.made("/kit-types", **PACK)
    item = ines.made("/items", kit_type_id=kit["id"])
    box = ines.made("/boxes", number="1")
    for path in (f"/kit-types/{kit['id']}", f"/items/{item['id']}", f"/boxes/{box['id']}"):
        refusal(stranger.get(path), 404)
        refusal(stranger.patch(path, {}), 404)
    assert stranger.read("/kit-types")["kit_types"] == []
    wrong = {"kit_type_id": kit["id"]}
    assert "no such kit type" in refusal(stranger.post("/items", wrong), 422, "#/kit_type_id")
    theirs = stranger.made("/kit-types", **PACK)
    wrong = {"kit_type_id": theirs["id"], "home_box_id": box["id"]}
    refusal(stranger.post("/items", wrong), 422, "#/home_box_id")
    wrong = {"number": "1", "inside_box_id": box["id"]}
    refusal(stranger.post("/boxes", wrong), 422, "#/inside_box_id")
    refusal(
        stranger.post("/kit-types", STAND | {"substitutes": [kit["id"]]}), 422, "#/substitutes/0"
    )


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"name": "STAND,  tall"}, "#/name"),
        ({"name": ""}, "#/name"),
        ({"count": -1}, "#/count"),
        ({"count": 10**9}, "#/count"),
        ({"count": 1.5}, "#/count"),
        ({"count": "12"}, "#/count"),
        ({"tracking": "serial", "count": 1}, "#/count"),
        ({"tracking": "weight"}, "#/tracking"),
        ({"traits": {"colour": "red"}}, "#/traits/colour"),
        ({"traits": {"range": 5}}, "#/traits/range"),
        ({"notes": {"a": "\u0000"}}, "#/notes/a"),
        ({"notes": {f"n{n}": "x" for n in range(51)}}, "#/notes"),
        ({"goes_with": [{"category": "pouch", "quantity": 0}]}, "#/goes_with/0/quantity"),
        (
            {"goes_with": [{"category": "pouch", "quantity": 1, "match": ["pouch"]}]},
            "#/goes_with/0/match",
        ),
        ({"substitutes": ["0" * 13]}, "#/substitutes/0"),
        ({"substitutes": ["x"]}, "#/substitutes/0"),
        ({"capacity": 3}, "#/capacity"),
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_a_kit_type_that_breaks_a_rule_is_refused_by_its_place(ines, change, pointer):
    ines.made("/kit-types", **STAND)
    refusal(ines.post("/kit-types", STAND | {"name": "Other"} | change), 422, pointer)
    assert len(ines.read("/kit-types")["kit_types"]) == 1


def test_how_kit_is_kept_stays(ines):
    kit = ines.made("/kit-types", **STAND)
    refusal(ines.patch(f"/kit-types/{kit['id']}", {"tracking": "serial"}), 422, "#/tracking")
    assert ines.patch(f"/kit-types/{kit['id']}", {"tracking": "count"}).status_code == 200


def test_a_kit_type_does_not_stand_in_for_itself(ines):
    kit = ines.made("/kit-types", **STAND)
    refusal(ines.patch(f"/kit-types/{kit['id']}", {"substitutes": [kit["id"]]}), 422)


STRANGE = {
    "script": "<script>alert(1)</script>",
    "sql": "Robert'); DROP TABLE kit_type;--",
    "right to left": "\u202eabc",
    "quotes": "\"'`\\",
}


@pytest.mark.parametrize("text", STRANGE.values(), ids=STRANGE.keys())
def test_strange_text_is_kept_as_it_is(ines, text):
    kit = ines.made("/kit-types", **STAND | {"name": text, "make": text, "notes": {text: text}})
    assert (kit["name"], kit["make"], kit["notes"]) == (text, text, {text: text})
    assert ines.read("/kit-types")["kit_types"] == [kit]


@pytest.mark.parametrize(
    ("text", "why"),
    [("a\u0000b", "control character"), ("\ud83d", "half a character"), ("x" * 201, "201")],
    ids=["NUL", "lone surrogate", "too long"],
)
def test_text_that_cannot_be_kept_is_refused(ines, text, why):
    assert why in refusal(ines.post("/kit-types", STAND | {"name": text}), 422, "#/name")


def test_a_body_of_a_megabyte_of_text_is_refused(ines):
    body = STAND | {"notes": {"note": "x" * 900_000}}
    refusal(ines.post("/kit-types", body), 422, "#/notes/note")
    refusal(ines.post("/kit-types", body | {"make": "x" * 200_000}), 413)


def test_the_journal_tells_a_kit_types_life(house, ines):
    kit = ines.made("/kit-types", **STAND)
    ines.changed(f"/kit-types/{kit['id']}", count=9, notes={"shelf": "low"})
    (made, changed) = journal_of(ines, f"kit_type:{kit['id']}")
    assert made[0] == "made"
    assert made[2]["count"] == 12
    assert changed[0] == "changed"
    assert changed[1] == {"count": 12, "not_shown": ["notes"]}
    assert changed[2] == {"count": 9, "not_shown": ["notes"]}
    assert "low" not in json.dumps(ines.read("/journal"))


def test_a_page_of_kit_types_links_to_the_next(ines):
    names = [ines.made("/kit-types", **STAND | {"name": f"Stand {n}"})["name"] for n in range(5)]
    seen, path = [], "/kit-types?limit=2&category=stand"
    while path:
        answer = ines.get(path)
        seen += [kit["name"] for kit in answer.json["kit_types"]]
        link = answer.headers.get("Link", "")
        path = link.partition(">")[0].removeprefix("</api/v1") if link else ""
    assert seen == names


def occupied(house, booking):
    with read(house.world.pool) as stores:
        return [
            (line.occupied.start - line.window.start, line.occupied.end - line.window.end)
            for line in stores.bookings.get(booking).lines
        ]


def test_new_prep_and_check_in_count_anew_for_coming_lines(house, ines):
    kit = house.world.a_kit_type(count=3)
    coming = book(house.world, "main", (kit, 2), start=20 * HOUR, end=24 * HOUR).id
    pencilled = book(
        house.world, "second", (kit, 1), start=HOUR, end=2 * HOUR, state="pencilled"
    ).id
    ines.changed(f"/kit-types/{text_id(kit.id)}", prep_s=1800, check_in_s=7200)
    assert occupied(house, coming) == [(-1800, 7200)]
    assert occupied(house, pencilled) == [(-1800, 7200)]
    verbs = [entry[0] for entry in journal_of(ines, f"kit_type:{text_id(kit.id)}")]
    assert verbs == ["changed", "recounted"]


def test_a_line_of_its_own_check_in_keeps_it_and_a_past_line_stays(house, ines):
    kit = house.world.a_kit_type(count=3)
    ask = replace(an_ask(house.world, "main", (kit, 1)), lines=(Wanted(kit.id, 1, check_in_s=60),))
    answer = bookings.book(house.world.coordinator, ask, now=NOW)
    past = book(house.world, "main", (kit, 1), start=HOUR, end=2 * HOUR).id
    house.clock.now = NOW + 3 * HOUR
    ines.changed(f"/kit-types/{text_id(kit.id)}", prep_s=600, check_in_s=7200)
    assert occupied(house, answer.booking.id) == [(-600, 60)]
    assert occupied(house, past) == [(0, 0)]


def test_a_longer_check_in_is_accepted_though_it_makes_bookings_short(house, ines):
    kit = house.world.a_kit_type(count=1)
    book(house.world, "main", (kit, 1), start=HOUR, end=2 * HOUR)
    later = book(house.world, "second", (kit, 1), start=2 * HOUR, end=3 * HOUR).id
    ines.changed(f"/kit-types/{text_id(kit.id)}", check_in_s=HOUR)
    assert occupied(house, later) == [(0, HOUR)]


# Items


def test_a_piece_without_a_code_gets_a_tag_that_nothing_else_carries(ines):
    kit = ines.made("/kit-types", **PACK)
    ines.made("/items", kit_type_id=kit["id"], tag="PL01", barcode=make_tag(1))
    tags = [ines.made("/items", kit_type_id=kit["id"])["tag"] for _ in range(3)]
    assert tags == [make_tag(serial) for serial in (0, 2, 3)]
    barcoded = ines.made("/items", kit_type_id=kit["id"], barcode="2000000003443")
    assert barcoded["tag"] == "2000000003443"


def test_a_made_tag_passes_over_what_an_owner_has_put_on_a_piece(ines):
    kit = ines.made("/kit-types", **PACK)
    first = ines.made("/items", kit_type_id=kit["id"])["tag"]
    for tag in (first, first.lower()):
        said = refusal(ines.post("/items", {"kit_type_id": kit["id"], "tag": tag}), 422, "#/tag")
        assert first in said


@pytest.mark.parametrize("field", ["tag", "barcode"])
def test_a_code_is_one_pieces_alone(ines, field):
    kit = ines.made("/kit-types", **PACK)
    ines.made("/items", kit_type_id=kit["id"], tag="PL01", barcode="4006381333931")
    other = ines.made("/items", kit_type_id=kit["id"], tag="PL02")
    for code in ("PL01", "4006381333931"):
        body = {"kit_type_id": kit["id"], "tag": "PL03", field: code}
        assert "PL01" in refusal(ines.post("/items", body), 422, f"#/{field}")
        refusal(ines.patch(f"/items/{other['id']}", {field: code}), 422, f"#/{field}")
    assert len(ines.read("/items")["items"]) == 2


def test_two_pools_may_have_the_same_tags(house, ines):
    stranger = house.another().coordinator
    for somebody in (ines, stranger):
        kit = somebody.made("/kit-types", **PACK)
        somebody.made("/items", kit_type_id=kit["id"], tag="PL01")


def test_a_number_that_people_say_is_one_within_its_category(ines):
    pack = ines.made("/kit-types", **PACK)
    boom = ines.made("/kit-types", **PACK | {"name": "Boom", "category": "wireless boom"})
    ines.made("/items", kit_type_id=pack["id"], radio_number="7")
    ines.made("/items", kit_type_id=boom["id"], radio_number="7")
    body = {"kit_type_id": pack["id"], "radio_number": "7"}
    refusal(ines.post("/items", body), 422, "#/radio_number")


def test_counted_kit_has_no_pieces_and_only_a_frequency_has_hertz(ines):
    stand = ines.made("/kit-types", **STAND)
    pack = ines.made("/kit-types", **PACK)
    carrier = ines.made("/kit-types", name="Carrier", category="frequency", tracking="frequency")
    refusal(ines.post("/items", {"kit_type_id": stand["id"]}), 422, "#/kit_type_id")
    with_hertz = {"kit_type_id": pack["id"], "frequency_hz": 478_300_000}
    refusal(ines.post("/items", with_hertz), 422, "#/frequency_hz")
    refusal(ines.post("/items", {"kit_type_id": carrier["id"]}), 422, "#/frequency_hz")
    with_hertz["kit_type_id"] = carrier["id"]
    assert ines.made("/items", **with_hertz)["frequency_hz"] == 478_300_000
    assert "already" in refusal(ines.post("/items", with_hertz), 422, "#/frequency_hz")


def windows(visitor, item):
    return visitor.read(f"/out-of-service?item={item['id']}")["out_of_service"]


def test_a_condition_puts_a_piece_out_of_service_until_it_is_fit(house, ines):
    kit = ines.made("/kit-types", **PACK)
    item = ines.made("/items", kit_type_id=kit["id"], tag="PL01")
    house.clock.now += HOUR
    assert ines.changed(f"/items/{item['id']}", condition="suspect")["condition"] == "suspect"
    (window,) = windows(ines, item)
    assert (window["condition"], window["end"]) == ("suspect", None)
    assert window["start"] == "2026-11-25T11:00:00+00:00"
    house.clock.now += HOUR
    ines.changed(f"/items/{item['id']}", condition="in repair")
    suspect, in_repair = windows(ines, item)
    assert suspect["end"] == in_repair["start"] == "2026-11-25T12:00:00+00:00"
    house.clock.now += HOUR
    ines.changed(f"/items/{item['id']}", condition="fit")
    assert [w["end"] is None for w in windows(ines, item)] == [False, False]
    verbs = [entry[0] for entry in journal_of(ines, f"item:{item['id']}")]
    assert verbs == ["made", *["changed", "marked"] * 3]


def test_a_piece_that_is_added_damaged_is_out_of_service_at_once(ines):
    kit = ines.made("/kit-types", **PACK)
    item = ines.made("/items", kit_type_id=kit["id"], condition="damaged")
    assert [w["condition"] for w in windows(ines, item)] == ["damaged"]


def test_a_condition_taken_back_within_a_second_leaves_the_piece_free(house, ines):
    kit = house.world.a_kit_type(pieces=1)
    (piece,) = house.world.pieces(kit)
    ines.changed(f"/items/{text_id(piece.id)}", condition="lost")
    ines.changed(f"/items/{text_id(piece.id)}", condition="fit")
    book(house.world, "main", (kit, 1), start=0, end=HOUR)


def test_a_piece_found_suspect_leaves_the_line_it_served(house, ines):
    kit = house.world.a_kit_type(pieces=2)
    first, _ = house.world.pieces(kit)
    booking = book(house.world, "main", (kit, 1)).id
    with write(house.world.pool, NOW) as stores:
        (line,) = stores.bookings.get(booking).lines
        stores.bookings.fix(line.id, first.id)
    with read(house.world.pool) as stores:
        before = stores.bookings.get(booking)
    ines.changed(f"/items/{text_id(first.id)}", condition="suspect")
    with read(house.world.pool) as stores:
        after = stores.bookings.get(booking)
    assert before.lines[0].pieces == (first.id,)
    assert after.lines[0].pieces == ()
    assert after.version == before.version + 1
    *_, marked = journal_of(ines, f"item:{text_id(first.id)}")
    assert marked[2] == {"condition": "suspect", "left_lines": [text_id(line.id)]}


def test_a_piece_that_a_booking_names_is_not_retired(house, ines):
    kit = house.world.a_kit_type(pieces=2)
    first, other = house.world.pieces(kit)
    book(house.world, "second", first)
    path = f"/items/{text_id(first.id)}"
    assert "second" in refusal(ines.patch(path, {"condition": "retired"}), 409)
    assert ines.read(path)["condition"] == "fit"
    ines.changed(f"/items/{text_id(other.id)}", condition="retired")


def test_a_retired_piece_takes_nothing_from_those_left(house, ines):
    kit = house.world.a_kit_type(pieces=2)
    first, _ = house.world.pieces(kit)
    ines.made("/out-of-service", item_id=text_id(first.id), reason="on loan")
    ines.changed(f"/items/{text_id(first.id)}", condition="retired")
    book(house.world, "main", (kit, 1))


def test_a_piece_with_a_past_stays_what_it_is(house, ines):
    kit, other = house.world.a_kit_type(pieces=2), house.world.a_kit_type(pieces=1)
    used, unused = (text_id(piece.id) for piece in house.world.pieces(kit))
    ines.made("/out-of-service", item_id=used)
    moved = {"kit_type_id": text_id(other.id)}
    refusal(ines.patch(f"/items/{used}", moved), 409)
    assert ines.patch(f"/items/{unused}", moved).status_code == 200
    assert ines.read(f"/kit-types/{text_id(other.id)}")["capacity"] == 2
    assert ines.read(f"/kit-types/{text_id(kit.id)}")["capacity"] == 1


def test_who_owns_a_piece_is_in_no_journal(ines):
    kit = ines.made("/kit-types", **PACK)
    ines.made("/items", kit_type_id=kit["id"], owner="Somebody Known", owner_kind="person")
    assert "Known" not in json.dumps(ines.read("/journal"))


def test_every_condition_can_be_given(ines):
    kit = ines.made("/kit-types", **PACK)
    item = ines.made("/items", kit_type_id=kit["id"])
    for condition in (*Condition, Condition.FIT):
        assert ines.changed(f"/items/{item['id']}", condition=condition)["condition"] == condition


# Boxes


def test_a_box_lists_its_counts_and_the_pieces_at_home_in_it(ines):
    stand = ines.made("/kit-types", **STAND)
    pack = ines.made("/kit-types", **PACK)
    box = ines.made(
        "/boxes", number="3", name="Packs", counts=[{"kit_type_id": stand["id"], "quantity": 4}]
    )
    item = ines.made("/items", kit_type_id=pack["id"], tag="PL01", home_box_id=box["id"])
    assert item["home_box"] == "3"
    now = ines.read(f"/boxes/{box['id']}")
    assert now["counts"] == [{"kit_type_id": stand["id"], "name": "Stand, tall", "quantity": 4}]
    assert [(i["tag"], i["name"], i["condition"]) for i in now["items"]] == [
        ("PL01", PACK["name"], "fit")
    ]
    assert now["version"] > box["version"]


def test_whatever_a_box_shows_of_other_things_makes_a_new_version_of_it(ines):
    stand = ines.made("/kit-types", **STAND)
    pack = ines.made("/kit-types", **PACK)
    box = ines.made("/boxes", number="3", counts=[{"kit_type_id": stand["id"], "quantity": 4}])
    path = f"/boxes/{box['id']}"
    item = ines.made("/items", kit_type_id=pack["id"], home_box_id=box["id"])
    versions = [ines.read(path)["version"]]
    for other, change in (
        (f"/kit-types/{stand['id']}", {"name": "Stand, very tall"}),
        (f"/kit-types/{pack['id']}", {"name": "Pack"}),
        (f"/items/{item['id']}", {"condition": "suspect"}),
        (f"/items/{item['id']}", {"tag": "PL09"}),
        (f"/items/{item['id']}", {"home_box_id": None}),
    ):
        ines.changed(other, **change)
        versions.append(ines.read(path)["version"])
    assert versions == sorted(set(versions))


def test_a_renumbered_box_makes_new_versions_of_its_pieces(ines):
    pack = ines.made("/kit-types", **PACK)
    box = ines.made("/boxes", number="3")
    item = ines.made("/items", kit_type_id=pack["id"], home_box_id=box["id"])
    ines.changed(f"/boxes/{box['id']}", number="33")
    now = ines.read(f"/items/{item['id']}")
    assert (now["home_box"], now["version"] > item["version"]) == ("33", True)


def test_counts_are_replaced_as_a_whole(ines):
    stand = ines.made("/kit-types", **STAND)
    other = ines.made("/kit-types", **STAND | {"name": "Clamp"})
    box = ines.made("/boxes", number="1", counts=[{"kit_type_id": stand["id"], "quantity": 4}])
    now = ines.changed(f"/boxes/{box['id']}", counts=[{"kit_type_id": other["id"], "quantity": 2}])
    assert [count["name"] for count in now["counts"]] == ["Clamp"]
    assert ines.changed(f"/boxes/{box['id']}", counts=[])["counts"] == []


def test_a_box_stands_in_itself_through_no_chain(ines):
    outer = ines.made("/boxes", number="1")
    middle = ines.made("/boxes", number="2", inside_box_id=outer["id"])
    inner = ines.made("/boxes", number="3", inside_box_id=middle["id"])
    for box in (outer, middle, inner):
        answer = ines.patch(f"/boxes/{outer['id']}", {"inside_box_id": box["id"]})
        assert "stand in itself" in refusal(answer, 422, "#/inside_box_id")
    assert ines.read(f"/boxes/{outer['id']}")["inside_box_id"] is None
    ines.changed(f"/boxes/{inner['id']}", inside_box_id=outer["id"])


@pytest.mark.parametrize("number", ["1", " 1 "])
def test_a_boxs_number_is_its_own(ines, number):
    ines.made("/boxes", number="1")
    refusal(ines.post("/boxes", {"number": number}), 422, "#/number")


def test_pieces_are_not_counted_into_a_box(ines):
    pack, stand = ines.made("/kit-types", **PACK), ines.made("/kit-types", **STAND)
    counts = [{"kit_type_id": kit["id"], "quantity": 1} for kit in (stand, pack)]
    answer = ines.post("/boxes", {"number": "1", "counts": counts})
    refusal(answer, 422, "#/counts/1/kit_type_id")
    twice = ines.post("/boxes", {"number": "1", "counts": counts[:1] * 2})
    refusal(twice, 422, "#/counts")
    assert ines.read("/boxes")["boxes"] == []
