"""The papers say what the code does: settings, routes, commands, permissions, the README's calls."""

import argparse
import re
from pathlib import Path

import pytest

from crossload import cli
from crossload.app import create_app
from crossload.domain.people import PERMISSIONS, Role
from crossload.settings import Settings, table
from crossload.storage import database

ROOT = Path(__file__).parents[1]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
README = (ROOT / "README.md").read_text()


def test_every_setting_stands_in_the_table_with_its_default_and_meaning():
    shown = re.findall(r"^\| `(CROSSLOAD_\w+)` \| (.*?) \| (.*?) \|$", DEVELOPERS, re.M)
    assert shown == [(told.variable, told.default, told.meaning) for told in table()]


def test_every_command_is_listed():
    parser = cli.make_parser()
    commands = next(
        action for action in parser._actions if isinstance(action, argparse._SubParsersAction)
    )
    listed = re.findall(r"^\| `crossload ([\w-]+)` \|", DEVELOPERS, re.M)
    assert sorted(listed) == sorted(commands.choices)


def test_who_may_do_what_is_as_the_table_says():
    words = {"–": "none"}
    shown = {}
    for line in DEVELOPERS.splitlines():
        verb, *reaches = [cell.strip() for cell in line.strip("|").split("|")]
        if verb in PERMISSIONS:
            shown[verb] = dict(zip(Role, (words.get(r, r) for r in reaches), strict=True))
    assert shown == {verb: dict(reach) for verb, reach in PERMISSIONS.items()}


@pytest.fixture
def routes(tmp_path):
    app = create_app(Settings(data=tmp_path))
    yield {
        (rule.rule, method)
        for rule in app.url_map.iter_rules()
        if rule.rule.startswith("/api/v1")
        for method in rule.methods - {"HEAD", "OPTIONS"}
    }
    database.close_database()


def test_every_route_is_listed(routes):
    listed = set()
    for path, methods in re.findall(r"^\| `(/[^`]*)` \| ([A-Z, ]+) \|", DEVELOPERS, re.M):
        listed |= {("/api/v1" + path, method) for method in methods.split(", ")}
    bare = {(re.sub(r"<[^>]*>", "ID", rule), method) for rule, method in routes}
    assert {(re.sub(r"\{\w+\}", "ID", rule), method) for rule, method in listed} == bare


def test_papers_name_no_machine_and_no_registry():
    for text in (README, DEVELOPERS):
        assert not re.search(r"/(root|home|tmp|work)/|pypi|npmjs|deb\.debian", text)
