"""The only two ways in which a use-case meets the database."""

from collections.abc import Iterator
from contextlib import contextmanager

from crossload.domain.booking import BookingState
from crossload.domain.window import FOREVER, Id, Instant
from crossload.storage import database
from crossload.storage.stores import Stores

read = database.read
"""`read(pool)`: one snapshot of a pool."""


@contextmanager
def write(pool: Id, now: Instant) -> Iterator[Stores]:
    """One write to a pool; what has fallen due by `now` is settled first. See `database.write`."""
    with database.write(pool, now, settle) as stores:
        yield stores


def settle(stores: Stores, now: Instant) -> Instant:
    """Carry out what has fallen due by itself; answers when the next thing will."""
    for booking in stores.bookings.lapsing(now):
        stores.bookings.set_state(booking, BookingState.LAPSED)
        stores.journal.write(
            None,
            "lapsed",
            "booking",
            booking,
            now,
            before={"state": BookingState.PENCILLED},
            after={"state": BookingState.LAPSED},
        )
    return stores.bookings.next_lapse() or FOREVER
