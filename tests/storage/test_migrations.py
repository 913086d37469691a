"""The migrated database is what the tables say, on every engine, and holds what they hold."""

from dataclasses import replace
from types import MappingProxyType

import pytest
from peewee import SchemaManager

from crossload.domain.custody import Custody
from crossload.storage import database, migrate, sql
from crossload.storage.ids import new_id
from crossload.storage.tables import ALL, MORE_ON_SQLITE, proxy
from services import fresh_database
from worlds import NOW

ENGINES = ["cysqlite", "sqlite3", "postgres"]


@pytest.fixture(params=ENGINES)
def open_empty(request, tmp_path):
    """How to open an empty database of this kind, by a name."""

    def open_one(name):
        if request.param == "postgres":
            database.open_database(fresh_database(request.getfixturevalue("postgres_url")))
        else:
            database.open_database(f"sqlite:///{tmp_path / name}", engine=request.param)

    yield open_one
    database.close_database()


def columns(more=MappingProxyType({})):
    """Each table's columns with type, nullness and key, and its indexes, by name.

    `more` are columns that an index is said to have besides.
    """
    db = proxy.obj
    made = {}
    for table in ALL:
        name = table._meta.table_name
        made[name] = (
            sorted(
                (c.name, c.data_type.lower(), c.null, c.primary_key) for c in db.get_columns(name)
            ),
            sorted(
                (i.name, (*i.columns, *more.get(i.name, ())), i.unique)
                for i in db.get_indexes(name)
            ),
            sorted((k.column, k.dest_table, k.dest_column) for k in db.get_foreign_keys(name)),
        )
    return made


def test_migrating_gives_the_tables_as_they_are_written(open_empty):
    open_empty("migrated.db")
    assert migrate.migrate()
    assert migrate.migrate() == []
    with database.connected():
        migrated = columns()
    open_empty("fresh.db")
    with database.connected():
        for table in ALL:
            SchemaManager(table).create_all(safe=False)
        assert columns(MORE_ON_SQLITE if database.is_sqlite() else {}) == migrated


CHECKED = [
    ("kit_type", "count", -1),
    ("kit_type", "prep_s", -1),
    ("kit_type", "tracking", "'heaps'"),
    ("unit", "kind", "'spare'"),
    ("unit", "way_s", -1),
]


@pytest.mark.parametrize(("table", "column", "value"), CHECKED)
def test_the_database_itself_refuses_what_cannot_be(world, table, column, value):
    world.a_kit_type(count=1)
    with pytest.raises(Exception, match=r"(?i)check"), database.connected() as db, db.atomic():
        sql.run(f'UPDATE "{table}" SET "{column}" = {value}')


def test_a_piece_has_one_open_custody(world):
    kit = world.a_kit_type(pieces=1)
    (piece,) = world.pieces(kit)
    out = Custody(new_id(), kit.id, 1, world.units["main"], NOW, NOW + 9, piece.id)
    with database.write(world.pool, NOW) as stores:
        stores.custodies.add(out)
    with pytest.raises(Exception, match=r"(?i)unique"), database.write(world.pool, NOW) as stores:
        stores.custodies.add(replace(out, id=new_id()))


def test_a_database_of_a_later_version_is_refused_by_name(open_empty):
    open_empty("later.db")
    migrate.migrate()
    with database.connected():
        sql.run(
            "INSERT INTO schema_migration (name, applied) VALUES (?, ?)", "0999_later", "2030-01-01"
        )
    with pytest.raises(migrate.DatabaseTooNew, match="0999_later"):
        migrate.migrate()
