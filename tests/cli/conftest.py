"""The program with its working folder, and a demo to take copies of."""

import shutil
from functools import partial
from pathlib import Path

import pytest

from program import run


@pytest.fixture
def crossload(tmp_path):
    """`crossload("migrate", CROSSLOAD_ZONE="…")`, run in this test's own folder."""
    return partial(run, cwd=tmp_path)


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory) -> Path:
    """A data folder that `crossload demo` made, with its day 8 today. To be read alone."""
    folder = tmp_path_factory.mktemp("demo")
    done = run("demo", "--data", folder, cwd=folder)
    assert (done.returncode, done.stdout, done.stderr) == (0, "loaded Fernhill Hire\n", "")
    return folder


@pytest.fixture
def demo(demo_folder, tmp_path) -> Path:
    """A data folder of this test's own with the demo."""
    folder = tmp_path / "demo"
    folder.mkdir()
    shutil.copyfile(demo_folder / "crossload.db", folder / "crossload.db")
    return folder
