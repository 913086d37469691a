"""The last scan taken back: within its minute, as long as nothing else has happened to the kit."""

import json
from typing import Any

from crossload.domain.booking import LIVE, Line
from crossload.domain.custody import Custody, Move
from crossload.domain.kit import Condition
from crossload.domain.window import Id, Instant
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.conditions import set_condition
from crossload.usecases.errors import Conflict, NotFound
from crossload.usecases.transaction import write

Told = dict[str, Any]

UNDO_SCAN_S = 120
"""A page offers it for one minute; a slow line and a slow hand get another."""

OPPOSITE = {Move.OUT: Move.BACK, Move.BACK: Move.OUT}


def undo_event(actor: Actor, id: Id, *, now: Instant) -> Told:
    """Record the opposite of an event of one's own, so that it counts for nothing on its booking.

    Undone again it answers the same. Conflict where the time is over, or where something else has
    happened to the kit since.
    """
    with write(actor.pool, now) as stores:
        actor.must_some("hand out and take back")
        found = stores.custodies.event_of(id)
        if found is None:
            raise NotFound("event")
        account, kind, recorded_at, outcome = found
        key = f"undo {id}"
        before = stores.custodies.event(key)
        if before is not None:
            return {**json.loads(before[2]), "id": before[0]}
        if account != actor.account or kind not in OPPOSITE:
            raise Conflict("only what you handed out or took back yourself is undone here")
        if now > recorded_at + UNDO_SCAN_S:
            raise Conflict("the time to undo this is over: take it back, or hand it out, instead")
        moved = json.loads(outcome)["moved"]
        undo = _Undo(stores, actor, recorded_at, now)
        for each in moved:
            undo.take_back(each) if kind == Move.OUT else undo.give_back(each)
        told: Told = {"moved": moved, "cautions": [], "endangers": []}
        opposite = OPPOSITE[Move(kind)]
        told["id"] = stores.custodies.append(
            key, actor.account, opposite, now, now, "", json.dumps(told)
        )
        return told


class _Undo:
    """One undoing inside its transaction."""

    def __init__(self, stores: Stores, actor: Actor, recorded_at: Instant, now: Instant):
        self.stores, self.actor = stores, actor
        self.recorded_at, self.now = recorded_at, now

    def take_back(self, each: Told) -> None:
        """What went out has not gone out: it leaves its line, and a consumable is in stock again."""
        self.actor.must("hand out and take back", each["unit_id"])
        if each.get("handed_on"):
            raise Conflict("it came straight from another unit: hand it back to them instead")
        if each.get("custody") is None:
            self._unuse(each)
        else:
            custody = self._custody(each)
            if custody.back_at is not None or custody.quantity != each["quantity"]:
                raise Conflict(self._since(each))
            self.stores.custodies.set(
                custody.id, back_at=max(self.now, custody.out_at), line_id=None, booking_id=None
            )
            if each["item_id"] is not None and each.get("joined"):
                self.stores.bookings.unfix(each["item_id"], self.now, line=each["line_id"])
        self._note(each)

    def give_back(self, each: Told) -> None:
        """What came back is out again, in the condition it was in."""
        self.actor.must("hand out and take back", each["unit_id"])
        if each.get("custody") is None:
            raise Conflict("it was not out: mark it fit on its kit page instead")
        custody = self._custody(each)
        item = each["item_id"]
        if custody.back_at is None or (item and self._has_moved_on(item, custody)):
            raise Conflict(self._since(each))
        if item is None and custody.condition is not Condition.FIT:
            raise Conflict("some were set aside: end that on the kit's page, and hand them out")
        line = self._line_with_room(custody, each)
        self.stores.custodies.set(custody.id, back_at=None, condition=None)
        if item is not None and custody.condition is not Condition.FIT:
            self._restore(each, line)
        self._note(each)

    def _custody(self, each: Told) -> Custody:
        custody = self.stores.custodies.get(each["custody"])
        if custody is None:
            raise Conflict(self._since(each))
        return custody

    def _since(self, each: Told) -> str:
        what = each["tag"] or each["kit_type"]
        return f"something else has happened to {what} since: look it up"

    def _has_moved_on(self, item: Id, custody: Custody) -> bool:
        """Whether it went out again, or its condition was changed by somebody."""
        found = self.stores.items.get(item)
        out = self.stores.custodies.of_item(item)
        told = custody.condition or Condition.FIT
        # Back as fit says nothing of the condition: it stays what it was, unless it was lost.
        marked = found is not None and told is not Condition.FIT and found.condition is not told
        return found is None or out is not None or marked

    def _line_with_room(self, custody: Custody, each: Told) -> Line | None:
        """The line it was out on, if that still has room for it."""
        if custody.line is None:
            return None
        line = self._line_of(custody.booking, custody.line)
        out = self.stores.custodies.of_line(custody.line)
        there = sum(one.quantity for one in out if one.back_at is None)
        if line is None or line.state not in LIVE or there + each["quantity"] > line.quantity:
            raise Conflict(self._since(each))
        return line

    def _line_of(self, booking: Id | None, line: Id | None) -> Line | None:
        found = self.stores.bookings.get(booking) if booking is not None else None
        return next((one for one in found.lines if one.id == line), None) if found else None

    def _restore(self, each: Told, line: Line | None) -> None:
        """Its condition as it was before, and its place on the line it was out on."""
        item = self.stores.items.get(each["item_id"])
        assert item is not None
        was = Condition(each["was"])
        set_condition(self.stores, item, was, self.now, account=self.actor.account)
        serves = line is not None and (line.item == item.id or item.id in line.pieces)
        if line is not None and not serves and was is Condition.FIT:
            self.stores.bookings.fix(line.id, item.id)

    def _unuse(self, each: Told) -> None:
        kit = self.stores.kit_types.get(each["kit_type_id"])
        line = self._line_of(each["booking_id"], each["line_id"])
        if kit is None or (each["line_id"] and (line is None or line.gone < each["quantity"])):
            raise Conflict(self._since(each))
        self.stores.kit_types.change(kit.id, None, count=kit.count + each["quantity"])
        if line is not None:
            self.stores.bookings.change_line(line.id, gone=line.gone - each["quantity"])

    def _note(self, each: Told) -> None:
        item = each["item_id"]
        subject = ("item", item) if item else ("kit_type", each["kit_type_id"])
        after = {"quantity": each["quantity"], "booking": each["booking_id"]}
        self.stores.journal.write(self.actor.account, "undone", *subject, self.now, after=after)
