"""The same request twice, done once: what a key led to is kept with what it wrote."""

from typing import Any

from crossload.domain.window import Id, Instant
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, KeyReused
from crossload.usecases.transaction import read, write

Kept = tuple[str, Any]
"""The digest of what came with a key, and what it led to."""


def earlier(stores: Stores, actor: Actor, key: str | None, digest: str) -> Any | None:
    """The outcome kept under the actor's key, None when it is new or there is no key.

    Raises KeyReused when the key came before with another body.
    """
    if key is None:
        return None
    return outcome(stores.keys.find(actor.owner, key), digest)


def outcome(kept: Kept | None, digest: str) -> Any | None:
    """The outcome of what is kept under a key, if anything is. KeyReused as above."""
    if kept is None:
        return None
    kept_digest, led_to = kept
    if kept_digest != digest:
        raise KeyReused
    return led_to


def must_be_first(stores: Stores, actor: Actor, key: str | None, digest: str) -> None:
    """Conflict where the key came before: what is shown once cannot be answered again."""
    if earlier(stores, actor, key, digest) is not None:
        raise Conflict(
            "this was made already and its secret is shown once: end it, and make another",
            kind="shown-once",
        )


def keep(
    stores: Stores, actor: Actor, key: str | None, digest: str, outcome: Any, now: Instant
) -> None:
    """Keep what the key led to, in the transaction that did it."""
    if key is not None:
        stores.keys.keep(actor.owner, key, digest, outcome, now)


def forget(pool: Id, now: Instant) -> int:
    """Drop the pool's keys that are past their time; answers how many. Writes only if there are."""
    with read(pool) as stores:
        if not stores.keys.is_any_old(now):
            return 0
    with write(pool, now) as stores:
        return stores.keys.forget(now)
