"""What is wrong with one cell of a table that somebody brings in."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class RowProblem:
    """`row` counts from 1 as the spreadsheet shows it; `column` is the header as it stands there.

    `reason` says what is wrong and, where it is not plain, what to write instead. The column is
    empty where the whole row is meant.
    """

    row: int
    column: str
    reason: str
