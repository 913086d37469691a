"""Tables to bytes and back: CSV as people's programs write it, and workbooks.

What is written reads back the same. In CSV a text that a spreadsheet program would take for a
formula gets a `'` before it, and reading takes one away; numbers are never touched. (The escaping
is OWASP's for CSV injection; a text that begins with `'=` gets one more, so that nothing is lost.)
"""

import csv
import io
import itertools
import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Literal

from crossload.formats.grid import MAX_BYTES, Cell, Table, TableBuilder, TableRefused, writable
from crossload.formats.workbooks import read_workbook, write_workbook

Kind = Literal["csv", "xlsx"]
Encoding = Literal["utf-8", "latin-1"]

_LINES_LOOKED_AT = 10
_DELIMITERS = (",", ";", "\t")
_SEPARATOR_LINE = re.compile(r"sep=(.)\r?\n", re.IGNORECASE)
_FORMULA_LIKE = re.compile(r"'*[=+\-@\t\r]")


def read_table(content: bytes, *, encoding: Encoding = "utf-8") -> Table:
    """Read CSV or a workbook, told apart by the bytes; TableRefused says what to mend.

    CSV is delimited by `,` or `;` or tab, by whichever the first lines have most of. `encoding` is
    what the sender declared; it is never guessed. At most 16 MB, 50,000 rows, 200 columns, 32 kB a
    cell. A workbook gives its first visible sheet that holds anything, and names the others.
    """
    if not content:
        raise TableRefused("The file is empty.")
    if len(content) > MAX_BYTES:
        raise TableRefused(f"The file is larger than {MAX_BYTES // 1_000_000} MB: split it.")
    if content.startswith(b"PK\x03\x04"):
        return read_workbook(content)
    if content.startswith(b"\xd0\xcf\x11\xe0"):
        raise TableRefused(
            "The file is an old workbook, or one with a password: save it as .xlsx without one."
        )
    return _read_csv(_decoded(content, encoding))


def write_table(rows: Sequence[Sequence[Cell]], kind: Kind = "csv", *, name: str = "") -> bytes:
    """Write rows, the first of them the header: CSV (UTF-8, `,`, CRLF) or a workbook.

    `str` is written as text, `int` and `Decimal` as numbers, None as nothing. `name` is the
    sheet's.
    """
    if kind == "xlsx":
        return write_workbook(rows, name)
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerows([_csv_cell(cell) for cell in row] for row in rows)
    return file.getvalue().encode()


def _csv_cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        text = writable(cell)
        return f"'{text}" if _FORMULA_LIKE.match(text) else text
    return format(cell, "f") if isinstance(cell, Decimal) else str(cell)


def _decoded(content: bytes, encoding: Encoding) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise TableRefused("The file is UTF-16: save it as CSV in UTF-8.")
    if encoding == "latin-1" and not content.startswith(b"\xef\xbb\xbf"):
        # What calls itself Latin-1 is Windows-1252: the WHATWG Encoding Standard reads it so.
        return _decode(content, "cp1252", "Latin-1", "save it as CSV in UTF-8")
    return _decode(
        content, "utf-8-sig", "UTF-8", "save it as CSV in UTF-8, or say that it is Latin-1"
    )


def _decode(content: bytes, codec: str, name: str, mend: str) -> str:
    try:
        return content.decode(codec)
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise TableRefused(f"Line {line} of the file is not {name}: {mend}.") from None


def _read_csv(text: str) -> Table:
    # A spreadsheet program's own first line, which it does not show.
    said = _SEPARATOR_LINE.match(text)
    body = text[said.end() :] if said else text
    delimiter = said[1] if said else _delimiter(body)
    builder = TableBuilder()
    for record in _records(body, delimiter):
        builder.add(record)
    return builder.table()


def _records(text: str, delimiter: str) -> Iterator[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    row = 1
    try:
        for record in reader:
            yield record
            row += 1
    except csv.Error as error:
        if "field larger" in str(error):
            raise TableRefused(
                f"Row {row} has a cell that is too long, or a quotation mark that does not end."
            ) from None
        raise TableRefused(
            f"Row {row} has a quotation mark that does not end, or has text right after it."
        ) from None


def _delimiter(text: str) -> str:
    """The one that the first lines have most of, outside quotation marks."""
    first = "".join(itertools.islice(io.StringIO(text), _LINES_LOOKED_AT))
    bare = re.sub(r'"[^"]*"', "", first)
    return max(_DELIMITERS, key=bare.count)
