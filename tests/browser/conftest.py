"""The real service on a port of its own, and people who come to it with a browser."""

import contextlib
import functools
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from typing import Any

import pytest

from guests import DESK, Service, serving

QUIET_ERRORS = ("ERR_INTERNET_DISCONNECTED", "the server responded with a status of 4")
"""What Chromium writes by itself when a refusal, or no network, is what the test is about."""


@pytest.fixture(scope="module")
def service(tmp_path_factory) -> Iterator[Service]:
    """One a module: its tests share the day, and each leaves the kit as it found it or says so."""
    with serving(tmp_path_factory.mktemp("data")) as address:
        yield Service(address)


@pytest.fixture
def visit(visiting) -> Iterator[Callable[..., Any]]:
    """Opens a page: `visit("/ask", "tobin", PHONE)`. Whatever the page complains of fails the test."""
    complaints: list[str] = []
    with visiting(complaints) as opened:
        yield opened
    assert complaints == []


@pytest.fixture(scope="module")
def visiting(browser, service) -> Callable[..., AbstractContextManager[Callable[..., Any]]]:
    """Makes a `visit` that lasts as long as its user says; what pages complain of is for the user."""
    return functools.partial(_visiting, browser, service)


@contextlib.contextmanager
def _visiting(
    browser: Any, service: Service, complaints: list[str]
) -> Iterator[Callable[..., Any]]:
    with contextlib.ExitStack() as open_pages:

        def opened(path: str, login: str | None = None, size: Any = DESK, *, light: str = "day"):
            # Another zone than the pool's, and the device's own clock beside the demo's: a time that
            # the browser converted, or took for the service's, would show.
            context = browser.new_context(
                viewport=size, timezone_id="Pacific/Auckland", base_url=service.address
            )
            open_pages.callback(context.close)
            context.set_default_timeout(10_000)
            context.add_init_script(f"localStorage.setItem('crossload-light', '{light}')")
            if login:
                context.request.post("/api/v1/session", data={"demo": login})
            page = context.new_page()
            page.on("pageerror", lambda error: complaints.append(str(error)))
            page.on("console", lambda told: _complain(complaints, told))
            page.on("request", lambda sent: _keep_home(complaints, sent.url, service.address))
            page.goto(path)
            return page

        yield opened


def _keep_home(complaints: list[str], url: str, address: str) -> None:
    """The page asks nobody but the service that served it."""
    if not url.startswith((f"{address}/", "data:", "blob:")):
        complaints.append(f"asked elsewhere: {url}")


def _complain(complaints: list[str], told: Any) -> None:
    if told.type == "error" and not any(text in told.text for text in QUIET_ERRORS):
        complaints.append(f"{told.text} {told.location.get('url', '')}")
