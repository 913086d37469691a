"""Bytes to rows of text and back, and the files that are refused with one sentence."""

import io
import re
import zipfile
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from time import perf_counter

import openpyxl
import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st

from crossload.formats.grid import MAX_BYTES, MAX_COLUMNS, MAX_ROWS, Number, TableRefused
from crossload.formats.tables import read_table, write_table
from crossload.formats.workbooks import MAX_UNPACKED_BYTES

SAMPLES = Path(__file__).parents[2] / "fixtures" / "samples"

# What a spreadsheet file can hold: no control characters, no lone halves of characters.
TEXTS = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\ufffe\uffff"), max_size=12
) | st.sampled_from(
    ["=1+1", "'=1", "''=1", "'", "-", "+44 1632", "@x", "a\nb", '"', "a;b,c", "\tx", "_x000D_"]
)


def refusal(content: bytes, **settings) -> str:
    with pytest.raises(TableRefused) as caught:
        read_table(content, **settings)
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    return sentence


def a_workbook(*sheets: list[list[object]]) -> bytes:
    file = io.BytesIO()
    book = xlsxwriter.Workbook(file, {"in_memory": True})
    for rows in sheets:
        sheet = book.add_worksheet()
        for at, row in enumerate(rows):
            sheet.write_row(at, 0, row)
    book.close()
    return file.getvalue()


def repacked(content: bytes, changes: dict[str, bytes]) -> bytes:
    """A workbook with some of its parts replaced or added."""
    file = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in {*old.namelist(), *changes}:
            new.writestr(name, changes[name] if name in changes else old.read(name))
    return file.getvalue()


@pytest.mark.parametrize(
    ("content", "rows"),
    [
        pytest.param(b"a,b\r\n1,2\r\n", (("a", "b"), ("1", "2")), id="comma"),
        pytest.param(b"a;b\n1,5;2\n", (("a", "b"), ("1,5", "2")), id="semicolon"),
        pytest.param(b"a\tb\n1;5\t2,3\n", (("a", "b"), ("1;5", "2,3")), id="tab"),
        pytest.param(b"\xef\xbb\xbfa;b\n", (("a", "b"),), id="byte order mark"),
        pytest.param(b"sep=;\r\na,b;c\r\n", (("a,b", "c"),), id="a program's own first line"),
        pytest.param(b'a,b\n"x\r\ny","q""q"\n', (("a", "b"), ("x\ny", 'q"q')), id="quoted"),
        pytest.param(b"a\rb\r", (("a",), ("b",)), id="old line ends"),
        pytest.param(b"a,b,,\n,,\n\nc\n", (("a", "b"), (), (), ("c",)), id="empty ends and rows"),
        pytest.param(b'"a,b,c";d\n"e,f";g\n', (("a,b,c", "d"), ("e,f", "g")), id="quoted commas"),
        pytest.param("é,£\n".encode(), (("é", "£"),), id="UTF-8"),
        pytest.param(b"'=x,'+y,'-1,'@z,'plain\n", (("=x", "+y", "-1", "@z", "'plain"),), id="'"),
        pytest.param(b"''=x,'''=x\n", (("'=x", "''=x"),), id="one ' is taken, not two"),
    ],
)
def test_csv_is_read_as_people_s_programs_write_it(content, rows):
    assert read_table(content).rows == rows


def test_latin_1_is_read_when_the_sender_says_so_and_never_by_a_guess():
    content = (SAMPLES / "latin-1.csv").read_bytes()
    assert refusal(content) == (
        "Line 2 of the file is not UTF-8: save it as CSV in UTF-8, or say that it is Latin-1."
    )
    rows = read_table(content, encoding="latin-1").rows
    assert rows[1] == ("Étui, small", "pouch", "12", "façon à la main")


def test_what_calls_itself_latin_1_is_windows_1252():
    # WHATWG Encoding Standard, table of names and labels: "latin1" is windows-1252; 0x80 is €.
    assert read_table(b"a,\x80\n", encoding="latin-1").rows == (("a", "€"),)


