"""Ids: 63 bits, ordered by time, made in the program."""

import secrets
import threading
import time

from crossload.domain.window import Id, Instant

RANDOM_BITS = 22
EPOCH_MS = 946_684_800_000

_lock = threading.Lock()
_last = 0


def new_id() -> Id:
    """41 bits of milliseconds since 2000 and 22 random bits.

    Within a process each id is greater than the one before, so that a page by id is a page by time.
    """
    global _last  # noqa: PLW0603
    made = (time.time_ns() // 1_000_000 - EPOCH_MS << RANDOM_BITS) | secrets.randbits(RANDOM_BITS)
    with _lock:
        _last = max(made, _last + 1)
        return Id(_last)


def made_at(id: Id) -> Instant:
    """When an id was made, by the clock of the machine that made it."""
    return ((id >> RANDOM_BITS) + EPOCH_MS) // 1000
