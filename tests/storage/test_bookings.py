"""Lines and the pieces that serve them, in both databases."""

from crossload.usecases import bookings
from crossload.usecases.transaction import write
from worlds import HOUR, NOW, an_ask


def test_a_piece_taken_from_one_line_stays_on_the_other_that_it_serves(world):
    kit = world.a_kit_type(pieces=1)
    (piece,) = world.pieces(kit)
    first, second = (
        bookings.book(world.coordinator, ask, now=NOW).booking.lines[0].id
        for ask in (
            an_ask(world, "main", (kit, 1), start=HOUR, end=2 * HOUR),
            an_ask(world, "second", (kit, 1), start=3 * HOUR, end=4 * HOUR),
        )
    )
    with write(world.pool, NOW) as stores:
        for line in (first, second):
            stores.bookings.fix(line, piece.id)
        assert stores.bookings.unfix(piece.id, NOW, line=second) == [second]
        assert stores.bookings.pieces_of(first) == [piece.id]
        assert stores.bookings.pieces_of(second) == []
        assert stores.bookings.unfix(piece.id, NOW) == [first]
