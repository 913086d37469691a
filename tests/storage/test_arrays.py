"""Columns as arrays: exact to the last of 64 bits, on both databases."""

import pytest

from crossload.storage import arrays
from crossload.storage.database import read

ENDS = [-(2**63), -1, 0, 2**53 + 1, 2**63 - 1]


@pytest.mark.parametrize("many", [0, 1, len(ENDS)])
def test_numbers_come_exact_and_in_one_order(world, many):
    source = " UNION ALL ".join(["SELECT CAST(? AS bigint) AS one"] * many) or (
        "SELECT 1 AS one WHERE 1 = 0"
    )
    with read(world.pool):
        told = arrays.columns(["one", "one | 1"], f"FROM ({source}) AS all_of", *ENDS[:many])
    assert [one.tolist() for one in told] == [ENDS[:many], [n | 1 for n in ENDS[:many]]]
