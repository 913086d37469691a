"""A kit list laid beside what a pool has: which is which, on random pools, without a database."""

from dataclasses import replace
from itertools import count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.kit import COUNTED, Box, Condition, Item, KitType, Tracking
from crossload.domain.kit_list import KitList, KitRow, ListedBox, ListedPiece, ListedType
from crossload.domain.lists.kit import MergedKit, PoolKit, merge_kit
from crossload.domain.lists.listing import list_kit
from crossload.domain.lists.merged import Kind
from crossload.domain.lists.pieces import NewTags
from crossload.domain.lists.types import places_of
from crossload.domain.tags import check_tag, make_tag

EVERY_COLUMN = frozenset(
    ("kit_type", "category", "tracking", "tag", "barcode", "serial_number", "radio_number", "owner",
     "owner_kind", "consent_required", "condition", "frequency_hz", "box", "box_name", "box_inside",
     "box_place", "quantity", "price_minor", "substitutes", "goes_with", "range",
     "reorder_level")
)  # fmt: skip
EMPTY = PoolKit((), (), (), {})


def a_list(rows, columns=EVERY_COLUMN) -> KitList:
    """Rows numbered as in a file, below its header."""
    numbered = tuple(replace(row, row=at) for at, row in enumerate(rows, start=2))
    return KitList(numbered, (), dict.fromkeys(columns, ""))


def merged(rows, pool=EMPTY, **more) -> MergedKit:
    ids = count(1000 + len(pool.items) + len(pool.kit_types) + len(pool.boxes))
    return merge_kit(a_list(rows, **more), pool, lambda: next(ids), len(pool.items))


def pool_of(found: MergedKit, before: PoolKit = EMPTY) -> PoolKit:
    """The pool once a list is in it, written the plain way."""

    def laid(existing, changes):
        values = {value.id: value for value in existing}
        return tuple((values | {each.id: each.value for each in changes}).values())

    counts = {kit: dict(pairs) for kit, pairs in before.counts.items()}
    for kit, box, quantity in found.places:
        counts.setdefault(kit, {}).pop(box, None)
        if quantity:
            counts[kit][box] = quantity
    return PoolKit(
        laid(before.kit_types, found.types),
        laid(before.items, found.pieces),
        laid(before.boxes, found.boxes),
        {kit: tuple(pairs.items()) for kit, pairs in counts.items()},
    )


def kinds(found: MergedKit) -> set[Kind]:
    return {each.kind for each in (*found.boxes, *found.types, *found.pieces)}


BOXES = [ListedBox(str(n), f"box {n}", "" if n < 3 else "1") for n in range(1, 5)]
TYPES = [
    ListedType("Pack", "pack", Tracking.SERIAL),
    ListedType("Slate", "slate", Tracking.SERIAL),
    ListedType("Clamp", "clamp", Tracking.COUNT),
    ListedType("Tape", "tape", Tracking.CONSUMABLE, reorder_level=2),
]


@st.composite
def lists(draw) -> list[KitRow]:
    """Rows as the reader of files lets them through: grouped by kit type, no code twice."""
    codes = draw(st.permutations([f"C{n}" for n in range(40)]))
    rows: list[KitRow] = []
    box = st.sampled_from([None, *BOXES])
    for kit_type in draw(st.lists(st.sampled_from(TYPES), unique_by=lambda kind: kind.name)):
        if kit_type.tracking in COUNTED:
            places = draw(st.lists(box, max_size=3, unique_by=lambda b: b and b.number))
            rows += [KitRow(kit_type, None, draw(st.integers(1, 9)), place) for place in places]
            if not places:
                rows.append(KitRow(kit_type))
            continue
        for _ in range(draw(st.integers(0, 5))):
            piece = ListedPiece(
                tag=draw(st.sampled_from(["", codes.pop()])),
                barcode=draw(st.sampled_from(["", "", codes.pop()])),
                serial_number=draw(st.sampled_from(["", "", codes.pop()])),
                condition=draw(st.sampled_from(list(Condition))),
            )
            rows.append(KitRow(kit_type, piece, 1, draw(box)))
        if not rows or rows[-1].kit_type != kit_type:
            rows.append(KitRow(kit_type))
    return rows


