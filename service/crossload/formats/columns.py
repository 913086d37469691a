"""Which column is which: headers by their synonyms, then cells by the name of their field."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from crossload.domain.instants import shown
from crossload.domain.names import one_line
from crossload.domain.row_problem import RowProblem
from crossload.formats.cells import plain
from crossload.formats.grid import Table

T = TypeVar("T")

_ROWS_LOOKED_AT = 10


@dataclass(frozen=True, slots=True)
class Column:
    """A field, the header that it is written under, and other headers that mean it."""

    field: str
    label: str
    synonyms: tuple[str, ...] = ()
    needed: bool = False


class Sheet:
    """A table whose header is understood. `problems` gathers what is wrong, in any order.

    Where a needed column is missing it is not `usable`, and its rows are not worth reading.
    """

    def __init__(self, table: Table, columns: Sequence[Column], *, keep_others: bool = False):
        """With `keep_others` columns that are not known are kept, else they are left unread."""
        self.problems: list[RowProblem] = []
        self.table = table
        self._fields = {plain(h): c.field for c in columns for h in (c.label, *c.synonyms)}
        self._header_at = self._find_header()
        self.headers = [one_line(text) for text in table.rows[self._header_at]]
        self.positions: dict[str, int] = {}
        self.others: dict[str, int] = {}
        for at, text in enumerate(self.headers):
            self._place(at, text, keep_others)
        missing = [c for c in columns if c.needed and c.field not in self.positions]
        self.usable = not missing
        for column in missing:
            self._report_missing(column)
        self._faulty: dict[int, set[int]] = defaultdict(set)
        self._note_faults()
        if keep_others:
            self._find_headless()

    def rows(self) -> Iterator["SheetRow"]:
        """The rows below the header that hold anything."""
        for at in range(self._header_at + 1, len(self.table.rows)):
            if any(text.strip() for text in self.table.rows[at]):
                yield SheetRow(self, at)

    def column(self, field: str) -> list[str]:
        """The cells of a column that hold anything."""
        at = self.positions.get(field)
        below = self.table.rows[self._header_at + 1 :]
        return [row[at] for row in below if at is not None and at < len(row) and row[at].strip()]

    def header_of(self, field: str) -> str:
        """The header of a field as it stands in the file, or empty."""
        at = self.positions.get(field)
        return "" if at is None else self.headers[at]

    def known_headers(self) -> dict[str, str]:
        """The headers of the file that stand for a field, by field."""
        return {field: self.header_of(field) for field in self.positions}

    def faults_of(self, at: int) -> set[int]:
        """The columns of a row, both counted from 0, whose cells are no use."""
        return self._faulty.get(at, set())

    def in_order(self) -> tuple[RowProblem, ...]:
        """Every problem once, by row and then by column."""
        places = {text: at for at, text in enumerate(self.headers)}
        return tuple(
            sorted(set(self.problems), key=lambda p: (p.row, places.get(p.column, -1), p.reason))
        )

    def _find_header(self) -> int:
        """The row, of the first few, with most headers that are known; one alone can be chance."""
        looked_at = self.table.rows[:_ROWS_LOOKED_AT]
        known = [sum(plain(text) in self._fields for text in row) for row in looked_at]
        if max(known) < 2:
            return next(at for at, row in enumerate(self.table.rows) if any(row))
        return known.index(max(known))

    def _place(self, at: int, text: str, keep_others: bool) -> None:
        field = self._fields.get(plain(text))
        if field is None:
            if keep_others and text:
                self._place_other(at, text)
        elif field in self.positions:
            first = self.headers[self.positions[field]]
            self.problem_of_header(text, f"means the same as the column {shown(first)}: keep one")
        else:
            self.positions[field] = at

    def _place_other(self, at: int, text: str) -> None:
        if text in self.others:
            self.problem_of_header(text, "stands over two columns: give one another name")
        elif len(text) > 100:
            self.problem_of_header(text, "is a header of more than 100 characters: shorten it")
        else:
            self.others[text] = at

    def _report_missing(self, column: Column) -> None:
        known = ", ".join(shown(word) for word in (column.label, *column.synonyms[:3]))
        self.problem_of_header("", f"no column has one of the headers {known}: name one so")

    def problem_of_header(self, header: str, reason: str) -> None:
        """Note what is wrong with a header, or with the header row where it is empty."""
        self.problems.append(RowProblem(self._header_at + 1, header, reason))

    def _note_faults(self) -> None:
        read = {*self.positions.values(), *self.others.values()}
        for fault in self.table.faults:
            if fault.column in read and fault.row >= self._header_at:
                header = self.headers[fault.column]
                self.problems.append(RowProblem(fault.row + 1, header, fault.reason))
                self._faulty[fault.row].add(fault.column)

    def _find_headless(self) -> None:
        """Text in a column without a header would be lost, so it is a problem; once a column."""
        bare = {at for at, text in enumerate(self.headers) if not text}
        seen: set[int] = set()
        for row in self.rows():
            for at, text in enumerate(row.cells):
                if (at >= len(self.headers) or at in bare) and text.strip() and at not in seen:
                    seen.add(at)
                    self.problems.append(
                        RowProblem(row.number, "", f"column {at + 1} holds text and has no header")
                    )


class SheetRow:
    """One row below the header."""

    def __init__(self, sheet: Sheet, at: int):
        self.sheet = sheet
        self.cells = sheet.table.rows[at]
        self.number = at + 1
        self.sound = not sheet.faults_of(at)

    def text(self, field: str) -> str:
        """The cell as it stands, without space around it; empty where there is none."""
        return self._at(self.sheet.positions.get(field))

    def read(self, field: str, parse: Callable[[str], T], default: T) -> T:
        """The cell's meaning; `default` where it is empty or, with a problem noted, wrong."""
        text = self.text(field)
        if not text:
            return default
        try:
            return parse(text)
        except ValueError as error:
            self.problem(field, str(error))
            return default

    def must(self, field: str, parse: Callable[[str], T]) -> T | None:
        """The cell's meaning; None, with a problem noted, where it is empty or wrong."""
        if self.lacks(field):
            self.problem(field, "is empty: every row needs it")
        return self.read(field, parse, None)

    def others(self) -> dict[str, str]:
        """What stands in columns that are kept as notes, by their headers."""
        noted = {header: self._at(at) for header, at in self.sheet.others.items()}
        return {header: str(text) for header, text in noted.items() if text}

    def problem(self, field: str, reason: str) -> None:
        """Note what is wrong with a field of this row, or with the row where it has no column."""
        self.sound = False
        header = self.sheet.header_of(field)
        self.sheet.problems.append(RowProblem(self.number, header, reason))

    def lacks(self, field: str) -> bool:
        """True where the cell is empty, rather than of no use."""
        faulty = self.sheet.positions.get(field) in self.sheet.faults_of(self.number - 1)
        return not self.text(field) and not faulty

    def _at(self, at: int | None) -> str:
        # Not str.strip on every cell: it would turn a spreadsheet's Number into plain text.
        if at is None or at >= len(self.cells):
            return ""
        text = self.cells[at]
        return text if text == text.strip() else text.strip()


def no_two(
    found: Iterable[tuple[str, SheetRow]],
    field: str,
    what: str,
    *,
    seen: dict[str, int] | None = None,
) -> None:
    """Note each code that stands on an earlier row already, whatever its case; empty ones may."""
    first: dict[str, int] = {} if seen is None else seen
    for code, row in found:
        earlier = first.setdefault(code.casefold(), row.number) if code else row.number
        if earlier != row.number:
            row.problem(field, f"{what} {shown(row.text(field))} stands on row {earlier} already")
