"""Of what each holder has of a kit type on one day, how much its unit does not use."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

import numpy as np

from crossload.domain.booking import BookingState
from crossload.domain.idle import ShootDays, classes_of, used
from crossload.domain.window import Window
from crossload.storage.figures import Columns, DayRow
from crossload.storage.stores import Stores

Told = dict[str, Any]


def as_arrays(rows: Iterable[DayRow]) -> ShootDays:
    """Shoot days, without their numbers, as the domain counts with them."""
    return ShootDays.of((row[:2] + row[3:]) for row in rows)


def shoot_days_on(stores: Stores, day: date, window: Window) -> ShootDays:
    """Shoot days of a local day and its window, or that reach into it."""
    return as_arrays(Columns(stores.pool).shoot_days(day, day, window))


def tell_idle(
    shoot_days: ShootDays, found: Sequence[Told], category: str, day: date, window: Window
) -> None:
    """Set `idle` of holders, all of one kit type; what a unit uses is taken first come.

    `window` is the local day. Out of service and pencilled kit is nobody's to lend.
    """
    units = np.array(sorted({told["unit_id"] for told in found if told["unit_id"]}), np.int64)
    needs = used(shoot_days, units, [window], [day])[classes_of([category])[0], :, 0]
    left = dict(zip(units.tolist(), needs.tolist(), strict=True))
    for told in found:
        there = told["start"] < window.end and told["end"] > window.start
        if told["state"] in (BookingState.CONFIRMED, "out") and there:
            used_here = min(left[told["unit_id"]], told["quantity"])
            left[told["unit_id"]] -= used_here
            told["idle"] = told["quantity"] - used_here
