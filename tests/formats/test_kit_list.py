"""Kit lists: the owner's own spreadsheet in, every bad row by number, and the same list out."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crossload.domain.kit import TRAITS, Condition, Need, OwnerKind, Tracking
from crossload.domain.kit_list import (
    CATEGORIES,
    KitRow,
    ListedBox,
    ListedPiece,
    ListedType,
)
from crossload.formats.cells import plain
from crossload.formats.grid import Number, TableRefused
from crossload.formats.kit_columns import COLUMNS
from crossload.formats.kit_list import read_kit_list, write_kit_list
from crossload.formats.tables import read_table, write_table

SAMPLES = Path(__file__).parents[2] / "fixtures" / "samples"


def a_list(*lines: str, **settings):
    return read_kit_list("\n".join(lines).encode(), **{"currency_exponent": 2, **settings})


def a_sample(name: str, **settings):
    return read_kit_list((SAMPLES / name).read_bytes(), **{"currency_exponent": 2, **settings})


def said(kit) -> list[tuple[int, str, str]]:
    return [(problem.row, problem.column, problem.reason) for problem in kit.problems]


# --- headers


def test_no_header_means_two_columns_and_every_column_has_three_other_names():
    meanings: dict[str, str] = {}
    for column in COLUMNS:
        assert len(set(column.synonyms)) >= 3, column.field
        for header in (column.label, *column.synonyms):
            assert meanings.setdefault(plain(header), column.field) == column.field


@pytest.mark.parametrize("column", COLUMNS, ids=lambda column: column.field)
def test_a_column_is_known_by_each_of_its_names(column):
    for header in (column.label, *column.synonyms):
        for written in (header, header.upper(), f"  {header.replace(' ', '-')}. "):
            kit = a_list(f'"Kit type","Category","{written}"')
            assert column.field in kit.columns
            assert kit.kept_columns == ()


def test_a_header_that_nobody_knows_is_kept_as_a_note():
    kit = a_list("Kit,Group,Qty,Bought,Insured by", "Jaw clamp,clamp,30,2019,")
    assert kit.kept_columns == ("Bought", "Insured by")
    assert kit.rows[0].kit_type.notes == {"Bought": "2019"}


def test_a_list_without_the_needed_headers_is_told_which():
    kit = a_sample("wrong-headers.csv")
    assert kit.rows == ()
    assert [(p.row, p.column) for p in kit.problems] == [(1, ""), (1, "")]
    assert "Kit type, name" in kit.problems[1].reason


def test_a_word_below_that_could_be_a_header_does_not_make_a_header_of_its_row():
    kit = a_list("Bezeichnung,Art", "Tasche,Pouch")
    assert {problem.row for problem in kit.problems} == {1}


def test_lines_above_the_header_are_passed_over():
    kit = a_list("Fernhill Hire", "", "as of Tuesday,,", "Kit,Group,Qty", "Jaw clamp,clamp,30")
    assert kit.problems == ()
    assert [(row.row, row.quantity) for row in kit.rows] == [(5, 30)]


def test_two_columns_of_one_meaning_are_a_problem():
    kit = a_list("Name,Kit,Category,Qty", "a,b,clamp,1")
    assert (1, "Kit", "means the same as the column Name: keep one") in said(kit)
    twice = a_list("Name,Category,Qty,Seen,Seen", "a,clamp,1,x,y")
    assert said(twice) == [(1, "Seen", "stands over two columns: give one another name")]


def test_text_without_a_header_is_a_problem_and_not_lost_in_silence():
    kit = a_list("Name,Category,Qty,", "a,clamp,1,", "b,clamp,1,x", "c,clamp,1,y")
    assert said(kit) == [(3, "", "column 4 holds text and has no header")]


# --- the messy samples


def test_the_local_list_is_read_with_its_own_marks_and_units():
    kit = a_sample("semicolons.csv")
    assert kit.problems == ()
    pack, *_, clamp, rig = (row.kit_type for row in kit.rows)
    assert (pack.price_minor, pack.mass_g) == (148_000, 142)
    assert (pack.prep_s, pack.check_in_s) == (1800, 3600)
    assert (clamp.price_minor, clamp.mass_g, clamp.check_in_s) == (9650, 720, 1200)
    assert (rig.price_minor, rig.mass_g, rig.check_in_s) == (320_000, 6400, 5400)
    assert kit.rows[0].piece.notes == {"Bought on": "3.2.2021", "Shelf mark": "Ä"}
    assert kit.rows[0].row == 3


def test_prices_in_another_currency_are_refused_cell_by_cell():
    kit = a_sample("semicolons.csv", currency="GBP")
    assert said(kit) == [
        (5, "Replacement cost", "1.480,00 € is in EUR: give it in GBP"),
    ]
    header = a_list("Name,Category,Qty,Price (EUR)", "a,clamp,1,2.50", currency="GBP")
    assert said(header) == [(1, "Price (EUR)", "is in EUR: give it in GBP")]


def test_tabs_and_other_words_for_the_columns_are_read():
    kit = a_sample("tabs.tsv")
    assert [(r.kit_type.name, r.kit_type.category, r.quantity) for r in kit.rows] == [
        ("Pouch, small", "pouch", 20),
        ("Strap, thigh", "strap", 8),
    ]


def test_text_that_looks_like_a_formula_stays_text_and_is_no_number():
    kit = a_sample("formulas.csv")
    assert said(kit) == [(2, "Quantity", "=10+20 is not a number")]
    assert kit.rows[0].kit_type.notes == {"Remarks": '=HYPERLINK("x")'}
    assert kit.rows[2].piece.tag == "=SL02"


def test_a_formula_without_a_value_is_the_only_thing_said_of_its_cell():
    kit = a_sample("formula-without-value.xlsx")
    assert [(p.row, p.column) for p in kit.problems] == [
        (3, "Quantity"),
        (3, "Replacement price"),
    ]
    assert [row.kit_type.name for row in kit.rows] == ["Jaw clamp"]


def test_a_workbook_says_which_sheets_it_left_out():
    kit = a_sample("sheets.xlsx", currency="GBP")
    assert kit.problems == ()
    assert kit.left_out == ("Cover", "Old list", "Totals")
    assert kit.rows[0].kit_type.price_minor == 123_450
    assert not any(type(text) is Number for text in kit.rows[0].kit_type.notes.values())


def test_codes_that_a_scan_could_not_tell_apart_are_named_with_the_first_row():
    assert said(a_sample("duplicate-tags.csv")) == [
        (4, "Tag", "the tag pl01 stands on row 2 already"),
        (5, "Barcode", "the barcode PL02 stands on row 3 already"),
        (5, "Radio no", "the number 2 stands on row 3 already"),
    ]


def test_every_fault_of_a_list_is_told_by_row_column_and_reason():
    kit = a_sample("many-faults.csv", currency="GBP")
    single = "is for single pieces, and this kit is kept by count"
    assert said(kit) == [
        (2, "Goes with", "mood does not have to agree: range, mode, plug, battery, pouch can"),
        (3, "Replacement price", "1,490.00 is not what row 2 says of it"),
        (4, "Quantity", "is 3: kit that is known piece by piece has a row for each"),
        (5, "Category", "recever is not a category: receiver is, if that is meant"),
        (5, "Replacement price", "-5 is negative: give 0 or more"),
        (6, "Quantity", "-4 is negative: give 0 or more"),
        (7, "Quantity", "2.5 is not a whole number"),
        (7, "Replacement price", "41.005 has more decimals than its currency: it has 2"),
        (8, "Quantity", "99999999999999999999 is more than 1,000,000, the most that is taken"),
        (
            *(9, "Condition"),
            "dented is not known here: write fit, suspect, damaged, in repair, lost, retired",
        ),
        (9, "Prep (min)", "a while is not a time span: give minutes, or 1 h 30 min"),
        (9, "Goes with", "mains lead is no category of any kit"),
        (9, "Substitutes", "Low stand cannot stand in for itself"),
        (9, "Substitutes", "Tall stand is no kit type of this list"),
        (9, "Consent", "perhaps is not known here: write yes or no"),
        (10, "Quantity", "is empty: say how many there are, or 0"),
        (11, "MHz", "606500 lies outside 1 to 10,000 MHz: give it in MHz"),
        (12, "MHz", "is empty: every row of a frequency kit type needs it"),
        (14, "MHz", "the frequency 606.5 stands on row 13 already"),
        (15, "Kit type", "is empty: every row of kit needs it"),
        (16, "Inside box", "box 4 would stand in itself"),
        (17, "Tag", single),
        (17, "Inside box", "box 5 would stand in itself"),
        (18, "Condition", single),
        (19, "Kit type", "stands in box 6 on row 18 already: add the two up"),
    ]
    assert [row.row for row in kit.rows] == [13]


def test_markup_sql_and_templates_are_text_like_any_other():
    kit = a_sample("script-and-sql.csv")
    assert kit.problems == ()
    first, second = kit.rows
    assert first.kit_type.name == "Slate'); DROP TABLE item;--"
    assert first.piece.tag == "x' OR '1'='1"
    assert first.piece.owner == "<b>Fernhill</b>"
    assert first.piece.notes == {"Remarks": "<script>alert(1)</script>"}
    assert second.piece.tag == "{{7*7}}"
    assert second.piece.notes == {"Remarks": '<img src=x onerror="alert(1)">'}
    for kind in ("csv", "xlsx"):
        again = read_kit_list(
            write_kit_list(kit.rows, kind, currency_exponent=2), currency_exponent=2
        )
        assert again.rows == kit.rows


def test_a_list_that_is_no_table_is_refused_as_a_whole():
    with pytest.raises(TableRefused):
        a_sample("latin-1.csv")
    assert a_sample("latin-1.csv", encoding="latin-1").rows[0].kit_type.name == "Étui, small"


# --- what rows say together


def test_what_is_a_kit_type_s_own_may_stand_on_any_one_of_its_rows():
    kit = a_list(
        "Kit,Category,Tag,Make,Mode",
        "Pack low,pack,A,,digital",
        "pack  LOW,,B,Skerrow,",
        "Pack low,pack,C,Skerrow,digital",
    )
    assert kit.problems == ()
    assert len(kit.kit_types) == 1
    (kit_type,) = kit.kit_types
    assert (kit_type.name, kit_type.make, kit_type.traits) == (
        "Pack low",
        "Skerrow",
        {"mode": "digital"},
    )
    assert all(row.kit_type == kit_type for row in kit.rows)


def test_a_box_is_the_same_on_all_of_its_rows_and_outer_boxes_come_first():
    kit = a_list(
        "Kit,Category,Qty,Box,Box name,Inside box,Shelf",
        "Jaw clamp,clamp,4,12,,g11,",
        "Pole cradle,clamp,2,12,Clamps,,",
        ",,,G11,Grip trunk,20,C2",
    )
    assert kit.problems == ()
    clamps, trunk = ListedBox("12", "Clamps", "G11"), ListedBox("G11", "Grip trunk", "20", "C2")
    assert [row.box for row in kit.rows] == [clamps, clamps, trunk]
    assert kit.boxes == (ListedBox("20"), trunk, clamps)
    assert kit.rows[2].kit_type is None


def test_boxes_that_stand_in_each_other_are_a_problem_and_do_not_hang():
    kit = a_list(
        "Kit,Category,Qty,Box,Inside box",
        "Jaw clamp,clamp,4,1,2",
        "Pole cradle,clamp,4,2,1",
        "Glass clamp,clamp,4,1,",
        "Low clamp,clamp,4,3,3",
    )
    assert [p.row for p in kit.problems] == [2, 3, 5]
    assert {box.number for box in kit.boxes} == {"1", "2"}


def test_boxes_may_stand_in_each_other_as_deep_as_a_list_is_long():
    lines = [f"Clamp {at},clamp,1,{at},{at + 1}" for at in range(3000)]
    kit = a_list("Kit,Category,Qty,Box,Inside box", *lines)
    assert kit.problems == ()
    assert [box.number for box in kit.boxes] == [str(at) for at in range(3000, -1, -1)]


def test_how_kit_is_kept_follows_from_its_rows_where_nothing_says_it():
    kit = a_list(
        "Kit,Category,Qty,Tag,MHz,Reorder level",
        "Jaw clamp,clamp,4,,,",
        "Low stand,stand,,SL1,,",
        "Low stand,,,,,",
        "Skin tape,tape,9,,,3",
        "Frequency low,frequency,,,470.5,",
    )
    assert kit.problems == ()
    assert [each.tracking for each in kit.kit_types] == [
        *(Tracking.COUNT, Tracking.SERIAL, Tracking.CONSUMABLE, Tracking.FREQUENCY)
    ]
    assert [row.quantity for row in kit.rows] == [4, 1, 1, 9, 1]
    assert kit.rows[4].piece.frequency_hz == 470_500_000


@pytest.mark.parametrize(
    ("cell", "needs"),
    [
        (
            "receiver 1 (range, mode); lavalier 1 (plug)",
            (Need("receiver", 1, ("range", "mode")), Need("lavalier", 1, ("plug",))),
        ),
        ("2 batteries (battery)", (Need("battery", 2, ("battery",)),)),
        ("2 x pouch", (Need("pouch", 2),)),
        ("Boom microphones", (Need("boom microphone", 1),)),
        ("listening receiver x2;", (Need("listening receiver", 2),)),
        ("pouch ( Pouch )\nstrap 3", (Need("pouch", 1, ("pouch",)), Need("strap", 3))),
    ],
)
def test_what_goes_with_what_is_read_as_people_write_it(cell, needs):
    kit = a_list("Kit,Category,Qty,Goes with", f'a,clamp,1,"{cell}"')
    assert kit.problems == ()
    assert kit.rows[0].kit_type.goes_with == needs


@pytest.mark.parametrize(
    "cell", ["receiver 0", "receiver 1 2", "2 receiver 3", "(range)", "receiver (", "1001 pouch"]
)
def test_what_goes_with_what_is_refused_where_it_is_not_clear(cell):
    kit = a_list("Kit,Category,Qty,Goes with", f'a,clamp,1,"{cell}"')
    assert [(p.row, p.column) for p in kit.problems] == [(2, "Goes with")]


def test_a_house_has_categories_and_kit_types_of_its_own():
    lines = (
        "Kit,Category,Qty,Goes with,Substitutes",
        "Mains lead,Cable,3,,Reel",
        "Lamp,light,1,cable 1; stage box 1,",
    )
    kit = a_list(*lines, known_kit_types=["REEL"], known_categories=["stage box"])
    assert kit.problems == ()
    assert kit.kit_types[0].category == "cable"
    assert said(a_list(*lines)) == [
        (2, "Substitutes", "Reel is no kit type of this list"),
        (3, "Goes with", "stage box is no category of any kit"),
    ]


def test_an_owner_is_somebody_else_than_the_house_unless_the_row_says_so():
    kit = a_list(
        "Kit,Category,Tag,Owner,Owner kind,Consent",
        "a,slate,1,,,",
        "a,,2,Tobin,,yes",
        "a,,3,Saltmarsh,production,",
        "a,,4,Fernhill,house,no",
    )
    owners = [(row.piece.owner_kind, row.piece.consent_required) for row in kit.rows]
    assert owners == [
        (OwnerKind.HOUSE, False),
        (OwnerKind.PERSON, True),
        (OwnerKind.PRODUCTION, False),
        (OwnerKind.HOUSE, False),
    ]


def test_columns_tell_what_a_list_speaks_of():
    kit = a_list("Kit,Category,Qty,Price", "a,clamp,1,")
    assert kit.columns == {"kit_type", "category", "quantity", "price_minor"}
    assert kit.rows[0].kit_type.price_minor is None


# --- out and in again

names = st.text(st.characters(exclude_categories=["C"]), min_size=1, max_size=12).map(
    lambda text: " ".join(text.split())
)
words = names.filter(lambda text: text and text.isprintable())
maybe = st.just("") | words
whole = st.integers(0, 100_000)
notes = st.dictionaries(words, words | st.just("a\nb"), max_size=2)
categories = st.sampled_from((*CATEGORIES, "cable", "light"))


@st.composite
def kit_lists(draw) -> list[KitRow]:
    """Consistent lists: kit types, boxes in boxes, pieces with codes of their own, counts."""
    type_names = draw(st.lists(words, min_size=1, max_size=3, unique_by=str.casefold))
    numbers = draw(st.lists(words, max_size=3, unique_by=str.casefold))
    boxes = [
        ListedBox(number, draw(maybe), numbers[at - 1] if at and draw(st.booleans()) else "", "")
        for at, number in enumerate(numbers)
    ]
    serials = iter(range(1, 1000))
    rows = [KitRow(None, box=box) for box in boxes]
    for name in type_names:
        others = [other for other in type_names if other != name]
        kit_type = draw(kit_types(name, others))
        places = draw(st.lists(st.sampled_from([None, *boxes]), min_size=1, max_size=3))
        if kit_type.tracking in (Tracking.COUNT, Tracking.CONSUMABLE):
            unlike = dict.fromkeys(places)
            rows += [KitRow(kit_type, None, draw(whole), box) for box in unlike]
        elif draw(st.integers(0, 4)) == 0:
            rows.append(KitRow(kit_type, None, 0))
        else:
            rows += [
                KitRow(kit_type, draw(pieces(kit_type, next(serials))), 1, box) for box in places
            ]
    return rows


@st.composite
def kit_types(draw, name: str, others: list[str]) -> ListedType:
    match = st.lists(st.sampled_from(TRAITS), unique=True, max_size=2).map(tuple)
    needs = st.builds(Need, st.sampled_from(CATEGORIES), st.integers(1, 1000), match)
    return ListedType(
        name=name,
        category=draw(categories),
        tracking=draw(st.sampled_from(Tracking)),
        make=draw(maybe),
        model=draw(maybe),
        price_minor=draw(st.none() | st.integers(0, 10**9)),
        mass_g=draw(st.none() | whole),
        prep_s=draw(st.integers(0, 86_400)),
        check_in_s=draw(st.integers(0, 86_400)),
        reorder_level=draw(st.none() | whole),
        rechargeable=draw(st.booleans()),
        ways=draw(st.integers(0, 64)),
        traits=draw(st.dictionaries(st.sampled_from(TRAITS), words, max_size=3)),
        goes_with=tuple(draw(st.lists(needs, max_size=2))),
        substitutes=tuple(draw(st.lists(st.sampled_from(others), unique=True))) if others else (),
        notes=draw(notes),
    )


@st.composite
def pieces(draw, kit_type: ListedType, serial: int) -> ListedPiece:
    carries = kit_type.tracking is Tracking.FREQUENCY
    owner = draw(maybe)
    return ListedPiece(
        tag=draw(st.just("") | words.map(lambda text: f"{text}{serial}t")),
        barcode=draw(st.just("") | st.just(f"00{serial}")),
        serial_number=draw(maybe),
        radio_number=draw(st.just("") | st.just(str(serial))),
        owner=owner,
        owner_kind=draw(st.sampled_from(OwnerKind)),
        consent_required=draw(st.booleans()),
        condition=draw(st.sampled_from(Condition)),
        frequency_hz=draw(st.integers(10**6, 10**8)) * 10 + serial % 10 if carries else None,
        notes=draw(notes),
    )


def _no_frequency_twice(rows: list[KitRow]) -> bool:
    carried = [row.piece.frequency_hz for row in rows if row.piece and row.piece.frequency_hz]
    return len(carried) == len(set(carried))


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("exponent", [0, 2, 3])
@settings(max_examples=60)
@given(rows=kit_lists().filter(_no_frequency_twice))
def test_a_list_that_is_written_reads_the_same(kind, exponent, rows):
    content = write_kit_list(rows, kind, currency_exponent=exponent)
    kit = read_kit_list(content, currency_exponent=exponent)
    assert kit.problems == ()
    assert list(kit.rows) == rows
    assert [row.row for row in kit.rows] == list(range(2, len(rows) + 2))


def test_a_note_whose_name_is_a_column_s_stays_a_note():
    kit_type = ListedType("Slate", "slate", Tracking.SERIAL, notes={"Tag": "x", "note: y": "z"})
    piece = ListedPiece(tag="S1", notes={"Owner": "old", "kit type note: q": "r"})
    rows = (KitRow(kit_type, piece, 1),)
    assert (
        read_kit_list(write_kit_list(rows, currency_exponent=2), currency_exponent=2).rows == rows
    )


def test_what_an_export_holds_is_not_said_twice():
    kit_type = ListedType("Slate", "slate", Tracking.SERIAL, make="Linmoor", price_minor=100)
    box = ListedBox("17", "Slates")
    rows = [KitRow(kit_type, ListedPiece(tag=tag), 1, box) for tag in ("S1", "S2")]
    header, first, second = read_table(write_kit_list(rows, currency_exponent=2)).rows
    for name, text in (("Make", "Linmoor"), ("Replacement price", "1.00"), ("Box name", "Slates")):
        at = header.index(name)
        assert first[at] == text
        assert second[at : at + 1] in ((), ("",))


def test_a_large_list_is_read_in_seconds():
    from time import perf_counter

    lines = [["Kit type", "Category", "Tracking", "Tag"], ["Pack", "pack", "serial", "P0"]]
    lines += [["Pack", None, None, f"P{at}"] for at in range(1, 49_999)]
    content = write_table(lines)
    start = perf_counter()
    kit = read_kit_list(content, currency_exponent=2)
    assert len(kit.rows) == 49_999
    assert perf_counter() - start < 20
