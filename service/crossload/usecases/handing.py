"""Out and back: kit goes to a unit or a person and returns, as events that may come late."""

import json

from crossload.domain.custody import Move
from crossload.domain.window import Id, Instant
from crossload.usecases.actor import Actor
from crossload.usecases.coming_back import ComingBack, Promising
from crossload.usecases.errors import Invalid, KeyReused
from crossload.usecases.going_out import GoingOut
from crossload.usecases.handing_on import HandingOn
from crossload.usecases.moving import AHEAD_S, Event, Moving, Told
from crossload.usecases.transaction import write

MOVES: dict[Move, type[Moving]] = {
    Move.OUT: GoingOut,
    Move.BACK: ComingBack,
    Move.PROMISE: Promising,
    Move.HAND_OVER: HandingOn,
}


def record(actor: Actor, event: Event, digest: str, *, now: Instant) -> Told:
    """Record an event once: its key again gives the same answer.

    Raises Conflict for what cannot have happened or would break another's booking (`take_instead`
    names pieces that would not; `anyway` records the fact all the same), Invalid, NotFound.
    """
    with write(actor.pool, now) as stores:
        actor.must_some("hand out and take back")
        earlier = stores.custodies.event(event.key)
        if earlier is not None:
            return _replayed(earlier, digest)
        if event.happened_at > now + AHEAD_S:
            raise Invalid([("/happened_at", "this is still to come: record what has happened")])
        moving = MOVES[event.kind](stores, actor, event, now)
        moving.move()
        told = moving.told()
        told["id"] = stores.custodies.append(
            event.key, actor.account, event.kind, event.happened_at, now, digest, json.dumps(told)
        )
        return told


def _replayed(earlier: tuple[Id, str, str], digest: str) -> Told:
    id, kept, outcome = earlier
    if kept != digest:
        raise KeyReused
    told: Told = json.loads(outcome)
    return told | {"id": id}
