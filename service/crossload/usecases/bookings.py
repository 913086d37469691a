"""Booking: ask, confirm, change, release, undo. Each judges and writes in one transaction."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from crossload.domain.booking import (
    LIVE,
    NEXT,
    UNDO_S,
    Ask,
    Booking,
    BookingState,
    Line,
    Wanted,
)
from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases import once
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, Invalid, NotFound, Stale
from crossload.usecases.judging import FULL_S, QUICK_S, Answer, Judged, judge
from crossload.usecases.out_on_lines import (
    due_at_the_new_end,
    must_keep_what_is_out,
    must_not_begin_later,
    out_first,
    out_on,
    still_to_come,
    with_own_pieces,
)
from crossload.usecases.transaction import read, write

TRIES = 3
MOST_LINES = 100
MOST_PIECES = 100_000
LONGEST_S = 366 * 86_400


@dataclass(frozen=True, slots=True)
class Granted:
    """A yes, and the booking it made or changed; `replayed` when the same key had it before."""

    booking: Booking
    replayed: bool = False


@dataclass(frozen=True, slots=True)
class Refused:
    """A no: nothing was booked; only the asking stands in the journal."""

    judged: Judged


class _NeedsSearch(Exception):
    """The names were not found while the lock may be held: search outside and come again."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a search outside the lock answered, good while the pool's revision stands."""

    judged: Judged


Work = Callable[[Stores, Found | None, float], "Granted | Refused"]
Search = Callable[[Stores], Judged]


def default_window(stores: Stores, unit: Id, now: Instant) -> Window:
    """The unit's next shoot day, call to wrap; Invalid when it has none to come."""
    for day in stores.shoot_days.between(now, now + LONGEST_S, unit):
        if day.call_s > now:
            return day.window
    raise Invalid([("/start", "this unit has no shoot day to come: give start and end")])


def check(stores: Stores, actor: Actor, ask: Ask, now: Instant) -> None:
    """What every ask must satisfy before it is judged."""
    unit = stores.units.get(ask.unit)
    if unit is None or unit.ended_at is not None:
        raise Invalid([("/unit_id", "this pool has no such unit")])
    wrong = []
    if ask.window.end <= now:
        wrong.append(("/end", "this window is over: ask for one that ends after now"))
    if ask.window.length_s > LONGEST_S:
        wrong.append(("/end", "a booking lasts a year at most"))
    if ask.pencil_expires_at is not None and ask.pencil_expires_at <= now:
        wrong.append(("/pencil_expires_at", "a pencil expires after now"))
    if not 0 < len(ask.lines) <= MOST_LINES:
        wrong.append(("/lines", f"a booking has 1 to {MOST_LINES} lines"))
    wrong += [
        (f"/lines/{index}/quantity", f"a quantity is 1 to {MOST_PIECES}")
        for index, line in enumerate(ask.lines)
        if not 0 < line.quantity <= MOST_PIECES
    ]
    if wrong:
        raise Invalid(wrong)
    if ask.override_pencils:
        actor.must("override pencils")


def book(
    actor: Actor, ask: Ask, *, now: Instant, key: str | None = None, digest: str = ""
) -> Granted | Refused:
    """Grant a booking whole (or in part where the asker accepts that), or refuse it.

    `key` and `digest` are the sender's idempotency key and the digest of what was sent: the same
    key again answers the same booking. Raises Invalid, Forbidden, KeyReused.
    """

    def work(stores: Stores, found: Found | None, limit_s: float) -> Granted | Refused:
        if replayed := granted_before(stores, actor, key, digest):
            return replayed
        actor.must("confirm" if ask.state is BookingState.CONFIRMED else "book", ask.unit)
        check(stores, actor, ask, now)
        judged = _judged(stores, found, ask, now, limit_s)
        _note_ask(stores, actor, judged, now)
        if not judged.grants:
            return Refused(judged)
        booking = _add(stores, actor, judged, now)
        once.keep(stores, actor, key, digest, {"booking": booking.id}, now)
        return Granted(booking)

    return _carry_out(actor.pool, now, work, lambda stores: judge(stores, ask, now))


def granted_before(stores: Stores, actor: Actor, key: str | None, digest: str) -> Granted | None:
    """What the sender's key led to, if it came before; KeyReused when it came with another body."""
    earlier = once.earlier(stores, actor, key, digest)
    return earlier and Granted(_get(stores, Id(earlier["booking"])), replayed=True)


