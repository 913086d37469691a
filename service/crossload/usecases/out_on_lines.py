"""What of a booking's lines is out, and what may not be changed or dropped while it is."""

from dataclasses import replace

from crossload.domain.booking import LIVE, Ask, Booking, Line, Wanted
from crossload.domain.window import Id, Instant
from crossload.storage.stores import Stores
from crossload.usecases.errors import Conflict


def out_on(stores: Stores, line: Line) -> int:
    """How many pieces are out on a line now."""
    return sum(c.quantity for c in stores.custodies.of_line(line.id) if c.back_at is None)


def out_first(stores: Stores, line: Line) -> tuple[Id, ...]:
    """The pieces of a line, those that are out first: a line that shrinks lets go of the others."""
    out = {c.item for c in stores.custodies.of_line(line.id) if c.back_at is None}
    return tuple(sorted(line.pieces, key=lambda piece: piece not in out))


def with_own_pieces(stores: Stores, booking: Booking, ask: Ask) -> Ask:
    """The ask, each line with the pieces and the used number that the line it changes has now.

    A line that is to be of another kit type, or to name another piece, is a new line.
    """
    own = {line.id: line for line in booking.lines if line.state in LIVE}

    def with_own(wanted: Wanted) -> Wanted:
        line = own.get(wanted.line) if wanted.line is not None else None
        if line is None or (line.kit_type, line.item) != (wanted.kit_type, wanted.item):
            return replace(wanted, pieces=(), gone=0)
        return replace(wanted, pieces=out_first(stores, line), gone=line.gone)

    return replace(ask, lines=tuple(map(with_own, ask.lines)))


def still_to_come(ask: Ask) -> Ask:
    """The ask without the lines that are used up whole: nothing of them is to be judged."""
    lines = tuple(line for line in ask.lines if line.gone < line.quantity)
    if not lines:
        raise Conflict("all of this booking is used up: ask for more in a booking of its own")
    return replace(ask, lines=lines)


def must_keep_what_is_out(stores: Stores, booking: Booking, ask: Ask) -> None:
    """A line keeps at least what is out on it or used up, and stays what it is until that is back."""
    wanted = {(line.line, line.kit_type, line.item): line.quantity for line in ask.lines}
    for line in booking.lines:
        kept = wanted.get((line.id, line.kit_type, line.item), 0)
        out = out_on(stores, line)
        if out > kept:
            raise Conflict(f"{out} of this line are out: take them back before dropping them")
        if line.state in LIVE and line.gone > kept:
            raise Conflict(f"{line.gone} of this line are used up: leave that many on it")


def must_not_begin_later(stores: Stores, booking: Booking, ask: Ask, now: Instant) -> None:
    """What is out is held from now on: a later start would leave the time before it unjudged."""
    if ask.window.start <= max(booking.window.start, now):
        return
    if any(out_on(stores, line) for line in booking.lines):
        raise Conflict("kit of this booking is out: take it back first, or change the end alone")


def due_at_the_new_end(stores: Stores, booking: Booking, end: Instant) -> None:
    """What is out on a booking is due when the booking ends."""
    for line in booking.lines:
        for custody in stores.custodies.of_line(line.id):
            if custody.back_at is None:
                stores.custodies.set(custody.id, due_at=max(end, custody.out_at + 1))
