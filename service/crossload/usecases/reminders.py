"""Reminders: told once when they fall due, ended when they no longer apply, answered by people."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from crossload.domain import told_reminder
from crossload.domain.booking import Handing
from crossload.domain.reminders import Kind, Reminder, derive
from crossload.domain.reminders import next_due as first_after
from crossload.domain.told_reminder import (
    NEXT,
    OPEN,
    About,
    Plan,
    ReminderState,
    ToldReminder,
)
from crossload.domain.window import FOREVER, Id, Instant
from crossload.domain.zones import day_start, load_zone, local_day
from crossload.storage import pools
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, NotFound
from crossload.usecases.names import Names
from crossload.usecases.reminder_facts import gather
from crossload.usecases.transaction import read, write

Told = dict[str, Any]

COMING_S = 36 * 3600
"""The board shows so far ahead what is still to be told, and at least through tomorrow."""

LOOK_AGAIN_S = 3600
"""A pool is looked at so often even if nothing was written and nothing is known to fall due."""

_DONE_S = 3 * 86_400


@dataclass(frozen=True, slots=True)
class Round:
    """One look at a pool: what came of it, and until when no other is needed."""

    told: int
    ended: int
    revision: int
    next_at: Instant


class Rounds:
    """Which pools need a look: those written to, or whose time has come, since the last one.

    Known to one process and lost with it; a look too many changes nothing.
    """

    def __init__(self) -> None:
        self._last: dict[Id, Round] = {}

    def waiting(self, now: Instant) -> list[Id]:
        """The pools that need a look now."""
        return [pulse.pool for pulse in pools.pulses() if self._needs_look(pulse, now)]

    def note(self, pool: Id, last: Round) -> None:
        """Remember what came of the look at a pool."""
        self._last[pool] = last

    def _needs_look(self, pulse: pools.Pulse, now: Instant) -> bool:
        last = self._last.get(pulse.pool)
        return (
            last is None
            or last.revision != pulse.revision
            or now >= min(last.next_at, pulse.next_settle_at)
        )


def remind(pool: Id, now: Instant) -> Round:
    """Settle what fell due, tell what is due and was not told, end what no longer applies.

    Writes only where there is something to write, so that pages which poll see no change.
    """
    with read(pool) as stores:
        outlook = Outlook(stores, now)
        if outlook.plan.is_empty and stores.header.next_settle_at > now:
            return Round(0, 0, stores.header.revision, outlook.next_at)
    with write(pool, now) as stores:
        outlook = Outlook(stores, now)
        told = _carry_out(stores, outlook.plan, now)
        return Round(told, len(outlook.plan.end), stores.header.revision, outlook.next_at)


def _carry_out(stores: Stores, made: Plan, now: Instant) -> int:
    """Answers how many were told: a key that was told before is not told again."""
    told = list(stores.reminders.tell(made.tell, now).items())
    for before, derived in made.again:
        stores.reminders.tell_again(before.id, derived, now)
        told.append((before.key, before.id))
    for key, id in told:
        stores.journal.write(None, "told", "reminder", id, now, after={"key": key})
    for one in made.end:
        stores.reminders.end(one.id, now)
        stores.journal.write(None, "ended", "reminder", one.id, now, before={"state": one.state})
    for one, about in made.refresh:
        stores.reminders.refresh(one.id, about)
    return len(told)


class Outlook:
    """What is due and what is coming, as it stands in one transaction at one instant."""

    def __init__(self, stores: Stores, now: Instant, handings: Sequence[Handing] | None = None):
        self.stores, self.now = stores, now
        self._gathered = gather(stores, now, handings)
        self.derived = derive(self._gathered.facts, FOREVER)

    @cached_property
    def plan(self) -> Plan:
        """What is to be told, ended and said anew now."""
        told = self._told_by(self.now) | {one.key: one for one in self.stores.reminders.open()}
        return told_reminder.plan(self.derived, told, self.now)

    @property
    def next_due(self) -> Instant | None:
        """When the next one falls due, within what is read ahead."""
        return first_after(self.derived, self.now)

    @property
    def next_at(self) -> Instant:
        """Until then nothing is to be told or ended, as long as nothing is written."""
        again = min(self._gathered.changes_at, self.now + LOOK_AGAIN_S)
        return min(again, self.next_due or FOREVER)

    def coming(self, horizon: Instant) -> list[Reminder]:
        """What is to be told by the horizon, one of each cause; see `told_reminder.coming`."""
        return told_reminder.coming(self.derived, self._told_by(horizon), self.now, horizon)

    def _told_by(self, horizon: Instant) -> dict[str, ToldReminder]:
        keys = (str(one.key) for one in self.derived if one.due_at <= horizon)
        return self.stores.reminders.of_keys(keys)


def of_board(
    names: Names, now: Instant, handings: Sequence[Handing] | None = None
) -> tuple[list[Told], Instant]:
    """Due, seen, done today and coming, in order of due; and when the next one falls due."""
    stores = names.stores
    handings = stores.held.handings(now) if handings is None else handings
    outlook = Outlook(stores, now, handings)
    zone = load_zone(stores.header.zone)
    today = day_start(local_day(now, zone), zone)
    done = stores.reminders.page(0, 500, states=(ReminderState.DONE,), since=today - _DONE_S)
    told = [*stores.reminders.open(), *(one for one in done if (one.done_at or 0) >= today)]
    showing = _Showing(names, handings)
    shown = [showing.told(one) for one in told]
    tomorrow_ends = day_start(local_day(now, zone) + timedelta(days=2), zone)
    for one in outlook.coming(max(now + COMING_S, tomorrow_ends)):
        shown.append(showing.coming(one, now))
    return sorted(shown, key=lambda row: (row["due_at"], row["key"])), outlook.next_due or FOREVER


class _Showing:
    """Reminders with the names in them, and with what other units take over of the kit they are about."""

    def __init__(self, names: Names, handings: Iterable[Handing]):
        self.names = names
        self.onward: dict[Id | None, list[Handing]] = defaultdict(list)
        for handing in handings:
            self.onward[handing.from_booking].append(handing)

    def told(self, one: ToldReminder) -> Told:
        """One that was told."""
        of = {"id": one.id, "key": one.key, "kind": one.kind, "stage": one.stage}
        return of | self._facts(one, one.about, one.kind) | {"state": one.state}

    def coming(self, one: Reminder, now: Instant) -> Told:
        """One that is still to be told."""
        of = {"id": None, "key": str(one.key), "kind": one.key.kind, "stage": one.key.stage}
        state = {"state": "due" if one.due_at <= now else "coming"}
        return of | self._facts(one, About.of(one), one.key.kind) | state

    def _facts(self, one: ToldReminder | Reminder, about: About, kind: Kind) -> Told:
        names = self.names
        kit = [
            {"kit_type_id": id, "kit_type": names.kit[id].name, "quantity": quantity}
            for id, quantity in about.kit
        ]
        alone = kit[0] if len(kit) == 1 else None
        return {
            "severity": one.severity,
            "due_at": one.due_at,
            "at": about.at,
            "unit_id": one.unit,
            "unit": names.unit(one.unit),
            "to": one.to,
            "booking_id": one.booking,
            "kit_type_id": alone["kit_type_id"] if alone else None,
            "kit_type": alone["kit_type"] if alone else None,
            "quantity": sum(quantity for _, quantity in about.kit) or None,
            "kit": kit,
            "straight": self._straight(one.booking, about) if kind is Kind.RETURN_DUE else [],
            "tags": list(about.tags),
        }

    def _straight(self, booking: Id | None, about: About) -> list[Told]:
        """What of the kit that is due back other units take over instead."""
        due = dict(about.kit)
        return [
            {
                "unit": self.names.unit(each.unit),
                "kit_type": self.names.kit[each.kit_type].name,
                "quantity": each.quantity,
            }
            for each in self.onward.get(booking, ())
            if each.kit_type in due
        ]


def _told(stores: Stores, told: Iterable[ToldReminder]) -> list[Told]:
    """Told reminders in full, with who saw and did them."""
    names = Names(stores)
    showing = _Showing(names, stores.held.handings(since=0))
    return [
        showing.told(one)
        | {
            "told_at": one.told_at,
            "seen_at": one.seen_at,
            "seen_by": names.accounts.get(one.seen_by) if one.seen_by else None,
            "done_at": one.done_at,
            "done_by": names.accounts.get(one.done_by) if one.done_by else None,
            "ended_at": one.ended_at,
        }
        for one in told
    ]


def page(
    actor: Actor,
    after: Id,
    limit: int,
    *,
    state: ReminderState | None = None,
    since: date | None = None,
) -> list[Told]:
    """Those in a state, or that somebody still has to do; due on the local day `since` or later."""
    actor.must("read")
    states: Sequence[ReminderState] = OPEN if state is None else (state,)
    with read(actor.pool) as stores:
        zone = load_zone(stores.header.zone)
        due = None if since is None else day_start(since, zone)
        return _told(stores, stores.reminders.page(after, limit, states=states, since=due))


def seen(actor: Actor, id: Id, now: Instant) -> Told:
    """Somebody knows of it. What was seen or done before stays as it was."""
    return _answer(actor, id, ReminderState.SEEN, now)


def done(actor: Actor, id: Id, now: Instant) -> Told:
    """It is done. Who was first stands; Conflict for one that no longer applies."""
    return _answer(actor, id, ReminderState.DONE, now)


def _answer(actor: Actor, id: Id, to: ReminderState, now: Instant) -> Told:
    with write(actor.pool, now) as stores:
        one = stores.reminders.get(id)
        if one is None:
            raise NotFound("reminder")
        actor.must("answer a reminder", one.unit)
        if one.state is ReminderState.ENDED:
            raise Conflict("this reminder has ended: what it was about has changed since")
        if to in NEXT[one.state]:
            set_state = {
                ReminderState.SEEN: stores.reminders.see,
                ReminderState.DONE: stores.reminders.do,
            }[to]
            set_state(id, actor.account, now)
            states = {"before": {"state": one.state}, "after": {"state": to}}
            stores.journal.write(actor.account, str(to), "reminder", id, now, **states)
        found = stores.reminders.get(id)
        assert found is not None
        return _told(stores, [found])[0]
