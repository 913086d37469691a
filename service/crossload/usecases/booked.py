"""What a page or a script asks of bookings, answered in full: with names, options, hand-over."""

from typing import Any

from crossload.domain.booking import LIVE, Ask, Booking, BookingState, Wanted
from crossload.domain.judge import at_risk
from crossload.domain.kit import Condition
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases import bookings, handovers, telling
from crossload.usecases.actor import Actor
from crossload.usecases.bookings import Changes
from crossload.usecases.cautions import Given, all_cautions
from crossload.usecases.errors import Invalid, NotFound
from crossload.usecases.granting import (
    Granted,
    Refused,
    asked_again,
    check,
    default_window,
    granted_before,
)
from crossload.usecases.judging import Answer, Judged, judge, place
from crossload.usecases.names import Names
from crossload.usecases.options import find_options
from crossload.usecases.recorded import held_by, look
from crossload.usecases.transaction import read

Told = dict[str, Any]


def as_ask(stores: Stores, body: Told, now: Instant) -> Ask:
    """A checked body as an ask: the window filled in, items found with their kit types."""
    return Ask(
        unit=body["unit_id"],
        window=_window(stores, body, now),
        lines=_lines(stores, body["lines"]),
        state=body["state"],
        accept_part=body["accept_part"],
        override_pencils=body["override_pencils"],
        purpose=body["purpose"],
        who_pays=body["who_pays"],
        order_number=body["order_number"],
        pencil_expires_at=body["pencil_expires_at"],
    )


def _window(stores: Stores, body: Told, now: Instant) -> Window:
    start, end = body["start"], body["end"]
    if start is None and end is None:
        return default_window(stores, body["unit_id"], now)
    if start is None or end is None:
        raise Invalid([("/start" if start is None else "/end", "give both start and end")])
    return window(start, end)


def window(start: Instant, end: Instant) -> Window:
    """A window from what somebody gave; Invalid where it ends before it starts."""
    if start >= end:
        raise Invalid([("/end", "a window ends after it starts: swap start and end")])
    return Window(start, end)


def _lines(stores: Stores, lines: list[Told]) -> tuple[Wanted, ...]:
    items = stores.items.some([line["item_id"] for line in lines if line["item_id"] is not None])
    wanted, wrong = [], []
    for index, line in enumerate(lines):
        item = items.get(line["item_id"]) if line["item_id"] is not None else None
        if line["item_id"] is not None and item is None:
            wrong.append((f"/lines/{index}/item_id", "this pool has no such item"))
            continue
        if item is not None and (
            line["quantity"] != 1 or line["kit_type_id"] not in (None, item.kit_type)
        ):
            wrong.append((f"/lines/{index}", "a named item is one piece of its own kit type"))
            continue
        kit_type = item.kit_type if item else line["kit_type_id"]
        wanted.append(
            Wanted(
                kit_type,
                line["quantity"],
                item.id if item else None,
                line["prep_s"],
                line["check_in_s"],
                line["id"],
            )
        )
    if wrong:
        raise Invalid(wrong)
    return tuple(wanted)


def judged(actor: Actor, body: Told, *, now: Instant) -> Told:
    """A dry run, with options where the answer is no."""
    actor.must("book", body["unit_id"])
    with read(actor.pool) as stores:
        ask = as_ask(stores, body, now)
        check(stores, actor, ask, now)
        found = judge(stores, ask, now)
        options = [] if found.grants else find_options(stores, found.ask, now)
        return telling.judgement(Names(stores), found, options, now)


def asked(actor: Actor, body: Told, *, now: Instant, key: str, digest: str) -> Told:
    """Book: a yes with its hand-over, or the judgement (with `answer`) that refuses it."""
    actor.must("book", body["unit_id"])
    with read(actor.pool) as stores:
        # A window that was left out may mean another day by now: what came before is not read anew.
        answer: Granted | Refused | None = granted_before(stores, actor, key, digest)
        ask = None if answer else as_ask(stores, body, now)
    if ask:
        answer = bookings.book(actor, ask, now=now, key=key, digest=digest)
    assert answer is not None
    return _yes_or_refusal(actor, answer, now)


