"""Fixtures that every floor's tests share, and the minutes that each floor's tests took."""

import shutil
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from services import (
    CHROMIUM_FLAGS,
    empty_database,
    find_chromium,
    fresh_database,
    throwaway_postgres,
)

DATABASES = ["sqlite", "postgres"]

# A check gives the same answer twice. New worlds: pytest --hypothesis-profile=random
settings.register_profile("check", derandomize=True, deadline=None, database=None, print_blob=True)
settings.register_profile("random", deadline=None, print_blob=True, max_examples=1000)
settings.load_profile("check")


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """A PostgreSQL server of this run's own, with an empty database."""
    with throwaway_postgres() as url:
        yield url


@pytest.fixture(params=DATABASES)
def database_url(request, tmp_path) -> str:
    """An empty database without tables, this test's own, once on each kind."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/crossload.db"
    return fresh_database(request.getfixturevalue("postgres_url"))


@pytest.fixture(params=DATABASES)
def migrated_url(request, tmp_path) -> str:
    """A database with all tables and no rows, once on each kind; 0.04 s, where migrating takes 0.4.

    The PostgreSQL one serves test after test: whoever opens it closes it again.
    """
    if request.param == "sqlite":
        copy = tmp_path / "crossload.db"
        shutil.copyfile(request.getfixturevalue("migrated_sqlite"), copy)
        return f"sqlite:///{copy}"
    url = request.getfixturevalue("migrated_postgres_url")
    empty_database(url, keep=["schema_migration"])
    return url


@pytest.fixture
def opened(migrated_url) -> Iterator[None]:
    """A migrated database of this test's own, open in this process, once on each kind."""
    from crossload.storage import database  # the domain's tests need no database

    database.open_database(migrated_url)
    yield
    database.close_database()


@pytest.fixture
def world(opened):
    """A pool with a main, a second and a splinter unit; `worlds.py` says what else it can get."""
    from worlds import a_world

    return a_world()


@pytest.fixture(scope="session")
def migrated_sqlite(tmp_path_factory) -> Path:
    """A migrated file to copy."""
    path = tmp_path_factory.mktemp("migrated") / "crossload.db"
    migrate_database(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def migrated_postgres_url(postgres_url) -> str:
    """A migrated database to empty again and again."""
    url = fresh_database(postgres_url)
    migrate_database(url)
    return url


def migrate_database(url: str) -> None:
    """Brings the database at `url` to the present schema and leaves it closed."""
    from crossload.storage import database, migrate  # the domain's tests need no database

    database.open_database(url)
    try:
        migrate.migrate()
    finally:
        database.close_database()


@pytest.fixture(scope="module")
def browser():
    """Chromium without a screen. One a module: an open playwright bars asyncio from its thread."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=find_chromium(), args=list(CHROMIUM_FLAGS)
        )
        yield chromium
        chromium.close()


def pytest_terminal_summary(terminalreporter) -> None:
    """The minutes of each floor, on each database where it has two."""
    seconds: dict[str, float] = defaultdict(float)
    for reports in terminalreporter.stats.values():
        for report in reports:
            if hasattr(report, "duration"):
                seconds[_floor_of(report.nodeid)] += report.duration
    terminalreporter.section("minutes")
    for floor, spent in sorted(seconds.items()):
        terminalreporter.write_line(f"{spent / 60:5.1f}  {floor}")


def _floor_of(nodeid: str) -> str:
    path, _, name = nodeid.partition("::")
    folders = path.split("/")
    floor = folders[1] if len(folders) > 2 else "all floors"
    for kind in ("sqlite", "postgres"):
        if f"[{kind}" in name or f"-{kind}" in name:
            return f"{floor} on {kind}"
    return floor
