"""Live lines as the judges take them: as far as they claim kit."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from crossload.domain.booking import LIVE, BookingState, Handing
from crossload.domain.holdings import HeldLine
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.storage import sql

_COLUMNS = (
    "id, booking_id, unit_id, kit_type_id, state, rank, quantity - gone, start_s, end_s, from_s,"
    " until_s, item_id, check_in_s, straight_from_id"
)
TIED = (
    "SELECT id AS tied_id FROM line WHERE pool_id = ? AND straight_from_id IS NOT NULL UNION"
    " SELECT straight_from_id FROM line WHERE pool_id = ? AND straight_from_id IS NOT NULL"
)
"""Lines that take kit over from another and those that hand it on, of the pool given twice."""

_CLAIMS = f"state IN ({sql.words(LIVE)}) AND quantity > gone"


class Held:
    """One pool's live lines."""

    def __init__(self, pool: Id):
        self.pool = pool

    def lines(
        self, kit_types: Sequence[Id], since: Instant, until: Instant = FOREVER + 1,
        *, counted: bool = False,
    ) -> list[HeldLine]:  # fmt: skip
        """Live lines of the kit types that occupy some of [since, until).

        Kit that is all `counted` has no pieces: none are read.
        """
        text = (
            f"SELECT {_COLUMNS} FROM line WHERE pool_id = ? AND kit_type_id IN ({sql.marks(kit_types)})"
            f" AND until_s > ? AND from_s < ? AND {_CLAIMS}"
        )
        found = sql.rows(text, self.pool, *kit_types, since, until)
        pieces = self._fixed(kit_types, since) if found and not counted else {}
        return [_held(row, pieces) for row in found]

    def straight(self, lines: Sequence[Id]) -> list[HeldLine]:
        """Live lines among these, and those that take kit over from them."""
        marks = sql.marks(lines)
        text = (
            f"SELECT {_COLUMNS} FROM line WHERE pool_id = ? AND (id IN ({marks})"
            f" OR straight_from_id IN ({marks})) AND {_CLAIMS}"
        )
        return self._with_pieces(sql.rows(text, self.pool, *lines, *lines))

    def handings(self, since: Instant, booking: Id | None = None) -> list[Handing]:
        """What is still to go straight from one unit to another, for bookings that end after `since`.

        With a booking, what it takes over and what it hands on.
        A giver whose kit has all come back to the house has nothing left to hand on.
        """
        went = "FROM custody WHERE custody.pool_id = taker.pool_id AND custody.line_id ="
        text = (
            "SELECT * FROM (SELECT giver.id, giver.booking_id AS from_booking, giver.unit_id,"
            " giver.end_s, taker.id AS taker, taker.booking_id AS booking, taker.unit_id AS taking,"
            " taker.kit_type_id, taker.quantity -"
            f" coalesce((SELECT sum(custody.quantity) {went} taker.id), 0) AS rest"
            " FROM line AS taker JOIN line AS giver ON giver.id = taker.straight_from_id"
            " WHERE taker.pool_id = ? AND taker.straight_from_id IS NOT NULL AND taker.end_s > ?"
            " AND taker.from_s = giver.end_s"
            " AND taker.state = 'confirmed' AND giver.state = 'confirmed'"
            f" AND (NOT EXISTS (SELECT 1 {went} giver.id)"
            f" OR EXISTS (SELECT 1 {went} giver.id AND back_at IS NULL))) AS found"
            " WHERE rest > 0"
        )
        values = [self.pool, since]
        if booking is not None:
            text, values = f"{text} AND ? IN (from_booking, booking)", [*values, booking]
        return [Handing(*row) for row in sql.rows(f"{text} ORDER BY 4, 5", *values)]

    def tied(self, kit_types: Sequence[Id], since: Instant, until: Instant) -> list[HeldLine]:
        """Live lines that occupy some of [since, until) and take kit over or hand it on."""
        text = (
            # The few that are tied come first, and SQLite keeps to that order.
            f"SELECT {_COLUMNS} FROM ({TIED}) AS tied CROSS JOIN line WHERE line.id = tied_id"
            f" AND pool_id = ? AND kit_type_id IN ({sql.marks(kit_types)})"
            f" AND until_s > ? AND from_s < ? AND {_CLAIMS}"
        )
        return self._with_pieces(sql.rows(text, *[self.pool] * 3, *kit_types, since, until))

    def _with_pieces(self, found: Sequence[Sequence[Any]]) -> list[HeldLine]:
        pieces = fixed_to(self.pool, [row[0] for row in found])
        return [_held(row, pieces) for row in found]

    def _fixed(self, kit_types: Sequence[Id], since: Instant) -> dict[Id, list[Id]]:
        text = (
            "SELECT line_id, line_item.item_id FROM line"
            " JOIN line_item ON line_item.pool_id = line.pool_id AND line_item.line_id = line.id"
            " AND left_at IS NULL"
            f" WHERE line.pool_id = ? AND kit_type_id IN ({sql.marks(kit_types)}) AND until_s > ?"
        )
        found: dict[Id, list[Id]] = defaultdict(list)
        for line, item in sql.rows(text, self.pool, *kit_types, since):
            found[line].append(item)
        return found


def fixed_to(pool: Id, lines: Sequence[Id]) -> dict[Id, list[Id]]:
    """The pieces fixed to lines now, by line."""
    if not lines:
        return {}
    text = (
        "SELECT line_id, item_id FROM line_item"
        f" WHERE pool_id = ? AND line_id IN ({sql.marks(lines)}) AND left_at IS NULL ORDER BY id"
    )
    found: dict[Id, list[Id]] = defaultdict(list)
    for line, item in sql.rows(text, pool, *lines):
        found[line].append(item)
    return found


_STATES = {str(state): state for state in BookingState}


def _held(row: Sequence[Any], fixed: dict[Id, list[Id]]) -> HeldLine:
    id, booking, unit, kit_type, state, rank, quantity, start, end, since, until, *rest = row
    item, check_in_s, straight_from = rest
    pieces = tuple(fixed.get(id, ())) or ((item,) if item is not None else ())
    window = Window(since, until)
    return HeldLine(
        id, booking, unit, kit_type, _STATES[state], rank, quantity, start, end, window, pieces[:quantity],
        check_in_s, straight_from,
    )  # fmt: skip
