"""Bookings and lines: kept, listed, and read as holdings for the judges."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from crossload.domain.booking import LIVE, Ask, Booking, BookingState, Line
from crossload.domain.window import Id, Instant, Window
from crossload.storage import sql
from crossload.storage.held import fixed_to
from crossload.storage.ids import new_id

BOOKING = (
    "id, unit_id, state, start_s, end_s, purpose, who_pays, order_number, pencil_expires_at,"
    " created_at, created_by_id, undo_until, version"
)
LINE = (
    "id, booking_id, kit_type_id, quantity, start_s, end_s, from_s, until_s, state, item_id,"
    " prep_s, check_in_s, released, gone, rank, straight_from_id"
)
_FIXING = ("id", "pool_id", "line_id", "item_id")
_LIVE = sql.words(LIVE)


def _booking(row: Sequence[Any], lines: Iterable[Line]) -> Booking:
    id, unit, state, start, end, *rest = row
    return Booking(id, unit, BookingState(state), Window(start, end), *rest, lines=tuple(lines))  # type: ignore[misc]


def _line(row: Sequence[Any], pieces: tuple[Id, ...]) -> Line:
    id, booking, kit_type, quantity, start, end, since, until, state, *rest = row
    item, prep, check_in, released, gone, rank, straight_from = rest
    return Line(
        id=id,
        booking=booking,
        kit_type=kit_type,
        quantity=quantity,
        window=Window(start, end),
        occupied=Window(since, until),
        state=BookingState(state),
        item=item,
        pieces=pieces,
        prep_s=prep,
        check_in_s=check_in,
        released=released,
        gone=gone,
        rank=rank,
        straight_from=straight_from,
    )


class Bookings:
    """One pool's bookings. `rank` of what is added now is the pool's revision: the order of granting."""

    def __init__(self, pool: Id, revision: int):
        self.pool, self.revision = pool, revision

    def get(self, id: Id) -> Booking | None:
        """One with its lines; None when this pool has none of that id."""
        text = f"SELECT {BOOKING} FROM booking WHERE pool_id = ? AND id = ?"
        found = sql.row(text, self.pool, id)
        return _booking(found, self._lines([id])[id]) if found else None

    def some(self, ids: Iterable[Id]) -> dict[Id, Booking]:
        """Those of the ids that this pool has, with their lines."""
        wanted = sorted(set(ids))
        text = f"SELECT {BOOKING} FROM booking WHERE pool_id = ? AND id IN ({sql.marks(wanted)})"
        return {b.id: b for b in self._with_lines(sql.rows(text, self.pool, *wanted))}

    def page(
        self,
        after: int = 0,
        limit: int = 10_000,
        *,
        unit: Id | None = None,
        state: BookingState | None = None,
        since: Instant | None = None,
        until: Instant | None = None,
    ) -> list[Booking]:
        """In order of id; `since` and `until` keep those whose window overlaps [since, until)."""
        text = f"SELECT {BOOKING} FROM booking WHERE pool_id = ? AND id > ?"
        values: list[Any] = [self.pool, after]
        for clause, value in (
            ("unit_id = ?", unit),
            ("state = ?", state and str(state)),
            ("end_s > ?", since),
            ("start_s < ?", until),
        ):
            if value is not None:
                text, values = f"{text} AND {clause}", [*values, value]
        return self._with_lines(sql.rows(f"{text} ORDER BY id LIMIT ?", *values, limit))

    def latest_of(self, unit: Id) -> list[Booking]:
        """The unit's last few bookings, newest first, whatever became of them."""
        text = (
            f"SELECT {BOOKING} FROM booking WHERE pool_id = ? AND unit_id = ?"
            " ORDER BY id DESC LIMIT 20"
        )
        return self._with_lines(sql.rows(text, self.pool, unit))

    def _with_lines(self, found: Sequence[Sequence[Any]]) -> list[Booking]:
        lines = self._lines([row[0] for row in found])
        return [_booking(row, lines[row[0]]) for row in found]

    def _lines(self, bookings: Sequence[Id]) -> dict[Id, list[Line]]:
        text = (
            f"SELECT {LINE} FROM line WHERE pool_id = ?"
            f" AND booking_id IN ({sql.marks(bookings)}) ORDER BY id"
        )
        found = sql.rows(text, self.pool, *bookings)
        pieces = fixed_to(self.pool, [row[0] for row in found])
        lines: dict[Id, list[Line]] = defaultdict(list)
        for row in found:
            lines[row[1]].append(_line(row, tuple(pieces.get(row[0], ()))))
        return lines

    def known_lines(self, lines: Iterable[Id]) -> set[Id]:
        """Those of the ids that are lines of this pool, whatever became of them."""
        wanted = sorted(lines)
        text = f"SELECT id FROM line WHERE pool_id = ? AND id IN ({sql.marks(wanted)})"
        return {id for (id,) in sql.rows(text, self.pool, *wanted)}

    def pieces_of(self, line: Id) -> list[Id]:
        """The pieces fixed to a line now."""
        return fixed_to(self.pool, [line]).get(line, [])

    def add(
        self,
        ask: Ask,
        lines: Iterable[Line] = (),
        *,
        now: Instant,
        account: Id | None,
        undo_until: Instant | None,
    ) -> Booking:
        """A new booking with its lines (see `add_lines`), answered as it would be read back."""
        id = new_id()
        columns = (
            "id", "pool_id", "unit_id", "state", "start_s", "end_s", "purpose", "who_pays",
            "order_number", "pencil_expires_at", "created_at", "created_by_id", "undo_until", "version",
        )  # fmt: skip
        values = (
            id, self.pool, ask.unit, str(ask.state), ask.window.start, ask.window.end, ask.purpose,
            ask.who_pays, ask.order_number, ask.pencil_expires_at, now, account, undo_until, 1,
        )  # fmt: skip
        made = self._numbered(id, lines)
        sql.insert_together([("booking", columns, [values]), *self._rows(ask.unit, made)])
        _, _, *told = values
        return _booking([id, *told], made)

    def add_lines(self, booking: Id, unit: Id, lines: Iterable[Line]) -> list[Line]:
        """Lines of a booking, answered with what is set here: ids and ranks.

        Their `pieces` are fixed to them.
        """
        made = self._numbered(booking, lines)
        sql.insert_together(self._rows(unit, made))
        return made

    def _numbered(self, booking: Id, lines: Iterable[Line]) -> list[Line]:
        return [
            replace(line, id=new_id(), booking=booking, rank=line.rank or self.revision)
            for line in lines
        ]

    def _rows(self, unit: Id, lines: Sequence[Line]) -> list[sql.Rows]:
        """What is inserted for lines: them, and which pieces are fixed to them."""
        columns = (
            "id", "pool_id", "booking_id", "unit_id", "kit_type_id", "item_id", "quantity", "start_s",
            "end_s", "from_s", "until_s", "prep_s", "check_in_s", "state", "rank", "released", "gone",
            "straight_from_id",
        )  # fmt: skip
        rows = [
            (
                line.id, self.pool, line.booking, unit, line.kit_type, line.item, line.quantity,
                line.window.start, line.window.end, line.occupied.start, line.occupied.end,
                line.prep_s, line.check_in_s, str(line.state), line.rank, line.released, line.gone,
                line.straight_from,
            )
            for line in lines
        ]  # fmt: skip
        fixed = [(new_id(), self.pool, line.id, item) for line in lines for item in line.pieces]
        return [("line", columns, rows), ("line_item", _FIXING, fixed)]

    def fix(self, line: Id, item: Id) -> None:
        """This piece serves this line from now on."""
        sql.insert("line_item", _FIXING, [(new_id(), self.pool, line, item)])

    def unfix(self, item: Id, now: Instant, *, line: Id | None = None) -> list[Id]:
        """The piece leaves its live lines; answers which they were."""
        text = (
            "SELECT line_item.id, line_id FROM line_item JOIN line ON line.id = line_id"
            " WHERE line_item.pool_id = ? AND line_item.item_id = ? AND left_at IS NULL"
            f" AND state IN ({_LIVE})"
        )
        found = sql.rows(text, self.pool, item)
        left = [(id, of) for id, of in found if line is None or of == line]
        for id, _ in left:
            sql.update("line_item", {"left_at": now}, id=id)
        return [of for _, of in left]

    def change(self, id: Id, version: int | None, **changes: Any) -> bool:
        """Set columns of a booking and raise its version, if it still is `version`."""
        return sql.change("booking", changes, version, pool_id=self.pool, id=id)

    def change_line(self, id: Id, **changes: Any) -> None:
        """Set columns of a line; the version is its booking's."""
        sql.update("line", changes, pool_id=self.pool, id=id)

    def set_state(self, id: Id, state: BookingState) -> None:
        """The booking and its live lines take one state together."""
        self.change(id, None, state=str(state))
        text = (
            f"UPDATE line SET state = ? WHERE pool_id = ? AND booking_id = ? AND state IN ({_LIVE})"
        )
        sql.run(text, str(state), self.pool, id)

    def lapsing(self, now: Instant) -> list[Id]:
        """Pencils whose time has passed, in order of their deadline."""
        text = (
            "SELECT id FROM booking WHERE pool_id = ? AND state = 'pencilled'"
            " AND pencil_expires_at <= ? ORDER BY pencil_expires_at, id"
        )
        return [id for (id,) in sql.rows(text, self.pool, now)]

    def next_lapse(self) -> Instant | None:
        """When the next pencil lapses; None when none has a deadline."""
        text = (
            "SELECT min(pencil_expires_at) FROM booking WHERE pool_id = ? AND state = 'pencilled'"
        )
        found = sql.row(text, self.pool)
        return found[0] if found else None

    def built_on(self, booking: Id, rank: int) -> bool:
        """True when a line of a kit type of this booking was granted after it."""
        text = (
            "SELECT 1 FROM line AS mine JOIN line AS later ON later.pool_id = mine.pool_id"
            " AND later.kit_type_id = mine.kit_type_id AND later.rank > ? AND later.booking_id <> ?"
            " AND later.from_s < mine.until_s AND later.until_s > mine.from_s"
            f" AND later.state IN ({_LIVE}) WHERE mine.pool_id = ? AND mine.booking_id = ? LIMIT 1"
        )
        return sql.row(text, rank, booking, self.pool, booking) is not None