@given(lists())
def test_a_list_that_is_in_is_the_same_when_it_comes_again(rows):
    pool = pool_of(merged(rows))
    again = merged(rows, pool)
    assert again.problems == ()
    assert kinds(again) <= {Kind.SAME}
    assert again.places == []


@given(lists())
def test_what_comes_out_is_what_went_in_with_a_tag_for_every_piece(rows):
    pool = pool_of(merged(rows))
    out = list_kit(pool)
    assert kinds(merged(out, pool)) <= {Kind.SAME}
    plain = [row for row in out if row.kit_type]
    assert len(plain) == len(rows)
    by_place = {_place(row): row for row in plain if not row.piece}
    pieces = iter([row.piece for row in plain if row.piece])
    for row in rows:
        if row.piece is None:
            assert by_place[_place(row)] == row
        else:
            piece = next(pieces)
            assert replace(piece, tag=row.piece.tag) == row.piece
            assert piece.tag == (row.piece.tag or row.piece.barcode) or check_tag(piece.tag)


def _place(row: KitRow) -> tuple[str, str]:
    return row.kit_type.name, row.box.number if row.box else ""


@given(lists(), lists())
def test_no_list_gives_a_piece_away_or_a_code_to_two(first, second):
    pool = pool_of(merged(first))
    found = merged(second, pool)
    if found.problems:
        return
    after = pool_of(found, pool)
    assert {item.id for item in pool.items} <= {item.id for item in after.items}
    kept = {item.id: item.kit_type for item in pool.items}
    assert all(kept.get(item.id, item.kit_type) == item.kit_type for item in after.items)
    codes = [code for item in after.items for code in {item.tag, item.barcode} - {""}]
    assert len(codes) == len(set(codes))


@given(lists(), lists())
def test_after_a_second_list_each_counted_kit_type_that_it_names_is_as_it_says(first, second):
    pool = pool_of(merged(first))
    found = merged(second, pool)
    if found.problems:
        return
    after = pool_of(found, pool)
    names = {box.id: box.number for box in after.boxes}
    for kit_type in after.kit_types:
        said = [row for row in second if row.kit_type.name == kit_type.name and not row.piece]
        if kit_type.tracking in COUNTED and said:
            places = places_of(kit_type, after.counts.get(kit_type.id, ()))
            lies = {names.get(box, ""): quantity for box, quantity in places.items()}
            assert lies == {_place(row)[1]: row.quantity for row in said if row.quantity}


def test_places_add_up_to_the_count_though_consumables_have_gone_from_the_boxes():
    tape = KitType(1, "Tape", "tape", Tracking.CONSUMABLE, count=5)
    assert places_of(tape, [(10, 4), (11, 4)]) == {10: 4, 11: 1}
    assert places_of(replace(tape, count=0), [(10, 4)]) == {}
    assert places_of(replace(tape, count=9), [(10, 4), (11, 4)]) == {10: 4, 11: 4, None: 1}


def test_a_row_s_tag_weighs_more_than_its_barcode_and_that_more_than_its_serial_number():
    items = [
        Item(1, 100, "T1", serial_number="S3"),
        Item(2, 100, "T2", barcode="B1"),
        Item(3, 100, "T3", serial_number="S1"),
    ]
    pool = PoolKit((KitType(100, "Pack", "pack", Tracking.SERIAL),), items, (), {})
    rows = [
        KitRow(TYPES[0], ListedPiece("T1", serial_number="S1"), 1),
        KitRow(TYPES[0], ListedPiece("", "B1", "S1"), 1),
        KitRow(TYPES[0], ListedPiece("", "", "S1"), 1),
    ]
    assert [each.id for each in merged(rows, pool).pieces] == [1, 2, 3]


@pytest.mark.parametrize("between", ["-", "", " "], ids=["as made", "bare", "spaced"])
def test_no_tag_is_made_that_a_piece_is_scanned_by_already_however_that_is_written(between):
    code = make_tag(0).lower().replace("-", between)
    assert NewTags(0, [Item(1, 100, "P1", barcode=code)], ()).take() == make_tag(1)


def test_a_box_that_only_others_stand_in_is_made_and_named_no_more_than_that():
    rows = [KitRow(None, box=ListedBox("2", "inner", "1"))]
    outer, inner = merged(rows).boxes
    assert outer.value == Box(outer.id, "1")
    assert inner.value.inside == outer.id