def _yes_or_refusal(actor: Actor, answer: Granted | Refused, now: Instant) -> Told:
    if isinstance(answer, Refused):
        return _refusal(actor, answer, now)
    with read(actor.pool) as stores:
        names = Names(stores)
        given = (Given(line.kit_type, line.quantity, line.item) for line in answer.booking.lines)
        return {
            "booking": telling.booking(names, answer.booking, _creators(stores)),
            "handover": handovers.handover(names, answer.booking, now),
            "undo_until": answer.booking.undo_until,
            "cautions": all_cautions(names, given),
        }


def _refusal(actor: Actor, answer: Refused, now: Instant, without: Id | None = None) -> Told:
    with read(actor.pool) as stores:
        found = find_options(stores, answer.judged.ask, now, without=without)
        return telling.judgement(Names(stores), answer.judged, found, now)


def _creators(stores: Stores) -> dict[Id, str]:
    return {account.id: account.name for account in stores.accounts.all()}


def one(actor: Actor, id: Id) -> Told:
    """One booking; NotFound when this pool has none of that id."""
    actor.must("read")
    with read(actor.pool) as stores:
        found = stores.bookings.get(id)
        if found is None:
            raise NotFound("booking")
        return telling.booking(Names(stores), found, _creators(stores))


def page(actor: Actor, **chosen: Any) -> list[Told]:
    """Bookings in order of asking, narrowed as in `storage.bookings.Bookings.page`."""
    actor.must("read")
    with read(actor.pool) as stores:
        names, creators = Names(stores), _creators(stores)
        return [telling.booking(names, each, creators) for each in stores.bookings.page(**chosen)]


def _stored_or_refusal(actor: Actor, id: Id, answer: Granted | Refused, now: Instant) -> Told:
    if isinstance(answer, Refused):
        return _refusal(actor, answer, now, without=id)
    return one(actor, id)


def changed(actor: Actor, id: Id, body: Told, *, version: int | None, now: Instant) -> Told:
    """Change a booking: as it is stored then, or the judgement (with `answer`) that refuses it."""
    with read(actor.pool) as stores:
        before = stores.bookings.get(id)
        if before is None:
            raise NotFound("booking")
        start, end = body["start"], body["end"]
        moved = None
        if start is not None or end is not None:
            moved = window(
                before.window.start if start is None else start,
                before.window.end if end is None else end,
            )
        lines = None
        if body["lines"] is not None:
            own = {line.id: line for line in before.lines if line.state in LIVE}
            lines = _lines(stores, _of_own(own, body["lines"]))
    texts = (body["purpose"], body["who_pays"], body["order_number"])
    confirmed = body["state"] is BookingState.CONFIRMED
    changes = Changes(moved, lines, *texts, confirmed)
    answer = bookings.change(actor, id, changes, version=version, now=now)
    return _stored_or_refusal(actor, id, answer, now)


def _of_own(own: dict[Id, Any], lines: list[Told]) -> list[Told]:
    """The lines, if those with an id are the booking's own and stand there once."""
    ids = [line["id"] for line in lines]
    wrong = [
        (f"/lines/{index}/id", "this booking has no such line")
        for index, id in enumerate(ids)
        if id is not None and id not in own
    ]
    wrong += [
        (f"/lines/{index}/id", "this line stands here twice: give it once")
        for index, id in enumerate(ids)
        if id is not None and id in ids[:index]
    ]
    if wrong:
        raise Invalid(wrong)
    return lines


def confirmed(
    actor: Actor, id: Id, *, override_pencils: bool, version: int | None, now: Instant
) -> Told:
    answer = bookings.confirm(
        actor, id, version=version, now=now, override_pencils=override_pencils
    )
    return _stored_or_refusal(actor, id, answer, now)


def released(
    actor: Actor, id: Id, quantities: dict[Id, int] | None, *, version: int | None, now: Instant
) -> Told:
    bookings.release(actor, id, version=version, now=now, quantities=quantities)
    return one(actor, id)


