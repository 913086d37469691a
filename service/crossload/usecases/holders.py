"""Who has kit of one type on one day, with whom to call."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from crossload.domain.availability import Stocked
from crossload.domain.booking import Booking, BookingState
from crossload.domain.claims import Claim
from crossload.domain.holdings import About, Ground
from crossload.domain.idle import ShootDays, classes_of, used
from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.storage.figures import Columns
from crossload.storage.stores import Stores
from crossload.usecases.bookings import as_ask
from crossload.usecases.judging import World, judge_in, look, place
from crossload.usecases.telling import Names, holders_of
from crossload.usecases.transaction import read

Told = dict[str, Any]
SEARCH_S = 0.25
"""How long the search for names may take for one pencil's place in the queue."""


def holders_on(stores: Stores, kit: Stocked, day: date, window: Window, now: Instant) -> list[Told]:
    """Everybody who has some of the kit type in the window of a day, in order of their start.

    One entry a booking's line, and what is out beside all lines by unit, person and time.
    """
    world = look(stores, [kit.id], now, min(window.start, now))
    parts: dict[Hashable, list[Claim]] = {}
    for claim in world.claims(kit.id, lambda held: True):
        if claim.window.overlaps(window) and _is_of_the_stock(claim, world, kit.id):
            parts.setdefault(_whose(claim), []).append(claim)
    names = Names(stores)
    pencils = {held.booking for held in map(_pencil, parts.values()) if held}
    queue = _Queue(stores, world, kit.id, pencils, now)
    found = [_holder(names, part, queue, now) for part in parts.values()]
    found.sort(key=lambda told: (told["start"], told["booking_id"] or 0))
    if kit.tracking is not Tracking.CONSUMABLE:
        _tell_idle(stores, found, kit, day, window)
    return found
