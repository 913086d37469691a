"""The lines of a booking that stands, written as a new verdict grants them."""

from crossload.domain.booking import LIVE, BookingState, Line
from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases.granting import granted_lines
from crossload.usecases.judging import Judged
from crossload.usecases.out_on_lines import OutOnLines


def confirm_line(stores: Stores, judged: Judged, index: int, line: Id) -> None:
    """A pencilled line stands now as it was judged: granted last, its frequencies its own."""
    slot = judged.slots[index]
    stores.bookings.change_line(
        line,
        rank=stores.header.revision,
        from_s=slot.occupied.start,
        until_s=slot.occupied.end,
        straight_from_id=slot.straight_from,
    )
    _fix_frequencies(stores, judged, index, line)


def _fix_frequencies(stores: Stores, judged: Judged, index: int, line: Id) -> None:
    verdict = judged.of(index)
    if verdict.kit.tracking is not Tracking.FREQUENCY or judged.ask.lines[index].item is not None:
        return
    kept = set(stores.bookings.pieces_of(line))
    for piece in judged.witness.get(index, ()):
        if piece not in kept:
            stores.bookings.fix(line, piece)


def rewrite_lines(stores: Stores, out: OutOnLines, judged: Judged, now: Instant) -> None:
    """Lines that stay keep their id, pieces and, unless they grew or moved, their rank.

    What is used up whole stays as it was.
    """
    booking = out.booking
    before = {line.id: line for line in booking.lines}
    kept, fresh = set(), []
    for wanted, line in zip(judged.ask.lines, granted_lines(judged), strict=True):
        old = before.get(wanted.line) if wanted.line is not None else None
        if old is None:
            fresh.append(line)
            continue
        kept.add(old.id)
        _rewrite_line(stores, out, old, line, now)
    for line in booking.lines:
        if line.state in LIVE and line.id not in kept and line.gone < line.quantity:
            stores.bookings.change_line(line.id, state=str(BookingState.RELEASED))
    stores.bookings.add_lines(booking.id, booking.unit, fresh)


def _rewrite_line(stores: Stores, out: OutOnLines, old: Line, line: Line, now: Instant) -> None:
    grew = line.quantity > old.quantity or not _within(line.occupied, old.occupied)
    anew = grew or line.state is not old.state
    stores.bookings.change_line(
        old.id,
        quantity=line.quantity,
        start_s=line.window.start,
        end_s=line.window.end,
        from_s=line.occupied.start,
        until_s=line.occupied.end,
        prep_s=line.prep_s,
        check_in_s=line.check_in_s,
        straight_from_id=line.straight_from,
        rank=stores.header.revision if anew else old.rank,
    )
    for piece in out.pieces(old)[line.quantity :]:
        stores.bookings.unfix(piece, now, line=old.id)
    for piece in line.pieces:
        if piece not in old.pieces and len(old.pieces) < line.quantity:
            stores.bookings.fix(old.id, piece)


def _within(inner: Window, outer: Window) -> bool:
    return outer.start <= inner.start and inner.end <= outer.end
