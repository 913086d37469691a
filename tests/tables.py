"""Tables that people bring in, in tests: made in place, or read from the samples."""

from pathlib import Path

from crossload.storage import sql
from crossload.storage.database import connected
from crossload.storage.tables import ALL

FIXTURES = Path(__file__).parents[1] / "fixtures"


def a_table(*lines: str) -> bytes:
    """CSV of these lines, the first of them the header."""
    return "\r\n".join(lines).encode()


def a_sample(name: str) -> bytes:
    return (FIXTURES / "samples" / name).read_bytes()


def a_fixture(name: str) -> bytes:
    return (FIXTURES / name).read_bytes()


def everything() -> dict[str, list]:
    """Every row of every table: nothing was written while two of these are equal."""
    with connected():
        return {
            table._meta.table_name: sorted(
                sql.rows(f'SELECT * FROM "{table._meta.table_name}"'), key=repr
            )
            for table in ALL
        }