def _carry_out(pool: Id, now: Instant, work: Work, search: Search) -> Granted | Refused:
    """Run `work` under the lock; a long search for names runs outside and is taken in if it holds."""
    found: Found | None = None
    for attempt in range(TRIES + 1):
        try:
            with write(pool, now) as stores:
                return work(stores, found, FULL_S if attempt == TRIES else QUICK_S)
        except _NeedsSearch:
            with read(pool) as stores:
                found = Found(search(stores))
    raise AssertionError("the last attempt decides")


def _judged(
    stores: Stores, found: Found | None, ask: Ask, now: Instant, limit_s: float, **beside: Any
) -> Judged:
    """The verdict: the one found outside while nothing was written since, else one made here."""
    if found and found.judged.revision == stores.header.revision - 1:
        return found.judged
    judged = judge(stores, ask, now, limit_s=limit_s, **beside)
    if judged.answer is Answer.UNDECIDED and limit_s < FULL_S:
        raise _NeedsSearch
    return judged


def _note_ask(stores: Stores, actor: Actor, judged: Judged, now: Instant) -> None:
    """Every ask leaves a row, refused ones too: the pool is sized from them."""
    ask = judged.ask
    after = {
        "window": [ask.window.start, ask.window.end],
        "state": ask.state,
        "lines": [[line.kit_type, line.quantity, line.item] for line in ask.lines],
        "answer": judged.answer,
        "granted": list(judged.granted) if judged.grants else [],
    }
    stores.journal.write(actor.account, "asked", "unit", ask.unit, now, after=after)


def _add(stores: Stores, actor: Actor, judged: Judged, now: Instant) -> Booking:
    ask = judged.ask
    id = stores.bookings.add(ask, now=now, account=actor.account, undo_until=now + UNDO_S)
    stores.bookings.add_lines(id, ask.unit, _lines(judged))
    if ask.state is BookingState.PENCILLED and ask.pencil_expires_at is not None:
        stores.settle_by(ask.pencil_expires_at)
    booking = _get(stores, id)
    after = _told(booking)
    stores.journal.write(actor.account, str(ask.state), "booking", id, now, after=after)
    return booking


def _lines(judged: Judged) -> list[Line]:
    """The lines as granted, with what each occupies; frequencies are fixed from the witness."""
    made = []
    for index, wanted in enumerate(judged.ask.lines):
        quantity = judged.granted[index]
        if not quantity:
            continue
        verdict = judged.of(index)
        occupied = verdict.asks[verdict.lines.index(index)].window
        fixed = verdict.kit.tracking is Tracking.FREQUENCY and wanted.item is None
        made.append(
            Line(
                id=Id(0),
                booking=Id(0),
                kit_type=wanted.kit_type,
                quantity=quantity,
                window=judged.ask.window,
                occupied=occupied,
                state=judged.ask.state,
                item=wanted.item,
                pieces=judged.witness.get(index, ())[:quantity] if fixed else (),
                prep_s=wanted.prep_s,
                check_in_s=wanted.check_in_s,
            )
        )
    return made


def _told(booking: Booking) -> dict[str, Any]:
    """A booking as the journal keeps it: ids and numbers only."""
    return {
        "state": booking.state,
        "window": [booking.window.start, booking.window.end],
        "lines": [[line.kit_type, line.quantity, line.item] for line in booking.lines],
    }


def _get(stores: Stores, id: Id) -> Booking:
    booking = stores.bookings.get(id)
    if booking is None:
        raise NotFound("booking")
    return booking


def _open(
    stores: Stores, actor: Actor, verb: str, id: Id, version: int | None, to: BookingState | None
) -> Booking:
    """The booking, if the actor may, it is not stale, and it can still become `to`."""
    booking = _get(stores, id)
    actor.must(verb, booking.unit)
    if version is not None and booking.version != version:
        raise Stale("booking")
    if booking.state not in LIVE or (to and to not in NEXT[booking.state]):
        raise Conflict(f"this booking is {booking.state}: nothing follows from that")
    return booking


def _again(line: Line) -> Wanted:
    return Wanted(
        line.kit_type,
        line.quantity,
        line.item,
        line.prep_s,
        line.check_in_s,
        line.id,
        line.pieces,
        line.gone,
    )


