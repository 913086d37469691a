"""The page's modules, tested in the browser that the page is for.

`*.test.js` beside this file hold the assertions; each runs on a page of its own.
"""

import contextlib
import functools
import http.server
import threading
from pathlib import Path

import pytest

HERE = Path(__file__).parent
REPOSITORY = HERE.parents[1]
SUITES = sorted(path.name for path in HERE.glob("*.test.js"))


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *args) -> None:
        """A test run has nothing to say of each file."""


@pytest.fixture(scope="module")
def address():
    """The checkout over HTTP, since modules are not loaded from files."""
    handler = functools.partial(Quiet, directory=REPOSITORY)
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        thread.join()


@pytest.fixture
def page(browser):
    # Another zone than the pool's: a time that the browser converted would show.
    with contextlib.closing(browser.new_context(timezone_id="Pacific/Auckland")) as context:
        yield context.new_page()


def test_there_are_suites_to_run():
    assert len(SUITES) >= 8


@pytest.mark.parametrize("suite", SUITES)
def test_every_assertion_of_a_suite_holds(page, address, suite):
    page.goto(f"{address}/tests/page/page.html")
    result = page.evaluate(
        "suite => import('./runner.js').then(({ run }) => run(`./${suite}`))", suite
    )
    assert result["ran"] > 0
    assert result["failed"] == []


def test_a_failing_assertion_is_seen(page, address):
    page.goto(f"{address}/tests/page/page.html")
    result = page.evaluate(
        """() => import('./runner.js').then(({ run, test, same }) => {
          test('one is two', () => same(1, 2));
          test('a set is no list', () => same(new Set([1]), [1]));
          test('one is one', () => same(1, 1));
          return run('./runner.js');
        })"""
    )
    assert result["ran"] == 3
    assert len(result["failed"]) == 2
