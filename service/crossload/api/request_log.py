"""One JSON line a request, on standard error: what was asked, what came of it, how long it took."""

import logging
import sys
import time
from collections.abc import Callable, Iterable
from typing import Any

import structlog
from flask import Flask, Response, g, request
from werkzeug.wsgi import ClosingIterator

from crossload.api.problems import request_id
from crossload.domain import ids


def configure(what: str) -> None:
    """How this process logs; the joiners call it once.

    `what` is "requests", "failures", or "auto": on a terminal the requests would push away what
    the person who started the service is to read.
    """
    failures = what == "failures" or (what == "auto" and sys.stderr.isatty())
    structlog.configure(
        wrapper_class=structlog.make_filtering_bound_logger(
            logging.WARNING if failures else logging.INFO
        ),
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(),
        ],
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
        cache_logger_on_first_use=True,
    )


def _sign(response: Response) -> Response:
    """Name the request in its answer, and tell the log who it was from."""
    response.headers["X-Request-Id"] = request_id()
    signed = g.get("signed_in")
    who = {"request_id": request_id()}
    if signed:
        who["pool"] = ids.to_text(signed.actor.pool)
        who["credential"] = ids.to_text(signed.credential.id)
    request.environ["crossload.who"] = who
    return response


class RequestLog:
    """Around everything else, so that files of the page are told of too.

    No query, no body, no cookie: a log outlives what it should not hold.
    """

    def __init__(self, inner: Callable[..., Iterable[bytes]]):
        self.inner = inner

    def __call__(self, environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        began, status = time.perf_counter(), ["500"]

        def started(line: str, *rest: Any) -> Any:
            status[0] = line
            return start(line, *rest)

        def write() -> None:
            number = int(status[0][:3])
            structlog.get_logger().log(
                logging.INFO if number < 500 else logging.WARNING,
                "request",
                method=environ.get("REQUEST_METHOD"),
                path=environ.get("PATH_INFO"),
                status=number,
                ms=round((time.perf_counter() - began) * 1000, 1),
                **environ.get("crossload.who", {}),
            )

        return ClosingIterator(self.inner(environ, started), write)


def install(app: Flask) -> None:
    """Called last: what it wraps is what it tells of."""
    app.after_request(_sign)
    app.wsgi_app = RequestLog(app.wsgi_app)  # type: ignore[method-assign, assignment]
