"""A connection tells what the database says of itself, whichever statement it says it to."""

import pytest

from crossload.storage import database, sql


def test_a_database_that_ends_a_lone_statement_is_unavailable_and_serves_the_next(world):
    ends = {
        True: "SELECT * FROM nothing",
        False: "SELECT pg_terminate_backend(pg_backend_pid())",
    }
    with pytest.raises(database.DatabaseUnavailable), database.connected():
        sql.row(ends[database.is_sqlite()])
    with database.read(world.pool) as stores:
        assert stores.pool == world.pool
