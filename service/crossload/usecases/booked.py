"""What a page or a script asks of bookings, answered in full: with names, options, hand-over."""

from typing import Any

from crossload.domain.booking import LIVE, Ask, BookingState, Wanted
from crossload.domain.window import Id, Instant, Window
from crossload.storage.stores import Stores
from crossload.usecases import bookings, handovers, telling
from crossload.usecases.actor import Actor
from crossload.usecases.bookings import Changes
from crossload.usecases.cautions import Given, all_cautions
from crossload.usecases.errors import Invalid
from crossload.usecases.granting import (
    Granted,
    Refused,
    check,
    default_window,
    granted_before,
    the_booking,
)
from crossload.usecases.judging import judge
from crossload.usecases.names import Names
from crossload.usecases.options import find_options
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
    _must_know_givers(stores, lines)
    named = [line["item_id"] for line in lines if line["item_id"] is not None]
    items = stores.items.some(named) if named else {}
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
                straight_from=line["straight_from_id"],
            )
        )
    if wrong:
        raise Invalid(wrong)
    return tuple(wanted)


def _must_know_givers(stores: Stores, lines: list[Told]) -> None:
    """Invalid for a line to take over from that this pool never had."""
    given = {line["straight_from_id"] for line in lines} - {None}
    known = stores.bookings.known_lines(given) if given else set()
    wrong = [
        (f"/lines/{index}/straight_from_id", "this pool has no such line")
        for index, line in enumerate(lines)
        if line["straight_from_id"] not in {None, *known}
    ]
    if wrong:
        raise Invalid(wrong)


def judged(actor: Actor, body: Told, *, now: Instant) -> Told:
    """A dry run, with options where the answer is no."""
    actor.must("book", body["unit_id"])
    with read(actor.pool) as stores:
        ask = as_ask(stores, body, now)
        known = stores.known(ask, now)
        check(known, actor, ask, now)
        found = judge(stores, ask, now, known=known)
        names = Names(stores)
        options = [] if found.grants else find_options(names, found.ask, now)
        return telling.judgement(names, found, options, now)


def asked(actor: Actor, body: Told, *, now: Instant, key: str, digest: str) -> Told:
    """Book: a yes with its hand-over, or the judgement (with `answer`) that refuses it."""
    actor.must("book", body["unit_id"])
    with read(actor.pool) as stores:
        # A window that was left out may mean another day by now: what came before is not read anew.
        answer: Granted | Refused | None = granted_before(
            stores, stores.keys.find(actor.owner, key), digest
        )
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
            "booking": telling.booking(names, answer.booking),
            "handover": handovers.handover(names, answer.booking, now),
            "undo_until": answer.booking.undo_until,
            "cautions": all_cautions(names, given),
        }


def _refusal(actor: Actor, answer: Refused, now: Instant, without: Id | None = None) -> Told:
    with read(actor.pool) as stores:
        names = Names(stores)
        found = find_options(names, answer.judged.ask, now, without=without)
        return telling.judgement(names, answer.judged, found, now)


def one(actor: Actor, id: Id) -> Told:
    """One booking; NotFound when this pool has none of that id."""
    actor.must("read")
    with read(actor.pool) as stores:
        return telling.booking(Names(stores), the_booking(stores, id))


def page(actor: Actor, **chosen: Any) -> list[Told]:
    """Bookings in order of asking, narrowed as in `storage.bookings.Bookings.page`."""
    actor.must("read")
    with read(actor.pool) as stores:
        names = Names(stores)
        return [telling.booking(names, each) for each in stores.bookings.page(**chosen)]


def _stored_or_refusal(actor: Actor, id: Id, answer: Granted | Refused, now: Instant) -> Told:
    if isinstance(answer, Refused):
        return _refusal(actor, answer, now, without=id)
    return one(actor, id)


def changed(actor: Actor, id: Id, body: Told, *, version: int | None, now: Instant) -> Told:
    """Change a booking: as it is stored then, or the judgement (with `answer`) that refuses it."""
    with read(actor.pool) as stores:
        before = the_booking(stores, id)
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
    """The lines, if those with an id are the booking's own and stand there once.

    They take over from whom they did, unless another is named.
    """
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
    return [
        line | {"straight_from_id": own[line["id"]].straight_from}
        if line["id"] is not None and line["straight_from_id"] is None
        else line
        for line in lines
    ]


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
        return handovers.handover(Names(stores), the_booking(stores, id), now)