def as_ask(booking: Booking, **changes: Any) -> Ask:
    """A booking's live lines as an ask, to be judged again."""
    lines = tuple(_again(line) for line in booking.lines if line.state in LIVE and line.quantity)
    ask = Ask(
        unit=booking.unit,
        window=booking.window,
        lines=lines,
        state=booking.state,
        purpose=booking.purpose,
        who_pays=booking.who_pays,
        order_number=booking.order_number,
        pencil_expires_at=booking.pencil_expires_at,
    )
    return replace(ask, **changes)


def confirm(
    actor: Actor, id: Id, *, version: int | None, now: Instant, override_pencils: bool = False
) -> Granted | Refused:
    """A pencil becomes confirmed, if it fits beside confirmed kit and beside earlier pencils."""

    def asked(booking: Booking) -> tuple[Ask, int]:
        ask = as_ask(booking, state=BookingState.CONFIRMED, override_pencils=override_pencils)
        return ask, max((line.rank for line in booking.lines), default=0)

    def work(stores: Stores, found: Found | None, limit_s: float) -> Granted | Refused:
        if override_pencils:
            actor.must("override pencils")
        booking = _open(stores, actor, "confirm", id, version, BookingState.CONFIRMED)
        if booking.window.end <= now:
            raise Conflict("the window of this pencil is over: ask for one that ends after now")
        ask, rank = asked(booking)
        judged = _judged(stores, found, ask, now, limit_s, without=id, rank=rank)
        if not judged.grants:
            return Refused(judged)
        stores.bookings.set_state(id, BookingState.CONFIRMED)
        stores.bookings.change(id, None, undo_until=None)
        for index, wanted in enumerate(ask.lines):
            if wanted.line is not None:
                stores.bookings.change_line(wanted.line, rank=stores.header.revision)
                _fix_frequencies(stores, judged, index, wanted.line)
        confirmed = _get(stores, id)
        before, after = _told(booking), _told(confirmed)
        stores.journal.write(actor.account, "confirmed", "booking", id, now, before, after)
        return Granted(confirmed)

    def search(stores: Stores) -> Judged:
        ask, rank = asked(_get(stores, id))
        return judge(stores, ask, now, without=id, rank=rank)

    return _carry_out(actor.pool, now, work, search)


def _fix_frequencies(stores: Stores, judged: Judged, index: int, line: Id) -> None:
    verdict = judged.of(index)
    if verdict.kit.tracking is not Tracking.FREQUENCY or judged.ask.lines[index].item is not None:
        return
    kept = set(stores.bookings.pieces_of(line))
    for piece in judged.witness.get(index, ()):
        if piece not in kept:
            stores.bookings.fix(line, piece)


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


def change(
    actor: Actor, id: Id, changes: Changes, *, version: int | None, now: Instant
) -> Granted | Refused:
    """Move, lengthen, shorten, or change lines: judged as one new ask without the old one.

    A pencil that is confirmed in the same step is judged beside all pencils of others: what moves or
    grows queues anew.
    """

    def asked(stores: Stores, booking: Booking) -> Ask:
        ask = as_ask(booking)
        changed = replace(
            ask,
            window=changes.window or ask.window,
            lines=ask.lines if changes.lines is None else changes.lines,
            state=BookingState.CONFIRMED if changes.confirmed else ask.state,
        )
        return with_own_pieces(stores, booking, changed)

    def work(stores: Stores, found: Found | None, limit_s: float) -> Granted | Refused:
        booking = _open(stores, actor, "change a booking", id, version, None)
        ask = asked(stores, booking)
        if ask.state is not booking.state:
            actor.must("confirm", booking.unit)
        rejudged = ask != with_own_pieces(stores, booking, as_ask(booking))
        if rejudged:
            check(stores, actor, ask, now)
            must_keep_what_is_out(stores, booking, ask)
            must_not_begin_later(stores, booking, ask, now)
            judged = _judged(stores, found, still_to_come(ask), now, limit_s, without=id)
            if not judged.grants:
                return Refused(judged)
            _rewrite_lines(stores, booking, judged)
            due_at_the_new_end(stores, booking, ask.window.end)
        if ask.state is not booking.state:
            stores.bookings.set_state(id, ask.state)
        texts = {
            name: value
            for name in ("purpose", "who_pays", "order_number")
            if (value := getattr(changes, name)) is not None
        }
        window = {"start_s": ask.window.start, "end_s": ask.window.end, "undo_until": None}
        stores.bookings.change(id, None, **texts, **(window if rejudged else {}))
        changed = _get(stores, id)
        before, after = _told(booking), _told(changed) | texts
        verb = "changed" if changed.state is booking.state else "confirmed"
        stores.journal.write(actor.account, verb, "booking", id, now, before, after)
        return Granted(changed)

    def search(stores: Stores) -> Judged:
        ask = still_to_come(asked(stores, _get(stores, id)))
        return judge(stores, ask, now, without=id)

    return _carry_out(actor.pool, now, work, search)


