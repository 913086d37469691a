"""`crossload import` and `export`: all rows or none, the same again changes nothing, out as in."""

import re
import sqlite3
import subprocess
from contextlib import closing
from shutil import copyfile

import pytest

from crossload.storage import database
from program import PROGRAM, environment, run
from worlds import a_world

KIT = """Kit type,Category,Tracking,Quantity,Tag,Box,Bought
Jaw clamp,clamp,count,12,,4,2021
Pole,pole,serial,,P1,5,
Pole,,,,P2,5,2022
"""
BAD = """Kit type,Category,Tracking,Quantity,Tag,Box
Jaw clamp,clamp,count,20,,4
Pole,pole,serial,,P3,5
Sand bag,bag,count,many,,6
"""


@pytest.fixture
def pool(migrated_sqlite, tmp_path):
    """The data folder of a pool without kit, and two lists to take in."""
    copyfile(migrated_sqlite, tmp_path / "crossload.db")
    database.open_database(f"sqlite:///{tmp_path / 'crossload.db'}")
    a_world()
    database.close_database()
    (tmp_path / "kit.csv").write_text(KIT)
    (tmp_path / "bad.csv").write_text(BAD)
    return tmp_path


def kept(pool):
    """What the pool holds, and how often it was written."""
    with closing(sqlite3.connect(pool / "crossload.db")) as db:
        kit = db.execute("SELECT name, count FROM kit_type ORDER BY name").fetchall()
        items = db.execute("SELECT tag FROM item ORDER BY tag").fetchall()
        return kit, [tag for (tag,) in items], db.execute("SELECT revision FROM pool").fetchall()


def test_a_list_is_looked_at_then_taken_in_whole_or_not_at_all(pool, crossload):
    nothing = kept(pool)
    tried = crossload("import", "kit-list", "kit.csv", "--dry-run", "--data", pool)
    assert (tried.returncode, tried.stderr) == (0, "")
    assert "row 2: new kit type Jaw clamp\n" in tried.stdout
    assert tried.stdout.endswith("would be 0 changed, 6 new, 0 same\n")
    assert kept(pool) == nothing
    taken = crossload("import", "kit-list", "kit.csv", "--data", pool)
    assert (taken.returncode, f"{taken.stderr}") == (0, "")
    assert taken.stdout == tried.stdout.replace("would be ", "")
    there = kept(pool)
    assert there[:2] == ([("Jaw clamp", 12), ("Pole", 0)], ["P1", "P2"])
    refused = crossload("import", "kit-list", "bad.csv", "--data", pool)
    assert refused.returncode == 1
    assert re.search(r"^row 4, Quantity: .*many", refused.stderr)
    assert refused.stderr.endswith("nothing was changed\n")
    assert kept(pool) == there
    again = crossload("import", "kit-list", "kit.csv", "--data", pool)
    assert (again.returncode, again.stdout) == (0, "0 changed, 0 new, 6 same\n")


@pytest.mark.parametrize(
    ("kind", "file", "begins"),
    [("kit-list", "kit.XLSX", b"PK"), ("shoot-days", "days.csv", b"Unit,")],
)
def test_what_was_exported_changes_nothing_when_it_is_taken_in(
    kind, file, begins, demo, tmp_path, crossload
):
    assert crossload("export", kind, file, "--data", demo).returncode == 0
    assert (tmp_path / file).read_bytes().startswith(begins)
    taken = crossload("import", kind, file, "--data", demo)
    assert re.fullmatch(r"0 changed, 0 new, [1-9]\d+ same\n", taken.stdout), taken.stdout


def test_a_kit_list_makes_the_same_pool_anew(demo, migrated_sqlite, tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    copyfile(migrated_sqlite, other / "crossload.db")
    with closing(sqlite3.connect(other / "crossload.db")) as db, db:
        db.execute("ATTACH ? AS demo", (str(demo / "crossload.db"),))
        db.execute("INSERT INTO pool SELECT * FROM demo.pool")
        db.execute("UPDATE pool SET demo = 0")
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    for words in (
        ("export", "kit-list", first, "--data", demo),
        ("import", "kit-list", first, "--data", other),
        ("export", "kit-list", second, "--data", other),
    ):
        assert run(*words, cwd=tmp_path).returncode == 0
    assert second.read_bytes() == first.read_bytes()


def test_a_reader_who_leaves_is_no_fault_to_tell_of(demo_folder):
    export = subprocess.Popen(
        [PROGRAM, "export", "kit-list", "-", "--data", demo_folder],
        env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    with export:
        export.stdout.close()
        assert (export.stderr.read(), export.wait()) == (b"", 1)
