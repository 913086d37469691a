"""The floors: a module imports only from floors before its own, and each library has its floor."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "service" / "crossload"

SEES = {
    "domain": {"domain"},
    "formats": {"domain", "formats"},
    "storage": {"domain", "formats", "storage"},
    "outside": {"domain", "formats", "outside"},
    "usecases": {"domain", "formats", "storage", "outside", "usecases"},
    "api": {"domain", "formats", "usecases", "api"},
    "jobs": {"domain", "formats", "usecases", "jobs"},
}
"""Earlier floors in the order of the design; storage and outside are seen by usecases alone."""

LIBRARIES = {
    "domain": {"numpy", "highspy", "tzdata"},
    "formats": {"openpyxl", "xlsxwriter", "icalendar", "segno"},
    "storage": {"peewee", "playhouse", "psycopg", "cysqlite", "numpy"},
    "outside": {"requests", "urllib3", "standardwebhooks", "authlib"},
    "usecases": {"argon2", "numpy"},
    "api": {
        "flask", "werkzeug", "flask_smorest", "marshmallow", "apispec", "webargs", "whitenoise",
        "structlog", "prometheus_client",
    },
    "jobs": {"apscheduler", "structlog"},
}  # fmt: skip
"""Beyond Python's own, what each floor may use."""

CLOCKS_AND_OUTSIDE = {
    "os", "io", "pathlib", "shutil", "tempfile", "socket", "ssl", "http", "urllib", "sqlite3",
    "subprocess", "threading", "multiprocessing", "asyncio", "random", "secrets", "logging",
}  # fmt: skip
"""Of Python's own, what the domain does without: no clock, no file, no network, no chance."""


def modules_of(floor: str) -> list[Path]:
    return sorted((SOURCE / floor).rglob("*.py"))


def imports_of(path: Path) -> Iterator[str]:
    """Every module that a file imports, wherever in it, with full names."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: import by the full name"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def floor_of(name: str) -> str | None:
    """The floor of `crossload.x.y`; the module itself where it stands beside the floors."""
    parts = name.split(".")
    return parts[1] if parts[0] == "crossload" and len(parts) > 1 else None


def test_the_floors_are_all_that_there_is():
    folders = {path.name for path in SOURCE.iterdir() if (path / "__init__.py").is_file()}
    assert folders == set(SEES) == set(LIBRARIES)


@pytest.mark.parametrize("floor", SEES)
def test_a_floor_sees_only_the_floors_before_it(floor):
    broken = [
        f"{path.relative_to(SOURCE)} imports {name}"
        for path in modules_of(floor)
        for name in imports_of(path)
        if (seen := floor_of(name)) is not None and seen not in SEES[floor] | {"__version__"}
    ]
    assert broken == []


@pytest.mark.parametrize("floor", LIBRARIES)
def test_a_floor_uses_only_its_own_libraries(floor):
    broken = [
        f"{path.relative_to(SOURCE)} imports {name}"
        for path in modules_of(floor)
        for name in imports_of(path)
        if (top := name.partition(".")[0]) != "crossload"
        and top not in sys.stdlib_module_names
        and top not in LIBRARIES[floor]
    ]
    assert broken == []


def test_the_domain_has_no_clock_no_file_and_no_network():
    broken = [
        f"{path.relative_to(SOURCE)} imports {name}"
        for path in modules_of("domain")
        for name in imports_of(path)
        if name.partition(".")[0] in CLOCKS_AND_OUTSIDE
    ]
    assert broken == []


READS_THE_TIME = {("time", "time"), ("datetime", "now"), ("datetime", "utcnow"), ("date", "today")}


@pytest.mark.parametrize("floor", ["domain", "formats", "storage", "usecases"])
def test_nobody_below_the_interface_reads_the_time_of_day(floor):
    """The instant of a request is an argument. Ids alone are made from the time by themselves."""
    broken = [
        f"{path.relative_to(SOURCE)}:{node.lineno}"
        for path in modules_of(floor)
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and (node.value.id, node.attr) in READS_THE_TIME
    ]
    assert [place for place in broken if not place.startswith("storage/ids.py")] == []


def test_the_interface_opens_no_transaction():
    broken = [
        f"{path.relative_to(SOURCE)} imports {name}"
        for floor in ("api", "jobs")
        for path in modules_of(floor)
        for name in imports_of(path)
        if name.startswith("crossload.usecases.transaction")
    ]
    assert broken == []
