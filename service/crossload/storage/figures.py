"""Columns for numpy: what is recorded of many kit types at once, without a value for each row."""

from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple

from crossload.domain.availability import Ints, Stocked
from crossload.domain.booking import LIVE, BookingState
from crossload.domain.kit import PIECE_BY_PIECE, Tracking
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.storage import arrays, sql
from crossload.storage.held import TIED

_LIVE = sql.words(LIVE)


class DayRow(NamedTuple):
    """As much of a shoot day as figures need; `day` is the ordinal of its date."""

    unit: Id
    day: int
    number: int
    call: Instant
    wrap: Instant
    radios: int
    booms: int
    listeners: int


class Lines:
    """Live lines as arrays of one length: ids of kit type and unit, times in UTC seconds."""

    def __init__(self, columns: Sequence[Ints]):
        self.kit_type, self.unit, quantity, booked, occupied = columns
        self.quantity, self.pencilled = quantity >> 1, (quantity & 1).astype(bool)
        self.start, self.end = _two(booked)
        self.since, self.until = _two(occupied)


def _two(packed: Ints) -> tuple[Ints, Ints]:
    """Each fits in 32 bits without a sign; shifting brings the sign of the upper one along."""
    return packed >> 32 & 0xFFFFFFFF, packed & 0xFFFFFFFF


_PACKED = (
    "kit_type_id",
    "unit_id",
    f"(quantity - gone) * 2 + CASE state WHEN '{BookingState.PENCILLED}' THEN 1 ELSE 0 END",
    "(start_s << 32) | end_s",
    "(from_s << 32) | until_s",
)
"""What `Lines` unpacks: the time goes by the numbers that are read, so two travel as one."""

_RECORDED = (
    "SELECT line_id FROM custody WHERE pool_id = ? AND back_at IS NULL AND +line_id IS NOT NULL"
    f" UNION ALL {TIED}"
)
"""Lines that are no columns: what holds for them is told by `domain.holdings`, one by one.

The plus keeps SQLite from going through all custody there ever was in order of its lines.
"""


class Columns:
    """One pool's figures, read in as few bytes as they need."""

    def __init__(self, pool: Id):
        self.pool = pool

    def stock(self, kit_types: Sequence[Id], category: str | None) -> list[Stocked]:
        """What there is of these kit types (all when there are none), or of a category."""
        text = (
            "SELECT id, name, category, tracking, count, check_in_s, (SELECT count(*) FROM item"
            " WHERE item.pool_id = kit_type.pool_id AND item.kit_type_id = kit_type.id"
            " AND condition <> 'retired') FROM kit_type WHERE pool_id = ?"
        )
        values: list[Any] = [self.pool]
        if kit_types:
            text, values = f"{text} AND id IN ({sql.marks(kit_types)})", [*values, *kit_types]
        if category is not None:
            text, values = f"{text} AND category = ?", [*values, category]
        found = []
        for id, name, of, tracking, count, check_in_s, pieces in sql.rows(text, *values):
            capacity = pieces if tracking in PIECE_BY_PIECE else count
            found.append(Stocked(id, name, of, Tracking(tracking), capacity, check_in_s))
        return found

    def lines(
        self, kit_types: Sequence[Id], consumables: Sequence[Id], span: Window, now: Instant
    ) -> Lines:
        """Live lines that occupy some of the span, but those of `_RECORDED`.

        Those of consumables count until their booking has ended.
        """
        source = (
            f"FROM line WHERE pool_id = ? AND kit_type_id IN ({sql.marks(kit_types)})"
            f" AND until_s > ? AND from_s < ? AND state IN ({_LIVE}) AND quantity > gone"
            f" AND id NOT IN ({_RECORDED})"
        )
        values = [self.pool, *kit_types, span.start, span.end, *[self.pool] * 3]
        if consumables:
            source += f" AND (end_s > ? OR kit_type_id NOT IN ({sql.marks(consumables)}))"
            values += [now, *consumables]
        return Lines(arrays.columns(_PACKED, source, *values))

    def consumables_end(self, kit_types: Sequence[Id], now: Instant) -> Instant:
        """When the next booking with consumables ends, and they claim no more; FOREVER if none."""
        text = (
            f"SELECT min(end_s) FROM line WHERE pool_id = ? AND kit_type_id IN"
            f" ({sql.marks(kit_types)}) AND end_s > ? AND state IN ({_LIVE})"
        )
        found = sql.row(text, self.pool, *kit_types, now)
        return found[0] if found and found[0] is not None else FOREVER

    def retired_out(self) -> set[Id]:
        """Pieces that are out though they belong to no stock any more."""
        text = (
            "SELECT item.id FROM item JOIN custody ON custody.pool_id = item.pool_id"
            " AND custody.item_id = item.id AND back_at IS NULL"
            " WHERE item.pool_id = ? AND item.condition = 'retired'"
        )
        return {id for (id,) in sql.rows(text, self.pool)}

    def shoot_days(self, first: date, last: date, span: Window) -> list[DayRow]:
        """Shoot days of the dates first to last, or that reach into the span, by call."""
        text = (
            "SELECT unit_id, day, number, call_s, wrap_s, radios, booms, listeners FROM shoot_day"
            " WHERE pool_id = ? AND (day BETWEEN ? AND ? OR (wrap_s > ? AND call_s < ?))"
            " ORDER BY call_s, id"
        )
        values = (first.toordinal(), last.toordinal(), span.start, span.end)
        return [DayRow(*row) for row in sql.rows(text, self.pool, *values)]
