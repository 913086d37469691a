"""Booking: ask, confirm, change, release, undo. Each judges and writes in one transaction."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from crossload.domain.booking import LIVE, Ask, Booking, BookingState, Line, Wanted
from crossload.domain.window import Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases import once
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, Invalid
from crossload.usecases.granting import (
    Found,
    Granted,
    Refused,
    add,
    asked_again,
    carry_out,
    check,
    granted_before,
    judged_in,
    open_booking,
    the_ask,
    the_booking,
    told,
)
from crossload.usecases.judging import Judged, judge
from crossload.usecases.out_on_lines import OutOnLines, still_to_come
from crossload.usecases.rewriting import confirm_line, rewrite_lines
from crossload.usecases.ties import Ties
from crossload.usecases.transaction import write


def book(
    actor: Actor, ask: Ask, *, now: Instant, key: str | None = None, digest: str = ""
) -> Granted | Refused:
    """Grant a booking whole (or in part where the asker accepts that), or refuse it.

    `key` and `digest` are the sender's idempotency key and the digest of what was sent: the same
    key again answers the same booking. Raises Invalid, Forbidden, KeyReused.
    """

    def work(stores: Stores, found: Found | None, limit_s: float) -> Granted | Refused:
        known = stores.known(ask, now, actor.owner, key)
        if replayed := granted_before(stores, known.kept, digest):
            return replayed
        actor.must("confirm" if ask.state is BookingState.CONFIRMED else "book", ask.unit)
        check(known, actor, ask, now)
        judged = judged_in(stores, found, ask, now, limit_s, known=known)
        if not judged.grants:
            stores.journal.write_all(actor.account, [the_ask(judged)], now)
            return Refused(judged)
        booking = add(stores, actor, judged, now)
        once.keep(stores, actor, key, digest, {"booking": booking.id}, now)
        return Granted(booking)

    return carry_out(actor.pool, now, work, lambda stores: judge(stores, ask, now))


def confirm(
    actor: Actor, id: Id, *, version: int | None, now: Instant, override_pencils: bool = False
) -> Granted | Refused:
    """A pencil becomes confirmed, if it fits beside confirmed kit and beside earlier pencils."""

    def asked(booking: Booking) -> tuple[Ask, int]:
        ask = asked_again(booking, state=BookingState.CONFIRMED, override_pencils=override_pencils)
        return ask, max((line.rank for line in booking.lines), default=0)

    def work(stores: Stores, found: Found | None, limit_s: float) -> Granted | Refused:
        if override_pencils:
            actor.must("override pencils")
        booking = open_booking(stores, actor, "confirm", id, version, BookingState.CONFIRMED)
        if booking.window.end <= now:
            raise Conflict("the window of this pencil is over: ask for one that ends after now")
        ask, rank = asked(booking)
        judged = judged_in(stores, found, ask, now, limit_s, without=id, rank=rank)
        if not judged.grants:
            return Refused(judged)
        stores.bookings.set_state(id, BookingState.CONFIRMED)
        stores.bookings.change(id, None, undo_until=None)
        for index, wanted in enumerate(ask.lines):
            if wanted.line is not None:
                confirm_line(stores, judged, index, wanted.line)
        confirmed = the_booking(stores, id)
        before, after = told(booking), told(confirmed)
        stores.journal.write(actor.account, "confirmed", "booking", id, now, before, after)
        return Granted(confirmed)

    def search(stores: Stores) -> Judged:
        ask, rank = asked(the_booking(stores, id))
        return judge(stores, ask, now, without=id, rank=rank)

    return carry_out(actor.pool, now, work, search)


@dataclass(frozen=True, slots=True)
class Changes:
    """What may be changed of a booking; None leaves it as it is.

    `confirmed` confirms a pencil as it is changed: an option that takes a pencil's place is one step.
    """

    window: Window | None = None
    lines: tuple[Wanted, ...] | None = None
    purpose: str | None = None
    who_pays: str | None = None
    order_number: str | None = None
    confirmed: bool = False

    def of(self, ask: Ask) -> Ask:
        """What is asked for with these changes."""
        return replace(
            ask,
            window=self.window or ask.window,
            lines=ask.lines if self.lines is None else self.lines,
            state=BookingState.CONFIRMED if self.confirmed else ask.state,
        )

    def texts(self) -> dict[str, str]:
        """The words that change: nothing of them is judged."""
        given = {
            "purpose": self.purpose,
            "who_pays": self.who_pays,
            "order_number": self.order_number,
        }
        return {name: text for name, text in given.items() if text is not None}


def change(
    actor: Actor, id: Id, changes: Changes, *, version: int | None, now: Instant
) -> Granted | Refused:
    """Move, lengthen, shorten, or change lines: judged as one new ask without the old one.

    A pencil that is confirmed in the same step is judged beside all pencils of others: what moves or
    grows queues anew.
    """

    def asked(out: OutOnLines) -> Ask:
        return out.with_own_pieces(changes.of(asked_again(out.booking)))

    def work(stores: Stores, found: Found | None, limit_s: float) -> Granted | Refused:
        booking = open_booking(stores, actor, "change a booking", id, version, None)
        out = OutOnLines(stores, booking)
        ask = asked(out)
        if ask.state is not booking.state:
            actor.must("confirm", booking.unit)
        rejudged = ask != out.with_own_pieces(asked_again(booking))
        if rejudged:
            known = stores.known(ask, now)
            check(known, actor, ask, now)
            out.must_stay(ask)
            ties = Ties(stores, booking, now, actor.account)
            ties.must_allow(ask)
            out.must_not_begin_later(ask, now)
            coming = still_to_come(ask)
            judged = judged_in(stores, found, coming, now, limit_s, without=id, known=known)
            if not judged.grants:
                return Refused(judged)
            rewrite_lines(stores, out, judged, now)
            ties.follow(ask)
            out.due_at(ask.window.end)
        window = {"start_s": ask.window.start, "end_s": ask.window.end, "undo_until": None}
        changed = changes.texts() | (window if rejudged else {})
        return _changed(stores, actor, booking, ask.state, changed, now)

    def search(stores: Stores) -> Judged:
        ask = still_to_come(asked(OutOnLines(stores, the_booking(stores, id))))
        return judge(stores, ask, now, without=id)

    return carry_out(actor.pool, now, work, search)


def _changed(
    stores: Stores,
    actor: Actor,
    booking: Booking,
    state: BookingState,
    columns: Mapping[str, Any],
    now: Instant,
) -> Granted:
    """Set a booking's state and columns; the journal tells what its lines became before this."""
    if state is not booking.state:
        stores.bookings.set_state(booking.id, state)
    stores.bookings.change(booking.id, None, **columns)
    changed = the_booking(stores, booking.id)
    texts = {name: text for name, text in columns.items() if isinstance(text, str)}
    verb = "changed" if state is booking.state else "confirmed"
    before, after = told(booking), told(changed) | texts
    stores.journal.write(actor.account, verb, "booking", booking.id, now, before, after)
    return Granted(changed)