def _rewrite_lines(stores: Stores, booking: Booking, judged: Judged) -> None:
    """Lines that stay keep their id, pieces and, unless they grew or moved, their rank.

    What is used up whole stays as it was.
    """
    before = {line.id: line for line in booking.lines}
    made = _lines(judged)
    kept = set()
    fresh = []
    for wanted, line in zip(judged.ask.lines, made, strict=True):
        old = before.get(wanted.line) if wanted.line is not None else None
        if old is None or (old.kit_type, old.item) != (line.kit_type, line.item):
            fresh.append(line)
            continue
        kept.add(old.id)
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
            rank=stores.header.revision if anew else old.rank,
        )
        for piece in out_first(stores, old)[line.quantity :]:
            stores.bookings.unfix(piece, 0, line=old.id)
        for piece in line.pieces:
            if piece not in old.pieces and len(old.pieces) < line.quantity:
                stores.bookings.fix(old.id, piece)
    for line in booking.lines:
        if line.state in LIVE and line.id not in kept and line.gone < line.quantity:
            stores.bookings.change_line(line.id, state=str(BookingState.RELEASED))
    stores.bookings.add_lines(booking.id, booking.unit, fresh)


def _within(inner: Window, outer: Window) -> bool:
    return outer.start <= inner.start and inner.end <= outer.end


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
        booking = _open(stores, actor, "release", id, version, None)
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
        for line_id, quantity in giving.items():
            _release_line(stores, lines[line_id], quantity, now)
        if all(giving.get(line, 0) == number for line, number in rest.items()):
            stores.bookings.set_state(id, BookingState.RELEASED)
        stores.bookings.change(id, None, undo_until=None)
        left = _get(stores, id)
        before, after = _told(booking), _told(left) | {"released": sorted(giving.items())}
        stores.journal.write(actor.account, "released", "booking", id, now, before, after)
        return left


def _release_line(stores: Stores, line: Line, quantity: int, now: Instant) -> None:
    out = out_on(stores, line)
    if quantity > line.quantity - line.gone:
        raise Conflict(f"{line.gone} of this line are used up: release the rest")
    if quantity > line.quantity - out:
        raise Conflict(f"{out} of this line are out: release the rest, or take them back")
    left = line.quantity - quantity
    if left:
        stores.bookings.change_line(line.id, quantity=left, released=line.released + quantity)
        _unfix_beyond(stores, line, left, now)
    else:
        stores.bookings.change_line(
            line.id, state=str(BookingState.RELEASED), released=line.released + quantity
        )


def _unfix_beyond(stores: Stores, line: Line, left: int, now: Instant) -> None:
    """Pieces over what is left leave the line; those that are out stay."""
    out = {c.item for c in stores.custodies.of_line(line.id) if c.back_at is None}
    inside = [piece for piece in line.pieces if piece not in out]
    for piece in inside[: max(0, len(line.pieces) - left)]:
        stores.bookings.unfix(piece, now, line=line.id)


def undo(actor: Actor, id: Id, *, version: int | None, now: Instant) -> Booking:
    """Take back a yes within its ten minutes, if nobody has built on it."""
    with write(actor.pool, now) as stores:
        booking = _open(stores, actor, "release", id, version, BookingState.UNDONE)
        if booking.undo_until is None or now >= booking.undo_until:
            raise Conflict("the time to undo this is over: release it instead")
        if any(line.gone or stores.custodies.of_line(line.id) for line in booking.lines):
            raise Conflict("kit has gone out on this booking: it cannot be undone")
        if stores.bookings.built_on(id, max(line.rank for line in booking.lines)):
            raise Conflict("a later booking builds on this one: release it instead")
        stores.bookings.set_state(id, BookingState.UNDONE)
        stores.journal.write(actor.account, "undone", "booking", id, now, _told(booking))
        return _get(stores, id)