def undone(actor: Actor, id: Id, *, version: int | None, now: Instant) -> Told:
    """Take a yes back: the booking as it is stored then."""
    bookings.undo(actor, id, version=version, now=now)
    return one(actor, id)


def handover(actor: Actor, id: Id, *, now: Instant) -> Told:
    """Where a booking's kit is handed over, as it stands now."""
    actor.must("read")
    with read(actor.pool) as stores:
        found = stores.bookings.get(id)
        if found is None:
            raise NotFound("booking")
        return handovers.handover(Names(stores), found, now)


def standing(actor: Actor, id: Id, *, now: Instant) -> Told:
    """What depends on the clock and on others: risk, place, what is out and late."""
    actor.must("read")
    with read(actor.pool) as stores:
        found = stores.bookings.get(id)
        if found is None:
            raise NotFound("booking")
        short = _short_by(stores, found.id, [line.kit_type for line in found.lines], now)
        queue = _queued(stores, found, now)
        places = _places(stores, found, queue, now) if queue else {}
        lines = [
            {
                "id": line.id,
                "short_by": short.get(line.id, 0),
                "place": places.get(line.kit_type),
                "used": line.gone,
                **_whereabouts(stores, line.id, now),
            }
            for line in found.lines
        ]
        return {
            "risk": any(line["short_by"] for line in lines),
            "place": max(places.values(), default=None),
            "can_confirm": _fits_now(queue) if queue else None,
            "short": telling.shortages(Names(stores), queue, now) if queue else [],
            "lines": lines,
        }


def _whereabouts(stores: Stores, line: Id, now: Instant) -> dict[str, int]:
    """How many of a line are out (due or overdue), are back, or went missing.

    What came back as lost is missing; a piece of which that is no longer said has turned up.
    """
    went = stores.custodies.of_line(line)
    out = [custody for custody in went if custody.back_at is None]
    lost = [c for c in went if c.back_at is not None and c.condition is Condition.LOST]
    items = stores.items.some(c.item for c in lost if c.item is not None)
    gone = [c for c in lost if c.item is None or items[c.item].condition is Condition.LOST]
    missing = sum(custody.quantity for custody in gone)
    all_out = sum(custody.quantity for custody in out)
    overdue = sum(custody.quantity for custody in out if custody.is_overdue(now))
    return {
        "out": all_out,
        "due": all_out - overdue,
        "overdue": overdue,
        "back": sum(custody.quantity for custody in went) - all_out - missing,
        "missing": missing,
    }


def _short_by(stores: Stores, booking: Id, kit_types: list[Id], now: Instant) -> dict[Id, int]:
    """How many each line of a booking lacks beside what is confirmed."""
    world = look(stores, kit_types, now, now)
    short: dict[Id, int] = {}
    for kit_type in world.kit:
        claims = world.claims(kit_type, lambda held: held.state is BookingState.CONFIRMED)
        for risk in at_risk(world.stock[kit_type], claims):
            held = held_by(claims[risk.index])
            if held and held.booking == booking:
                short[held.line] = short.get(held.line, 0) + risk.by
    return short


def _queued(stores: Stores, found: Booking, now: Instant) -> Judged | None:
    """A pencil as it would be judged if it were confirmed now; None for any other booking."""
    if found.state is not BookingState.PENCILLED or found.window.end <= now:
        return None
    ask = asked_again(found)
    return judge(stores, ask, now, without=found.id, rank=_rank(found))


def _rank(found: Booking) -> int:
    return max((line.rank for line in found.lines), default=FOREVER)


def _fits_now(queue: Judged) -> bool:
    return all(verdict.answer is Answer.YES for verdict in queue.types)


def _places(stores: Stores, found: Booking, queue: Judged, now: Instant) -> dict[Id, int]:
    """The place of each kit type's pencil in the queue."""
    kit_types = {line.kit_type for line in queue.ask.lines}
    world = look(stores, kit_types, now, min(now, queue.ask.window.start))
    rank = _rank(found)
    return {verdict.kit.id: place(world, verdict, rank) for verdict in queue.types}
