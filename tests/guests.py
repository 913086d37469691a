"""The real service with the demo at a set hour, and people who call it with a page or without."""

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any

from services import free_port

NOW = (
    1_795_615_500  # Wednesday 25 November 2026, 14:05 in London: the afternoon of the demo's day 8
)
POLL_S = 0.3
GIVE_UP_S = 60
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1360, "height": 760}


@dataclass(frozen=True)
class Caller:
    """Somebody who uses the interface without a page, to write what a page must then show."""

    address: str
    opener: urllib.request.OpenerDirector = field(
        default_factory=lambda: urllib.request.build_opener(
            urllib.request.HTTPCookieProcessor(CookieJar())
        )
    )

    def call(self, method: str, path: str, body: Any = None, etag: str = "") -> Any:
        headers = {"Content-Type": "application/json", "Idempotency-Key": str(uuid.uuid4())}
        if etag:
            headers["If-Match"] = etag
        content = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(
            f"{self.address}/api/v1{path}", content, headers, method=method
        )
        with self.opener.open(request, timeout=10) as answer:
            raw = answer.read()
        return json.loads(raw) if raw else None

    def get(self, path: str) -> Any:
        return self.call("GET", path)

    def post(self, path: str, body: Any, etag: str = "") -> Any:
        return self.call("POST", path, body, etag)


@dataclass(frozen=True)
class Service:
    address: str

    def caller(self, login: str) -> Caller:
        caller = Caller(self.address)
        caller.post("/session", {"demo": login})
        return caller


@contextlib.contextmanager
def serving(data: Path, poll_s: float = POLL_S) -> Iterator[str]:
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    told = {
        "CROSSLOAD_POLL_S": str(poll_s),
        "CROSSLOAD_POLL_HIDDEN_S": str(poll_s),
        "CROSSLOAD_LEASE_S": "0.5",
    }
    words = data / "words"
    with words.open("wb") as log:
        server = subprocess.Popen(
            [
                sys.executable,
                Path(__file__).parent / "browser" / "serve_at.py",
                str(port),
                data,
                str(NOW),
            ],
            env=os.environ | told,
            stdout=log,
            stderr=log,
        )
    try:
        _wait_for(server, address, words)
        yield address
    finally:
        server.send_signal(signal.SIGTERM)
        with contextlib.suppress(subprocess.TimeoutExpired):
            server.wait(timeout=15)
        if server.poll() is None:
            server.kill()
            server.wait()


def _wait_for(server: subprocess.Popen, address: str, words: Path) -> None:
    deadline = time.monotonic() + GIVE_UP_S
    while server.poll() is None and time.monotonic() < deadline:
        try:
            with urllib.request.urlopen(f"{address}/sign-in", timeout=5):
                return
        except OSError:
            time.sleep(0.05)
    raise RuntimeError(f"the service did not start:\n{words.read_text()[-3000:]}")
