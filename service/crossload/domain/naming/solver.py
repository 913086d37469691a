"""Whole-number programmes, handed to HiGHS."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from crossload.domain.naming.stopwatch import Stopwatch, Undecided


@dataclass(slots=True)
class Programme:
    """Columns are whole numbers from 0 to their bound; rows are sums of them between two limits.

    The aim is the least cost, or any answer at all where no column has a cost.
    """

    bounds: list[int] = field(default_factory=list)
    costs: list[int] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    columns: list[int] = field(default_factory=list)
    weights: list[int] = field(default_factory=list)

    def column(self, bound: int, cost: int = 0) -> int:
        """Add a column; its index."""
        self.bounds.append(bound)
        self.costs.append(cost)
        return len(self.bounds) - 1

    def exactly(self, total: int, columns: Iterable[int]) -> None:
        """The columns add up to the total."""
        self._row(float(total), float(total), [(column, 1) for column in columns])

    def at_most(self, total: int, terms: Iterable[tuple[int, int]]) -> None:
        """The columns, each times its weight, add up to no more than the total."""
        self._row(float("-inf"), float(total), terms)

    def _row(self, lower: float, upper: float, terms: Iterable[tuple[int, int]]) -> None:
        for column, weight in terms:
            self.columns.append(column)
            self.weights.append(weight)
        self.starts.append(len(self.columns))
        self.lower.append(lower)
        self.upper.append(upper)


def solve(programme: Programme, stopwatch: Stopwatch) -> Sequence[int] | None:
    """A value for each column, or None when there is no answer; Undecided at the limit.

    HiGHS computes in floats: whoever uses the values proves them in whole numbers.
    """
    import highspy  # 0.1 s and 3 MB, spent only when there is something to search

    class Quiet(highspy.Highs):
        def enableCallbacks(self) -> None:
            """None are used, and switching them on writes a banner to standard output."""

    highs = Quiet()  # type: ignore[no-untyped-call]
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("parallel", "off")  # `threads` must be one number in a whole process
    highs.setOptionValue("presolve", "off")  # it takes seconds here, and does not heed the limit
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("mip_abs_gap", 0.5)
    highs.passModel(_as_lp(programme))
    highs.setOptionValue("time_limit", stopwatch.left_s())
    highs.run()
    status = highs.getModelStatus()
    if status == highspy.HighsModelStatus.kOptimal:
        return [round(value) for value in highs.getSolution().col_value]
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    if status in (highspy.HighsModelStatus.kTimeLimit, highspy.HighsModelStatus.kUnknown):
        raise Undecided
    raise RuntimeError(f"HiGHS stopped with {status}")


def _as_lp(programme: Programme):  # type: ignore[no-untyped-def]
    import highspy

    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(programme.bounds), len(programme.lower)
    lp.col_cost_ = np.array(programme.costs, dtype=np.float64)
    lp.col_lower_ = np.zeros(lp.num_col_)
    lp.col_upper_ = np.array(programme.bounds, dtype=np.float64)
    lp.row_lower_ = np.array(programme.lower, dtype=np.float64)
    lp.row_upper_ = np.array(programme.upper, dtype=np.float64)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(programme.starts, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(programme.columns, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(programme.weights, dtype=np.float64)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * lp.num_col_
    return lp