def release(
    actor: Actor,
    id: Id,
    *,
    version: int | None,
    now: Instant,
    quantities: dict[Id, int] | None = None,
) -> Booking:
    """Give back some of each named line, or all of the booking. Never judged: it only frees."""
    with write(actor.pool, now) as stores:
        booking = open_booking(stores, actor, "release", id, version, None)
        lines = {line.id: line for line in booking.lines if line.state in LIVE}
        rest = {line.id: line.quantity - line.gone for line in lines.values()}
        giving = quantities or {line: number for line, number in rest.items() if number}
        wrong = [
            ("/lines", "this booking has no such line, or not so many on it")
            for line, quantity in giving.items()
            if line not in lines or not 0 < quantity <= lines[line].quantity
        ]
        if wrong:
            raise Invalid(wrong[:1])
        out = OutOnLines(stores, booking)
        ties = Ties(stores, booking, now, actor.account)
        for line_id, quantity in giving.items():
            _release_line(stores, out, ties, lines[line_id], quantity, now)
        if all(giving.get(line, 0) == number for line, number in rest.items()):
            stores.bookings.set_state(id, BookingState.RELEASED)
        stores.bookings.change(id, None, undo_until=None)
        left = the_booking(stores, id)
        before, after = told(booking), told(left) | {"released": sorted(giving.items())}
        stores.journal.write(actor.account, "released", "booking", id, now, before, after)
        return left


def _release_line(
    stores: Stores, out: OutOnLines, ties: Ties, line: Line, quantity: int, now: Instant
) -> None:
    there = out.number(line)
    if quantity > line.quantity - line.gone:
        raise Conflict(f"{line.gone} of this line are used up: release the rest")
    if quantity > line.quantity - there:
        raise Conflict(f"{there} of this line are out: release the rest, or take them back")
    if quantity < line.quantity:
        ties.must_leave(line, line.quantity - quantity)
    if left := ties.give_up(line, quantity):
        for piece in out.pieces(line)[left:]:
            stores.bookings.unfix(piece, now, line=line.id)


def undo(actor: Actor, id: Id, *, version: int | None, now: Instant) -> Booking:
    """Take back a yes within its ten minutes, if nobody has built on it."""
    with write(actor.pool, now) as stores:
        booking = open_booking(stores, actor, "release", id, version, BookingState.UNDONE)
        if booking.undo_until is None or now >= booking.undo_until:
            raise Conflict("the time to undo this is over: release it instead")
        went = stores.custodies.of_lines([line.id for line in booking.lines])
        if any(line.gone or went[line.id] for line in booking.lines):
            raise Conflict("kit has gone out on this booking: it cannot be undone")
        built_on = stores.bookings.built_on(id, max(line.rank for line in booking.lines))
        if built_on or Ties(stores, booking, now).takers:
            raise Conflict("a later booking builds on this one: release it instead")
        stores.bookings.set_state(id, BookingState.UNDONE)
        stores.journal.write(actor.account, "undone", "booking", id, now, told(booking))
        return the_booking(stores, id)
