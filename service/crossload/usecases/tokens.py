"""API tokens and wall links: secrets for programs and screens, shown once, ended at will."""

from crossload.domain.people import Credential, Reach, Role
from crossload.domain.window import FOREVER, Id, Instant
from crossload.usecases import once
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, Forbidden, NotFound
from crossload.usecases.identity import make_credential
from crossload.usecases.transaction import read, write

MOST_IN_FORCE = 100
"""Of one kind in one pool: who needs more has forgotten to end some."""


def make_token(
    actor: Actor, name: str, *, now: Instant, key: str | None = None, digest: str = ""
) -> tuple[Credential, str]:
    """A token that does whatever its account may, until it is ended."""
    actor.must_some("make tokens")
    if actor.account is None:
        raise Forbidden("a token belongs to an account: sign in with one")
    return _make("token", actor, name, None, now=now, key=key, digest=digest)


def make_wall_link(
    actor: Actor, name: str, *, now: Instant, key: str | None = None, digest: str = ""
) -> tuple[Credential, str]:
    """A link for a screen: reads all, changes nothing, until it is ended."""
    actor.must("make wall links")
    return _make("wall", actor, name, Role.WALL, now=now, key=key, digest=digest)


def _make(
    kind: str,
    actor: Actor,
    name: str,
    role: Role | None,
    *,
    now: Instant,
    key: str | None,
    digest: str,
) -> tuple[Credential, str]:
    with write(actor.pool, now) as stores:
        once.must_be_first(stores, actor, key, digest)
        if len(stores.credentials.live([kind], now)) >= MOST_IN_FORCE:
            raise Conflict(f"{MOST_IN_FORCE} are in force already: end some first")
        made, secret = make_credential(
            kind,
            now=now,
            expires_at=FOREVER,
            account=actor.account if kind == "token" else None,
            name=name,
            role=role,
        )
        stores.credentials.add(made)
        after = {"kind": kind, "by": actor.credential}
        stores.journal.write(actor.account, "made", "credential", made.id, now, after=after)
        once.keep(stores, actor, key, digest, {"credential": made.id}, now=now)
    return made, secret


def tokens(actor: Actor, *, now: Instant) -> list[Credential]:
    """The actor's own tokens in force; everybody's for whoever manages accounts."""
    actor.must_some("make tokens")
    everybody = actor.reach("manage accounts") is Reach.ALL
    with read(actor.pool) as stores:
        return stores.credentials.live(["token"], now, None if everybody else actor.account)


def wall_links(actor: Actor, *, now: Instant) -> list[Credential]:
    """The pool's wall links in force."""
    actor.must("make wall links")
    with read(actor.pool) as stores:
        return stores.credentials.live(["wall"], now)


def end_credential(actor: Actor, id: Id, kind: str, *, now: Instant) -> None:
    """End a token, a wall link or an invitation; one that has ended already stays so."""
    verbs = {"token": "make tokens", "wall": "make wall links", "invitation": "manage accounts"}
    actor.must_some(verbs[kind])
    with write(actor.pool, now) as stores:
        found = stores.credentials.get(id)
        own = found is not None and found.account == actor.account
        if found is None or found.kind != kind or not (own or actor.may("manage accounts")):
            raise NotFound({"wall": "wall link"}.get(kind, kind))
        if stores.credentials.end(id, now):
            stores.journal.write(actor.account, "ended", "credential", id, now)
