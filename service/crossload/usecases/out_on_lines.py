"""What of a booking's lines is out, and what may not be changed or dropped while it is."""

from dataclasses import replace

from crossload.domain.booking import LIVE, Ask, Booking, Line, Wanted
from crossload.domain.window import Id, Instant
from crossload.storage.stores import Stores
from crossload.usecases.errors import Conflict


class OutOnLines:
    """A booking with what is out on each of its lines, as both stand when this is made."""

    def __init__(self, stores: Stores, booking: Booking):
        self.stores, self.booking = stores, booking
        went = stores.custodies.of_lines([line.id for line in booking.lines])
        self._out = {line: [c for c in some if c.back_at is None] for line, some in went.items()}

    def number(self, line: Line) -> int:
        """How many pieces are out on a line."""
        return sum(custody.quantity for custody in self._out[line.id])

    def pieces(self, line: Line) -> tuple[Id, ...]:
        """The pieces of a line, those that are out first: a line that shrinks lets go of the others."""
        out = {custody.item for custody in self._out[line.id]}
        return tuple(sorted(line.pieces, key=lambda piece: piece not in out))

    def with_own_pieces(self, ask: Ask) -> Ask:
        """The ask, each line with the pieces and the used number that the line it changes has now.

        A line that is to be of another kit type, or to name another piece, is a new line.
        """
        own = {line.id: line for line in self.booking.lines if line.state in LIVE}

        def with_own(wanted: Wanted) -> Wanted:
            line = own.get(wanted.line) if wanted.line is not None else None
            if line is None or (line.kit_type, line.item) != (wanted.kit_type, wanted.item):
                return replace(wanted, line=None, pieces=(), gone=0)
            return replace(wanted, pieces=self.pieces(line), gone=line.gone)

        return replace(ask, lines=tuple(map(with_own, ask.lines)))

    def must_stay(self, ask: Ask) -> None:
        """A line keeps at least what is out on it or used up, and is what it is until that is back."""
        wanted = {line.line: line.quantity for line in ask.lines}
        for line in self.booking.lines:
            kept = wanted.get(line.id, 0)
            out = self.number(line)
            if out > kept:
                raise Conflict(f"{out} of this line are out: take them back before dropping them")
            if line.state in LIVE and line.gone > kept:
                raise Conflict(f"{line.gone} of this line are used up: leave that many on it")

    def must_not_begin_later(self, ask: Ask, now: Instant) -> None:
        """What is out is held from now on: a later start would leave the time before it unjudged."""
        if ask.window.start > max(self.booking.window.start, now) and any(self._out.values()):
            raise Conflict(
                "kit of this booking is out: take it back first, or change the end alone"
            )

    def due_at(self, end: Instant) -> None:
        """What is out on a booking is due when the booking ends."""
        for out in self._out.values():
            for custody in out:
                self.stores.custodies.set(custody.id, due_at=max(end, custody.out_at + 1))


def still_to_come(ask: Ask) -> Ask:
    """The ask without the lines that are used up whole: nothing of them is to be judged."""
    lines = tuple(line for line in ask.lines if line.gone < line.quantity)
    if not lines:
        raise Conflict("all of this booking is used up: ask for more in a booking of its own")
    return replace(ask, lines=lines)
