"""`crossload backup` and `restore`: whole while others write, and nothing lost in putting back."""

import shutil
import sqlite3
import subprocess
from contextlib import closing, contextmanager
from threading import Event, Thread

import psycopg
import pytest

from conftest import migrate_database
from crossload.storage import database, sql
from crossload.usecases import bookings
from program import run, run_together, sentence
from services import fresh_database
from waiting import until
from worlds import HOUR, a_world, an_ask


@contextmanager
def somebody_booking(url):
    """Books an hour after another for as long as it goes on; yields the bookings made so far."""
    database.open_database(url)
    world = a_world()
    kit = world.a_kit_type(count=2)
    made, enough = [], Event()

    def book():
        while not enough.is_set():
            start = HOUR * (1 + len(made))
            ask = an_ask(world, "main", (kit, 2), start=start, end=start + HOUR)
            made.append(bookings.book(world.coordinator, ask, now=world.now).booking.id)
        database.close_database()

    writer = Thread(target=book)
    writer.start()
    try:
        yield made
    finally:
        enough.set()
        writer.join()


def kept_bookings(url):
    database.open_database(url)
    with database.connected():
        found = [id for (id,) in sql.rows("SELECT id FROM booking ORDER BY id")]
        lines = sql.rows("SELECT booking_id FROM line ORDER BY booking_id")
        numbers = [number for (number,) in sql.rows("SELECT seq FROM journal ORDER BY seq")]
    database.close_database()
    assert [id for (id,) in lines] == found
    return found, numbers


@pytest.fixture
def other_url(migrated_url, tmp_path, request):
    """Where to restore to: a database of the same kind with nothing in it."""
    if migrated_url.startswith("sqlite"):
        return f"sqlite:///{tmp_path / 'other.db'}"
    return fresh_database(request.getfixturevalue("postgres_url"))


def test_a_backup_taken_while_somebody_writes_is_whole(migrated_url, other_url, crossload):
    with somebody_booking(migrated_url) as made:
        until(lambda: len(made) > 3, "bookings before the backup")
        before = list(made)
        saved = crossload("backup", "saved", CROSSLOAD_DATABASE_URL=migrated_url)
        assert (saved.returncode, saved.stderr) == (0, "")
        saved_by = len(made) + 1  # one may be committed and not in the list yet
        until(lambda: len(made) > saved_by, "bookings after the backup")
    settings = {"CROSSLOAD_DATABASE_URL": other_url}
    restored = crossload("restore", "saved", **settings)
    assert (restored.returncode, restored.stderr) == (0, "")
    checked = crossload("check-data", **settings)
    assert (checked.returncode, checked.stdout) == (0, "all that must hold does\n")
    found, numbers = kept_bookings(other_url)
    assert found[: len(before)] == before
    assert found == made[: len(found)]
    assert len(found) <= saved_by
    assert len(set(numbers)) == len(found)  # one write a booking, none of them in part
    refused = sentence(crossload("restore", "saved", **settings))
    assert refused.endswith(
        "is there already: add --replace, and it is kept beside the new one"
        if other_url.startswith("sqlite")
        else "nothing of it would be left: back it up, then add --replace"
    )
    assert kept_bookings(other_url)[0] == found


def test_a_dump_of_a_newer_program_is_not_put_back(postgres_url, crossload, tmp_path):
    newer, here = fresh_database(postgres_url), fresh_database(postgres_url)
    migrate_database(newer)
    with psycopg.connect(newer) as db:
        db.execute("INSERT INTO schema_migration (name, applied) VALUES ('9999_later', now())")
    dump = tmp_path / "newer.dump"
    subprocess.run(["pg_dump", "--format=custom", f"--file={dump}", newer], check=True)
    said = sentence(crossload("restore", dump, "--replace", CROSSLOAD_DATABASE_URL=here))
    assert said == f"{dump} was made by a newer crossload (9999_later): nothing was put back"


