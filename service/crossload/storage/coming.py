"""Live lines, as far as facts about their kit change them without judging anew."""

from collections.abc import Iterable
from dataclasses import dataclass

from crossload.domain.booking import LIVE
from crossload.domain.window import Id, Instant, Window
from crossload.storage import sql

_LIVE = sql.words(LIVE)


@dataclass(frozen=True, slots=True)
class ComingLine:
    """A live line that still occupies kit; `prep_s` and `check_in_s` where it overrides its type."""

    id: Id
    window: Window
    occupied: Window
    prep_s: int | None
    check_in_s: int | None
    straight_from: Id | None


class Coming:
    def __init__(self, pool: Id):
        self.pool = pool

    def lines(self, now: Instant, kit_type: Id) -> list[ComingLine]:
        """Live lines of a kit type that occupy some of it after `now`, in order of their start."""
        text = (
            "SELECT id, start_s, end_s, from_s, until_s, prep_s, check_in_s,"
            " straight_from_id FROM line"
            " WHERE pool_id = ? AND kit_type_id = ? AND until_s > ?"
            f" AND state IN ({_LIVE}) ORDER BY start_s, id"
        )
        return [
            ComingLine(id, Window(start, end), Window(since, until), prep, check_in, straight_from)
            for id, start, end, since, until, prep, check_in, straight_from in sql.rows(
                text, self.pool, kit_type, now
            )
        ]

    def occupy(self, line: Id, occupied: Window) -> None:
        """Set what a line occupies, prep and check-in included."""
        changes = {"from_s": occupied.start, "until_s": occupied.end}
        sql.update("line", changes, pool_id=self.pool, id=line)

    def naming(self, item: Id, now: Instant) -> list[Id]:
        """The units whose live lines name this piece and occupy it after `now`."""
        text = (
            "SELECT DISTINCT unit_id FROM line WHERE pool_id = ? AND item_id = ? AND until_s > ?"
            f" AND quantity > 0 AND state IN ({_LIVE}) ORDER BY unit_id"
        )
        return [unit for (unit,) in sql.rows(text, self.pool, item, now)]

    def of_unit(self, unit: Id, now: Instant) -> int:
        """How many live lines a unit has whose window ends after `now`."""
        text = (
            "SELECT count(*) FROM line WHERE pool_id = ? AND unit_id = ? AND end_s > ?"
            f" AND quantity > 0 AND state IN ({_LIVE})"
        )
        found = sql.row(text, self.pool, unit, now)
        return int(found[0]) if found else 0

    def reopen(self, lines: Iterable[Id]) -> None:
        """The bookings of these lines read differently now: they get a new version."""
        wanted = sorted(set(lines))
        text = (
            "UPDATE booking SET version = version + 1 WHERE pool_id = ? AND id IN"
            f" (SELECT booking_id FROM line WHERE pool_id = ? AND id IN ({sql.marks(wanted)}))"
        )
        sql.run(text, self.pool, self.pool, *wanted)
