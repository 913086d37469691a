"""Workbooks (XLSX): one sheet to rows of text, with guards, and rows to a sheet.

Formulas are never run: the value that the spreadsheet program kept beside one is read, and a
formula without a value is a fault of its cell.
"""

import io
import warnings
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import openpyxl
import xlsxwriter

from crossload.formats.grid import (
    MAX_COLUMNS,
    MAX_ROWS,
    Cell,
    CellFault,
    Number,
    Table,
    TableBuilder,
    TableRefused,
    is_escaped,
    writable,
)

MAX_UNPACKED_BYTES = 64_000_000
"""What a workbook may take when unpacked; about 1.5 million cells."""
_MAX_PARTS = 1000
_MARKS = (b"<!DOCTYPE", b"<!ENTITY", b"\0", b"<row", b"<f>", b"<f ")
_LONGEST_MARK = max(map(len, _MARKS))
_DAMAGE = (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError, OSError, RuntimeError)

_NO_WORKBOOK = "The file is not a workbook that can be read: save it again as .xlsx, or as CSV."
_UNCOUNTED = (
    "holds a formula without its value: open and save the file in a spreadsheet program, or type"
    " the value"
)


def read_workbook(content: bytes) -> Table:
    """The first visible sheet that holds anything; TableRefused says what to mend."""
    computes = _has_formulas(content)
    with _readable(content, values=True) as book:
        sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
        for sheet in sheets:
            builder = TableBuilder()
            _add_rows(builder, sheet)
            if any(builder.rows):
                if computes:
                    _find_uncounted(builder, content, sheet.title)
                others = (each.title for each in book.worksheets if each is not sheet)
                return builder.table(others)
    raise TableRefused("No visible sheet of the workbook holds any rows.")


def write_workbook(rows: Sequence[Sequence[Cell]], name: str = "") -> bytes:
    """One sheet, its first row the header. The same rows give the same bytes."""
    file = io.BytesIO()
    # Text is written with write_string, which makes no formula, number or link of it; the option
    # holds should a cell ever be written otherwise.
    options = {"in_memory": True, "strings_to_formulas": False}
    book = xlsxwriter.Workbook(file, options)
    book.set_properties({"created": datetime(2026, 1, 1)})  # noqa: DTZ001 - a naive time is asked for
    sheet = book.add_worksheet(name or None)
    sheet.freeze_panes(1, 0)
    bold = book.add_format({"bold": True})
    for at, row in enumerate(rows):
        for column, cell in enumerate(row):
            _write_cell(sheet, at, column, cell, bold if at == 0 else None)
    book.close()
    return file.getvalue()


def _write_cell(sheet: Any, row: int, column: int, cell: Cell, style: Any) -> None:
    if cell is None or cell == "":
        return
    if isinstance(cell, str):
        text = writable(cell)
        # Reading takes one away, as from CSV that a spreadsheet program has saved as a workbook.
        sheet.write_string(row, column, f"'{text}" if is_escaped(text) else text, style)
    else:
        sheet.write_number(row, column, float(cell), style)


