"""`crossload migrate`, `demo` and `check-data`: what they do once, and what they find broken."""

import shutil
import sqlite3
from contextlib import closing

import pytest

from crossload.storage import database, sql
from program import run_together

CONFIRMED = "state = 'confirmed' AND item_id IS NULL AND quantity > 0"
BREAKS = {
    "more granted than there is": (
        "UPDATE line SET quantity = 200 WHERE id = (SELECT line.id FROM line JOIN kit_type"
        " ON kit_type.id = kit_type_id WHERE state = 'confirmed' AND tracking = 'count'"
        " ORDER BY until_s DESC LIMIT 1)",
        "and no fact explains it",
    ),
    "a line that outlived its booking": (
        "UPDATE booking SET state = 'released' WHERE id = (SELECT booking_id FROM line"
        f" WHERE {CONFIRMED} LIMIT 1)",
        " is released, a line confirmed",
    ),
    "more out than the line holds": (
        f"UPDATE line SET gone = quantity + 1 WHERE id = (SELECT id FROM line WHERE {CONFIRMED}"
        " LIMIT 1)",
        " out than it holds",
    ),
    "due before it went out": (
        "UPDATE custody SET due_at = out_at WHERE back_at IS NULL",
        " was due before it went out",
    ),
    "a piece of another type": (
        "UPDATE line SET quantity = 1, item_id = (SELECT id FROM item WHERE item.kit_type_id"
        f" <> line.kit_type_id LIMIT 1) WHERE id = (SELECT id FROM line WHERE {CONFIRMED} LIMIT 1)",
        " names a piece of another kit type",
    ),
    "a reference into nothing": (
        "DELETE FROM unit WHERE id = (SELECT unit_id FROM booking LIMIT 1)",
        " names a unit that is not there",
    ),
}


@pytest.fixture(scope="module")
def found(demo_folder, tmp_path_factory):
    """What check-data says of the demo with each of BREAKS in it, made past the program by SQL."""
    root = tmp_path_factory.mktemp("broken")
    for name, (change, _) in BREAKS.items():
        (root / name).mkdir()
        shutil.copyfile(demo_folder / "crossload.db", root / name / "crossload.db")
        with closing(sqlite3.connect(root / name / "crossload.db")) as db, db:
            assert db.execute(change).rowcount > 0, name
    done = run_together([("check-data", "--data", name) for name in BREAKS], root)
    return dict(zip(BREAKS, done, strict=True))


@pytest.mark.parametrize("name", BREAKS)
def test_what_no_longer_holds_is_printed_and_the_exit_status_says_so(name, found):
    done = found[name]
    assert (done.returncode, done.stderr) == (1, "")
    assert BREAKS[name][1] in done.stdout


def test_a_damaged_file_is_said_to_be_one(demo, crossload):
    raw = (demo / "crossload.db").read_bytes()
    (demo / "crossload.db").write_bytes(raw[: len(raw) // 2] + b"x" * (len(raw) - len(raw) // 2))
    done = crossload("check-data", "--data", demo)
    assert done.returncode == 1
    assert "damaged" in done.stdout + done.stderr
    assert "Traceback" not in done.stderr


def rows(folder):
    """Every row of every table but SQLite's own."""
    with closing(sqlite3.connect(folder / "crossload.db")) as db:
        tables = [
            name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type='table'")
        ]
        return {name: db.execute(f'SELECT * FROM "{name}"').fetchall() for name in tables}


def test_the_demo_holds_together_and_is_loaded_once(demo, crossload):
    before = rows(demo)
    checked = crossload("check-data", "--data", demo)
    assert (checked.returncode, checked.stdout) == (0, "all that must hold does\n"), checked
    again = crossload("demo", "--data", demo)
    assert (again.returncode, again.stdout) == (0, "the demo is there already\n")
    assert rows(demo) == before


def applied(url):
    database.open_database(url)
    with database.connected():
        found = sql.rows("SELECT * FROM schema_migration ORDER BY id")
    database.close_database()
    return found


def test_migrating_twice_changes_nothing_the_second_time(database_url, crossload):
    settings = {"CROSSLOAD_DATABASE_URL": database_url}
    first = crossload("migrate", **settings)
    assert (first.returncode, first.stderr) == (0, "")
    assert first.stdout.startswith("applied 0001_initial\n")
    there = applied(database_url)
    second = crossload("migrate", **settings)
    assert (second.returncode, second.stdout) == (0, "nothing to apply\n")
    assert applied(database_url) == there
