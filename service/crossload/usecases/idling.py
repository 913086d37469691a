"""Of what each holder has of a kit type on one day, how much its unit does not use."""

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np

from crossload.domain.booking import BookingState
from crossload.domain.idle import ShootDays, classes_of, used
from crossload.domain.window import Window
from crossload.storage.figures import Columns
from crossload.storage.stores import Stores

Told = dict[str, Any]


def tell_idle(
    stores: Stores, found: Sequence[Told], category: str, day: date, window: Window
) -> None:
    """Set `idle` of holders, all of one kit type; what a unit uses is taken first come.

    `window` is the local day. Out of service and pencilled kit is nobody's to lend.
    """
    units = np.array(sorted({told["unit_id"] for told in found if told["unit_id"]}), np.int64)
    rows = Columns(stores.pool).shoot_days(day, day, window)
    shoot_days = ShootDays.of((row[:2] + row[3:]) for row in rows)
    needs = used(shoot_days, units, [window], [day])[classes_of([category])[0], :, 0]
    left = dict(zip(units.tolist(), needs.tolist(), strict=True))
    for told in found:
        there = told["start"] < window.end and told["end"] > window.start
        if told["state"] in (BookingState.CONFIRMED, "out") and there:
            used_here = min(left[told["unit_id"]], told["quantity"])
            left[told["unit_id"]] -= used_here
            told["idle"] = told["quantity"] - used_here
