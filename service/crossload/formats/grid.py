"""What a table is once it is read: rows of text, within bounds, and the cells that are no use."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

MAX_BYTES = 16_000_000
"""The largest file that is read."""
MAX_ROWS = 50_000
MAX_COLUMNS = 200
MAX_CELL_BYTES = 32_000

_UNFIT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_ESCAPED = re.compile(r"'+[=+\-@\t\r]")
_LINE_END = re.compile("\r\n?")


Cell = str | int | Decimal | None
"""What is written into a cell: text, a number, or nothing."""


class TableRefused(ValueError):
    """The file as a whole cannot be read; the text is one sentence that says what to mend."""


class Number(str):
    """The text of a spreadsheet's number: its only mark is the decimal point."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class CellFault:
    """A cell that holds no usable text; row and column count from 0."""

    row: int
    column: int
    reason: str


@dataclass(frozen=True, slots=True)
class Table:
    """Rows as they stand in the file, the empty ones too; cells at a row's end may be missing.

    `left_out` names the sheets of a workbook that were not read.
    """

    rows: tuple[tuple[str, ...], ...]
    faults: tuple[CellFault, ...] = ()
    left_out: tuple[str, ...] = ()


class TableBuilder:
    """Takes rows one by one, and refuses the one that is past a bound."""

    def __init__(self) -> None:
        self.rows: list[tuple[str, ...]] = []
        self.faults: list[CellFault] = []

    def add(self, cells: Sequence[str]) -> None:
        """Add the next row; TableRefused where the table is past its bounds."""
        width = len(cells)
        while width and not cells[width - 1]:
            width -= 1
        if width > MAX_COLUMNS:
            raise TableRefused(
                f"Row {len(self.rows) + 1} has {width} columns: {MAX_COLUMNS} are read at most."
            )
        if len(self.rows) >= MAX_ROWS:
            raise TableRefused(f"The file has more than {MAX_ROWS:,} rows: split it.")
        self.rows.append(tuple(self._checked(at, cells[at]) for at in range(width)))

    def fault(self, column: int, reason: str) -> None:
        """Note a fault in the row that is added next."""
        self.faults.append(CellFault(len(self.rows), column, reason))

    def table(self, left_out: Iterable[str] = ()) -> Table:
        """The table; TableRefused where there is nothing in it."""
        if not any(map(any, self.rows)):
            raise TableRefused("The file holds no rows.")
        return Table(tuple(self.rows), tuple(self.faults), tuple(left_out))

    def _checked(self, column: int, text: str) -> str:
        if type(text) is Number:
            return text
        if 4 * len(text) > MAX_CELL_BYTES and len(text.encode()) > MAX_CELL_BYTES:
            place = f"Row {len(self.rows) + 1}, column {column + 1}"
            raise TableRefused(
                f"{place} holds more than {MAX_CELL_BYTES // 1000} kB of text: shorten it."
            )
        unfit = _UNFIT.search(text)
        if unfit:
            self.fault(column, f"holds a control character (U+{ord(unfit[0]):04X}): type it anew")
            return _UNFIT.sub("", text)
        return unescaped(_LINE_END.sub("\n", text) if "\r" in text else text)


def is_escaped(text: str) -> bool:
    """True for text with a `'` that keeps a spreadsheet program from taking it for a formula."""
    return text[:1] == "'" and _ESCAPED.match(text) is not None


def unescaped(text: str) -> str:
    """The text without one such `'`."""
    return text[1:] if is_escaped(text) else text


def writable(text: str) -> str:
    """Text that every spreadsheet file can hold: one kind of line end, no control characters."""
    return _UNFIT.sub("\ufffd", _LINE_END.sub("\n", text))
