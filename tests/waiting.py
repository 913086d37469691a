"""Waiting for what another thread or process does: for a condition, never for a time."""

import threading
import time
from collections.abc import Callable
from typing import TypeVar

T = TypeVar("T")

PATIENCE_S = 20


def until(condition: Callable[[], T], what: str, patience_s: float = PATIENCE_S) -> T:
    """Look until the condition gives something true, and give that; fails when patience ends."""
    deadline = time.monotonic() + patience_s
    pause = threading.Event()
    while not (found := condition()):
        assert time.monotonic() < deadline, f"waited {patience_s} s in vain: {what}"
        pause.wait(0.01)
    return found
