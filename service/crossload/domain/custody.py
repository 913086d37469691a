"""What is out, with whom, and until when."""

from dataclasses import dataclass
from enum import StrEnum

from crossload.domain.kit import Condition
from crossload.domain.window import Id, Instant


class Move(StrEnum):
    """What an event does with kit."""

    OUT = "out"
    BACK = "back"
    PROMISE = "promise"
    HAND_OVER = "hand_over"


@dataclass(frozen=True, slots=True)
class Custody:
    """One piece, or a number of counted pieces, held by a unit since `out_at`.

    `due_at` is the end of the booking it went out on; `promised_at` what the holder said since.
    `back_at` is None while it is out.
    """

    id: Id
    kit_type: Id
    quantity: int
    unit: Id
    out_at: Instant
    due_at: Instant
    item: Id | None = None
    person: str = ""
    booking: Id | None = None
    line: Id | None = None
    promised_at: Instant | None = None
    back_at: Instant | None = None
    condition: Condition | None = None

    def is_overdue(self, now: Instant) -> bool:
        """For what is out: from the instant at which it is due.

        A consumable has no custody, so it never is.
        """
        return now >= self.due_at


@dataclass(frozen=True, slots=True)
class OutOfService:
    """A window in which an item, or a number of a kit type, cannot be used."""

    id: Id
    kit_type: Id
    quantity: int
    start_s: Instant
    end_s: Instant
    item: Id | None = None
    reason: str = ""
    condition: Condition | None = None
    recorded_at: Instant = 0
    version: int = 1
