"""What start.sh says when something is missing: one sentence with the mend, and no stack trace."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SHELL_TOOLS = ("cat", "cksum", "dirname", "grep", "head", "mkdir", "rm", "sed", "tail")
OLD_PYTHON = '[ "$1" = -V ] && echo Python 3.9.2; exit 1'
WITHOUT_VENV = f'case "$2" in *ensurepip*) exit 1 ;; esac; exec "{sys.executable}" "$@"'


@pytest.fixture
def checkout(tmp_path):
    """As much of a checkout as the script reads before it serves, in a folder with a space."""
    folder = tmp_path / "a check out"
    shutil.copytree(ROOT / "deploy", folder / "deploy")
    shutil.copyfile(ROOT / "pyproject.toml", folder / "pyproject.toml")
    return folder


@pytest.fixture
def tools(tmp_path):
    """A folder for PATH with the shell's tools and no Python."""
    folder = tmp_path / "tools"
    folder.mkdir()
    for tool in SHELL_TOOLS:
        (folder / tool).symlink_to(shutil.which(tool))
    return folder


def start(checkout: Path, tmp_path: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["/bin/sh", checkout / "deploy" / "start.sh"],
        env=environment,
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )


def a_python(tools: Path, body: str) -> None:
    script = tools / "python3"
    script.write_text(f"#!/bin/sh\n{body}\n")
    script.chmod(0o755)


def test_without_python_it_says_which_python_to_install(checkout, tools, tmp_path):
    refused = start(checkout, tmp_path, PATH=str(tools))
    assert refused.returncode == 1
    assert refused.stderr == (
        "Crossload needs Python 3.11 or later and found none: install one and run this again.\n"
    )


def test_an_old_python_is_named(checkout, tools, tmp_path):
    a_python(tools, OLD_PYTHON)
    refused = start(checkout, tmp_path, PATH=str(tools))
    assert refused.returncode == 1
    assert refused.stderr == (
        "Crossload needs Python 3.11 or later and found Python 3.9.2:"
        " install one and run this again.\n"
    )


def test_a_python_without_its_venv_module_names_the_package_that_brings_it(
    checkout, tools, tmp_path
):
    a_python(tools, WITHOUT_VENV)
    refused = start(checkout, tmp_path, PATH=str(tools))
    assert refused.returncode == 1
    assert refused.stderr.count("\n") == 1
    assert "apt-get install python3-venv" in refused.stderr


def test_without_a_network_it_says_so_and_leaves_nothing_that_passes_for_installed(
    checkout, tmp_path
):
    refused = start(
        checkout,
        tmp_path,
        PATH=os.environ["PATH"],
        PIP_CONFIG_FILE=os.devnull,
        PIP_INDEX_URL="http://127.0.0.1:9/simple",  # the discard port, where nobody listens
        PIP_RETRIES="1",
    )
    assert refused.returncode == 1
    assert refused.stderr.startswith("The package registry cannot be reached: ")
    assert refused.stderr.count("\n") == 1
    assert not (checkout / ".venv" / "installed").exists()