def test_utf_8_with_its_mark_is_utf_8_whatever_the_sender_says():
    assert read_table(b"\xef\xbb\xbf\xc3\xa9\n", encoding="latin-1").rows == (("é",),)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        pytest.param(b"", "is empty", id="nothing"),
        pytest.param(b"\n,,\n", "holds no rows", id="a line end only"),
        pytest.param("a,b".encode("utf-16"), "UTF-16", id="UTF-16"),
        pytest.param(b"a,b\n\xff,1\n", "Line 2", id="a byte that is not UTF-8"),
        pytest.param(b'a,b\n"open,1\nx,2\n', "Row 2 has a quotation mark", id="open quotation"),
        pytest.param(b'a\n"b"c\n', "Row 2 has a quotation mark", id="text after a quotation"),
        pytest.param(
            b"a," + b"x" * 40_000, "Row 1, column 2 holds more than 32 kB", id="long cell"
        ),
        pytest.param(b'a,"' + b"x" * 200_000, "too long", id="a cell without end"),
        pytest.param(b"a," * 200 + b"a", "has 201 columns", id="a column too many"),
        pytest.param(b"x" * (MAX_BYTES + 1), "larger than 16 MB", id="too large"),
        pytest.param(
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512), "password", id="old workbook"
        ),
        pytest.param(b"PK\x03\x04" + bytes(90), "not a workbook", id="broken archive"),
        pytest.param(a_workbook([["a"]])[:-40], "not a workbook", id="a workbook cut short"),
        pytest.param(a_workbook([]), "No visible sheet", id="an empty workbook"),
        pytest.param(a_workbook([["a"] * 201]), "has 201 columns", id="a wide workbook"),
        pytest.param(a_workbook([["a", *[None] * 400, "b"]]), "has 402 columns", id="a wide gap"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_with_the_mend(content, words):
    assert words in refusal(content)


def test_the_largest_table_is_read_and_one_row_more_is_not():
    rows = b"a,b\n" * MAX_ROWS
    assert len(read_table(rows).rows) == MAX_ROWS
    assert refusal(rows + b"a,b\n") == "The file has more than 50,000 rows: split it."
    assert len(read_table(b"a," * (MAX_COLUMNS - 1) + b"a").rows[0]) == MAX_COLUMNS


def test_a_million_rows_are_refused_in_a_moment():
    content = b"Jaw clamp,2\n" * 1_000_000
    start = perf_counter()
    refusal(content)
    assert perf_counter() - start < 2


def test_a_workbook_of_a_million_rows_is_refused_before_it_is_parsed():
    row = b'<row><c t="n"><v>1</v></c></row>'
    sheet = b"<worksheet><sheetData>" + row * 1_000_000 + b"</sheetData></worksheet>"
    content = repacked(a_workbook([["a"]]), {"xl/worksheets/sheet1.xml": sheet})
    start = perf_counter()
    assert refusal(content) == "The workbook has more than 50,000 rows: split it."
    assert perf_counter() - start < 2


def test_a_workbook_that_unpacks_without_end_is_refused_before_it_is_unpacked():
    bomb = bytes(MAX_UNPACKED_BYTES)
    content = repacked(a_workbook([["a"]]), {"xl/media/bomb.bin": bomb})
    assert len(content) < 100_000
    assert "64 MB when unpacked" in refusal(content)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_workbook_with_entities_is_refused(encoding):
    book = a_workbook([["Jaw clamp"]])
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        texts = archive.read("xl/sharedStrings.xml").decode()
    head, sst = texts.split("<sst", 1)
    head = head.replace("UTF-8", encoding)
    entity = f'{head}<!DOCTYPE sst [<!ENTITY a "aaaa">]><sst{sst.replace("Jaw", "&a;")}'
    changed = repacked(book, {"xl/sharedStrings.xml": entity.encode(encoding)})
    assert "not a workbook" in refusal(changed)


def test_a_workbook_that_lies_about_its_width_costs_no_more_than_its_bounds():
    row = b'<row r="%d"><c r="A%d" t="n"><v>1</v></c><c r="XFD%d" t="n"><v>1</v></c></row>'
    rows = b"".join(row % (at, at, at) for at in range(1, 20_001))
    sheet = (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        b"<sheetData>" + rows + b"</sheetData></worksheet>"
    )
    content = repacked(a_workbook([["a"]]), {"xl/worksheets/sheet1.xml": sheet})
    start = perf_counter()
    assert len(read_table(content).rows) == 20_000
    assert perf_counter() - start < 5


def test_a_workbook_gives_its_first_visible_sheet_with_rows_and_names_the_others():
    table = read_table((SAMPLES / "sheets.xlsx").read_bytes())
    assert table.left_out == ("Cover", "Old list", "Totals")
    assert table.rows[1] == ("Jaw clamp", "clamp", "30", "1234.5", "2020-02-29", "60")


def test_a_computed_formula_gives_its_value_and_an_empty_one_is_no_fault():
    table = read_table((SAMPLES / "sheets.xlsx").read_bytes())
    assert table.rows[2] == ("Pole cradle", "clamp", "10")
    assert table.faults == ()


def test_a_formula_that_nothing_has_computed_is_a_fault_of_its_cell():
    table = read_table((SAMPLES / "formula-without-value.xlsx").read_bytes())
    assert [(fault.row, fault.column) for fault in table.faults] == [(2, 2), (2, 3)]
    assert all("formula without its value" in fault.reason for fault in table.faults)


def test_an_error_value_is_a_fault_of_its_cell():
    book = openpyxl.Workbook()
    book.active.append(["Kit", "Quantity"])
    book.active.append(["Jaw clamp", "#N/A"])
    book.active["B2"].data_type = "e"
    file = io.BytesIO()
    book.save(file)
    (fault,) = read_table(file.getvalue()).faults
    assert (fault.row, fault.column) == (1, 1)
    assert "#N/A" in fault.reason


def test_cells_of_a_workbook_read_the_same_whatever_the_local_settings():
    book = openpyxl.Workbook()
    almost_seven = datetime(2026, 11, 25, 6, 59, 59, 997_000)  # noqa: DTZ001 - as a cell has it
    numbers = [7, 7.0, 0.25, 606.125, True]
    times = [date(2026, 11, 25), time(7, 30), almost_seven, timedelta(hours=26, minutes=30)]
    book.active.append([*numbers, *times, "x"])
    file = io.BytesIO()
    book.save(file)
    assert read_table(file.getvalue()).rows[0] == (
        *("7", "7", "0.25", "606.125", "yes", "2026-11-25", "07:30:00"),
        *("2026-11-25 07:00:00", "26:30", "x"),
    )


def test_a_number_has_the_fifteen_digits_that_a_spreadsheet_keeps():
    book = a_workbook([[0.25, 2.5e-7]])
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        sheet = archive.read("xl/worksheets/sheet1.xml")
    binary = sheet.replace(b"<v>0.25</v>", b"<v>0.30000000000000004</v>")
    assert binary != sheet
    rows = read_table(repacked(book, {"xl/worksheets/sheet1.xml": binary})).rows
    assert rows == (("0.3", "0.00000025"),)


def test_a_control_character_is_a_fault_and_is_not_kept():
    table = read_table(b"a,b\nx\x00y,\x1bz\n")
    assert table.rows[1] == ("xy", "z")
    assert [(f.row, f.column) for f in table.faults] == [(1, 0), (1, 1)]
    assert "U+0000" in table.faults[0].reason


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx", "'=1"])
def test_text_that_a_spreadsheet_takes_for_a_formula_is_escaped_in_csv(text):
    # OWASP, "CSV Injection": fields that begin with = + - @ tab or carriage return.
    assert write_table([[text]]).startswith((b"'", b"\"'"))


def test_a_carriage_return_is_written_as_a_line_end():
    assert write_table([["\r=1"]]) == b'"\n=1"\r\n'


def test_numbers_are_never_escaped():
    rows = [[-5, Decimal("-1234.50"), 0, None, Decimal("1E+3")]]
    assert write_table(rows) == b"-5,-1234.50,0,,1000\r\n"
    assert read_table(write_table(rows, "xlsx")).rows == (("-5", "-1234.5", "0", "", "1000"),)


def test_a_workbook_keeps_text_as_text():
    content = write_table([["=1+1", "0012", "http://example.org", "1e5"]], "xlsx")
    sheet = openpyxl.load_workbook(io.BytesIO(content)).active
    assert [(cell.data_type, cell.value) for cell in sheet[1]] == [
        ("s", "=1+1"),
        ("s", "0012"),
        ("s", "http://example.org"),
        ("s", "1e5"),
    ]
    assert not any(type(text) is Number for text in read_table(content).rows[0])


@given(rows=st.lists(st.lists(TEXTS, min_size=1, max_size=4), min_size=1, max_size=4))
def test_what_is_written_as_csv_reads_the_same(rows):
    _reads_the_same(rows, "csv")


@given(rows=st.lists(st.lists(TEXTS, min_size=1, max_size=4), min_size=1, max_size=4))
def test_what_is_written_as_a_workbook_reads_the_same(rows):
    _reads_the_same(rows, "xlsx")


def _reads_the_same(rows: list[list[str]], kind: str) -> None:
    # A first column that is full keeps rows apart from empty ones, which are trimmed.
    marked = [[f"r{at}", *row] for at, row in enumerate(rows)]
    read = read_table(write_table(marked, kind)).rows
    for row, again in zip(marked, read, strict=True):
        assert list(again) + [""] * (len(row) - len(again)) == row


def test_the_same_rows_give_the_same_bytes_at_any_time():
    rows = [["Kit type", "Quantity"], ["Jaw clamp", 30]]
    content = write_table(rows, "xlsx")
    assert content == write_table(rows, "xlsx")
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert re.findall(rb"20\d\d-[^<]*", archive.read("docProps/core.xml")) == [
            b"2026-01-01T00:00:00Z",
            b"2026-01-01T00:00:00Z",
        ]


def test_a_file_of_control_characters_alone_holds_no_rows():
    with pytest.raises(TableRefused, match="no rows"):
        read_table(b"\x00\x01\x02")
