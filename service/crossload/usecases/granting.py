"""How a yes is given: judged under the pool's lock or outside it, and written in one transaction."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from crossload.domain.booking import LIVE, NEXT, UNDO_S, Ask, Booking, BookingState, Line, Wanted
from crossload.domain.kit import Tracking
from crossload.domain.window import Id, Instant, Window
from crossload.storage.journals import Noted
from crossload.storage.known import Known
from crossload.storage.stores import Stores
from crossload.usecases import once
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, Invalid, NotFound, Stale
from crossload.usecases.judging import FULL_S, QUICK_S, Answer, Judged, judge
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


def check(known: Known, actor: Actor, ask: Ask, now: Instant) -> None:
    """What every ask must satisfy before it is judged."""
    if not known.unit:
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


def granted_before(stores: Stores, kept: once.Kept | None, digest: str) -> Granted | None:
    """What the sender's key led to, if it came before; KeyReused when it came with another body."""
    earlier = once.outcome(kept, digest)
    return earlier and Granted(the_booking(stores, Id(earlier["booking"])), replayed=True)


def carry_out(pool: Id, now: Instant, work: Work, search: Search) -> Granted | Refused:
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


def judged_in(
    stores: Stores, found: Found | None, ask: Ask, now: Instant, limit_s: float, **beside: Any
) -> Judged:
    """The verdict: the one found outside while nothing was written since, else one made here."""
    if found and found.judged.revision == stores.header.revision - 1:
        return found.judged
    judged = judge(stores, ask, now, limit_s=limit_s, **beside)
    if judged.answer is Answer.UNDECIDED and limit_s < FULL_S:
        raise _NeedsSearch
    return judged


def the_ask(judged: Judged) -> Noted:
    """Every ask leaves a row in the journal, refused ones too: the pool is sized from them."""
    ask = judged.ask
    after = {
        "window": [ask.window.start, ask.window.end],
        "state": ask.state,
        "lines": [[line.kit_type, line.quantity, line.item] for line in ask.lines],
        "answer": judged.answer,
        "granted": list(judged.granted) if judged.grants else [],
    }
    return Noted("asked", "unit", ask.unit, after=after)


def add(stores: Stores, actor: Actor, judged: Judged, now: Instant) -> Booking:
    """The booking that a yes makes, with the ask and the yes in the journal."""
    ask = judged.ask
    booking = stores.bookings.add(
        ask, granted_lines(judged), now=now, account=actor.account, undo_until=now + UNDO_S
    )
    if ask.state is BookingState.PENCILLED and ask.pencil_expires_at is not None:
        stores.settle_by(ask.pencil_expires_at)
    yes = Noted(str(ask.state), "booking", booking.id, after=told(booking))
    stores.journal.write_all(actor.account, [the_ask(judged), yes], now)
    return booking


def granted_lines(judged: Judged) -> list[Line]:
    """The lines as granted, with what each occupies; frequencies are fixed from the witness."""
    made = []
    for index, wanted in enumerate(judged.ask.lines):
        quantity = judged.granted[index]
        if not quantity:
            continue
        verdict = judged.of(index)
        slot = judged.slots[index]
        fixed = verdict.kit.tracking is Tracking.FREQUENCY and wanted.item is None
        made.append(
            Line(
                id=Id(0),
                booking=Id(0),
                kit_type=wanted.kit_type,
                quantity=quantity,
                window=judged.ask.window,
                occupied=slot.occupied,
                state=judged.ask.state,
                item=wanted.item,
                pieces=judged.witness.get(index, ())[:quantity] if fixed else (),
                prep_s=wanted.prep_s,
                check_in_s=wanted.check_in_s,
                straight_from=slot.straight_from,
            )
        )
    return made


def told(booking: Booking) -> dict[str, Any]:
    """A booking as the journal keeps it: ids and numbers only."""
    return {
        "state": booking.state,
        "window": [booking.window.start, booking.window.end],
        "lines": [[line.kit_type, line.quantity, line.item] for line in booking.lines],
    }


def the_booking(stores: Stores, id: Id) -> Booking:
    booking = stores.bookings.get(id)
    if booking is None:
        raise NotFound("booking")
    return booking


def open_booking(
    stores: Stores, actor: Actor, verb: str, id: Id, version: int | None, to: BookingState | None
) -> Booking:
    """The booking, if the actor may, it is not stale, and it can still become `to`."""
    booking = the_booking(stores, id)
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
        line.straight_from,
    )


def asked_again(booking: Booking, **changes: Any) -> Ask:
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
