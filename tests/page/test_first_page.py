"""What the first page is made of: named in the shell, so that it comes at once, and small."""

import gzip
import re
from pathlib import Path

import pytest

WEB = Path(__file__).parents[2] / "web"
SHELL = (WEB / "index.html").read_text("utf-8")
FIRST_MODULES = ["js/main.js", "js/pages/now.js"]
IMPORTED = re.compile(r'\b(?:from|import) "(\.[^"]+)"')
MOST_BYTES = 55_000
HEADER_BYTES = 700
"""An allowance for the headers of an answer; tests/browser measures the true sum."""


def imports_of(name: str) -> list[str]:
    path = WEB / name
    found = IMPORTED.findall(path.read_text("utf-8"))
    return [str((path.parent / one).resolve().relative_to(WEB)) for one in found]


def with_all_imports(names: list[str]) -> set[str]:
    found: set[str] = set()
    waiting = list(names)
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += imports_of(name)
    return found


def compressed(name: str) -> int:
    return len(gzip.compress((WEB / name).read_bytes(), 9))


def test_the_shell_names_all_modules_of_the_first_page_and_no_others():
    named = re.findall(r'rel="modulepreload" href="/web/([^"]+)"', SHELL)
    assert sorted(named) == sorted(with_all_imports(FIRST_MODULES))


def test_every_file_that_the_shell_names_is_there():
    named = re.findall(r'(?:href|src)="/web/([^"]+)"', SHELL)
    assert [name for name in named if not (WEB / name).is_file()] == []


def test_the_shell_has_no_script_or_style_of_its_own():
    assert re.findall(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)[^>]*>", SHELL) == []


def test_the_first_page_is_under_55_kilobytes_compressed():
    named = {"index.html", *re.findall(r'(?:href|src)="/web/([^"]+)"', SHELL)}
    assert sum(map(compressed, named)) + HEADER_BYTES * len(named) < MOST_BYTES


@pytest.mark.parametrize("name", sorted(str(path.relative_to(WEB)) for path in WEB.rglob("*.js")))
def test_a_module_asks_for_nothing_from_elsewhere_and_sets_no_markup(name):
    text = (WEB / name).read_text("utf-8")
    assert (
        re.findall(r"https?://|innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(", text)
        == []
    )
    assert ("fetch(" in text) == (name == "js/api.js")