@pytest.fixture
def saved(demo_folder, tmp_path):
    """Backups of the demo, one good and some that cannot be put back."""
    good = tmp_path / "good.db"
    shutil.copyfile(demo_folder / "crossload.db", good)
    (tmp_path / "cut.db").write_bytes(good.read_bytes()[:100_000])
    shutil.copyfile(good, tmp_path / "newer.db")
    with closing(sqlite3.connect(tmp_path / "newer.db")) as db, db:
        db.execute(
            "INSERT INTO schema_migration (name, applied) VALUES ('9999_later', '2099-01-01')"
        )
    return tmp_path


def test_what_cannot_be_put_back_or_saved_is_refused_and_leaves_all_as_it_was(saved, demo):
    refused = {
        ("restore", "good.db"): "0/crossload.db is there already: add --replace, and it is kept",
        ("restore", "--replace", "cut.db"): "cut.db is no crossload database: database disk image",
        ("restore", "--replace", "newer.db"): "newer.db was made by a newer crossload (9999_later)",
        ("restore", "--replace", "none.db"): "there is no file none.db: nothing was put back",
        ("backup", "good.db"): "good.db is there already: name a new file",
        ("backup", "no/good.db"): "there is no folder no: make it first",
    }
    there = (demo / "crossload.db").read_bytes()
    taken = (saved / "good.db").read_bytes()
    for number in range(len(refused)):
        shutil.copytree(demo, saved / str(number))
    commands = [(*words, "--data", str(number)) for number, words in enumerate(refused)]
    for done, says in zip(run_together(commands, saved), refused.values(), strict=True):
        assert says in sentence(done)
    for number in range(len(refused)):
        left = {path.name for path in (saved / str(number)).iterdir()}
        assert left <= {"crossload.db", "crossload.db.migrating", "serving.lock"}
        assert (saved / str(number) / "crossload.db").read_bytes() == there
    assert (saved / "good.db").read_bytes() == taken


def test_a_database_that_somebody_has_open_is_not_replaced(saved, demo, crossload):
    with closing(sqlite3.connect(demo / "crossload.db")) as db:
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("SELECT name FROM pool").fetchall()
        said = sentence(crossload("restore", "--replace", "good.db", "--data", demo))
    assert said == (
        f"{demo}/crossload.db is in use (database is locked):"
        " end the crossload worker or command that uses it"
    )


def test_each_file_that_was_replaced_is_kept_as_it_was_under_a_name_of_its_own(
    saved, demo, crossload
):
    notes = "These are my notes, and no database.\n" * 9
    (demo / "crossload.db").write_text(notes)
    for name in ("crossload-before-restore.db", "crossload-before-restore-2.db"):
        done = crossload("restore", "--replace", "good.db", "--data", demo)
        assert done.stdout == f"good.db is in place\nwhat was there is now {demo / name}\n"
    assert (demo / "crossload-before-restore.db").read_text() == notes
    with closing(sqlite3.connect(demo / "crossload-before-restore-2.db")) as db:
        assert db.execute("SELECT name FROM pool").fetchall() == [("Fernhill Hire",)]


def test_a_backups_name_may_hold_what_an_address_may_not(demo, tmp_path, crossload):
    name = "monday #1 ?mode=rwc %41.db"
    first, again = (
        run("backup", name, "--data", demo, cwd=tmp_path),
        run("restore", name, "--data", tmp_path / "new", cwd=tmp_path),
    )
    assert (first.returncode, again.returncode) == (0, 0), (first, again)
    assert (tmp_path / name).stat().st_mode & 0o077 == 0
    assert {path.name for path in tmp_path.iterdir()} == {"demo", "new", name}


def test_rows_that_still_lie_beside_a_copied_file_are_put_back_too(demo, tmp_path, crossload):
    copied = tmp_path / "copied"
    copied.mkdir()
    with closing(sqlite3.connect(demo / "crossload.db")) as db:
        db.execute("PRAGMA journal_mode = WAL")
        with db:
            db.execute("UPDATE pool SET name = 'In the WAL'")
        for path in demo.glob("crossload.db*"):
            shutil.copyfile(path, copied / path.name)
    words = ("restore", copied / "crossload.db", "--data", tmp_path / "new")
    assert crossload(*words).returncode == 0
    with closing(sqlite3.connect(tmp_path / "new" / "crossload.db")) as db:
        assert db.execute("SELECT name FROM pool").fetchall() == [("In the WAL",)]