def _has_formulas(content: bytes) -> bool:
    """Look before a parser does, at size, entities and rows; True where some cell computes."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
            # zipfile reads no more of a part than its size says, so the sum is a bound.
            if len(parts) > _MAX_PARTS or sum(p.file_size for p in parts) > MAX_UNPACKED_BYTES:
                megabytes = MAX_UNPACKED_BYTES // 1_000_000
                raise TableRefused(
                    f"The workbook takes more than {megabytes} MB when unpacked:"
                    " split it, or save it as CSV."
                )
            names = [part.filename for part in parts if part.filename.endswith((".xml", ".rels"))]
            found = {name: _count_marks(archive, name) for name in names}
    except _DAMAGE:
        raise TableRefused(_NO_WORKBOOK) from None
    # No spreadsheet program writes these, and entities can unpack without end.
    if any(marks[b"<!DOCTYPE"] or marks[b"<!ENTITY"] or marks[b"\0"] for marks in found.values()):
        raise TableRefused(_NO_WORKBOOK)
    sheets = [marks for name, marks in found.items() if name.startswith("xl/worksheets/")]
    if sum(marks[b"<row"] for marks in sheets) > MAX_ROWS:
        raise TableRefused(f"The workbook has more than {MAX_ROWS:,} rows: split it.")
    return any(marks[b"<f>"] or marks[b"<f "] for marks in sheets)


def _count_marks(archive: zipfile.ZipFile, name: str) -> Counter[bytes]:
    found: Counter[bytes] = Counter()
    tail = b""
    with archive.open(name) as part:
        while piece := part.read(1 << 20):
            chunk = tail + piece
            for mark in _MARKS:
                found[mark] += chunk.count(mark) - tail.count(mark)
            tail = chunk[-_LONGEST_MARK:]
    return found


@contextmanager
def _readable(content: bytes, *, values: bool) -> Iterator[Any]:
    """A workbook open for reading; whatever the parser trips over is one refusal."""
    try:
        with warnings.catch_warnings():
            # It warns of styles and extensions that it leaves out; none bears on the values.
            warnings.simplefilter("ignore", UserWarning)
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=values)
            try:
                yield book
            finally:
                book.close()
    except TableRefused:
        raise
    except Exception:
        # A damaged workbook fails anywhere in the parser, with any error there is.
        raise TableRefused(_NO_WORKBOOK) from None


def _add_rows(builder: TableBuilder, sheet: Any) -> None:
    if (sheet.max_column or 0) > MAX_COLUMNS:
        raise TableRefused(
            f"The sheet {sheet.title} has {sheet.max_column} columns: {MAX_COLUMNS} are read at"
            " most, so delete those that are empty."
        )
    # The width that a sheet states may be false; what it holds past the bound is never unpacked.
    for cells in sheet.iter_rows(max_col=MAX_COLUMNS + 1):
        for column, cell in enumerate(cells):
            if cell.value is not None and cell.data_type == "e":
                builder.fault(column, f"holds the error {cell.value}: mend the formula")
        builder.add([_text(cell.value) for cell in cells])


def _find_uncounted(builder: TableBuilder, content: bytes, title: str) -> None:
    """Note the formulas that have no value kept beside them."""
    with _readable(content, values=True) as kept, _readable(content, values=False) as written:
        both = (book[title].iter_rows(max_col=MAX_COLUMNS) for book in (kept, written))
        for row, (values, formulas) in enumerate(zip(*both, strict=True)):
            for column, (value, formula) in enumerate(zip(values, formulas, strict=True)):
                # A formula that gave an empty text is of the type str, one never counted is not.
                if formula.data_type == "f" and value.value is None and value.data_type != "str":
                    builder.faults.append(CellFault(row, column, _UNCOUNTED))


def _text(value: object) -> str:
    """What a cell shows, in one way whatever the local settings: ISO dates, decimal points."""
    if value is None:
        return ""
    if isinstance(value, str):
        # A line end of two characters, as programs that write one keep its first in a workbook.
        return value.replace("_x000D_\n", "\n")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return Number(value)
    if isinstance(value, float):
        # A spreadsheet keeps fifteen digits; the rest is how binary fractions come out.
        return Number(format(Decimal(format(value, ".15g")), "f"))
    return _time_text(value)


def _time_text(value: object) -> str:
    if isinstance(value, datetime):
        return _nearest_second(value).isoformat(" ", "seconds").removesuffix(" 00:00:00")
    if isinstance(value, time):
        on_some_day = datetime.combine(date(2000, 1, 1), value)
        return _nearest_second(on_some_day).time().isoformat()
    if isinstance(value, timedelta):
        minutes = round(value.total_seconds() / 60)
        return f"{minutes // 60}:{minutes % 60:02}"
    return value.isoformat() if isinstance(value, date) else str(value)


def _nearest_second(moment: datetime) -> datetime:
    """A day fraction in binary comes out as 06:59:59.999997."""
    return (moment + timedelta(microseconds=500_000)).replace(microsecond=0)
