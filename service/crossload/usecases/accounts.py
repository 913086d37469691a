"""Who may sign in, as what, and for which units."""

import re
from dataclasses import dataclass

from crossload.domain.people import Account, Role
from crossload.domain.window import Id, Instant
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases import once, passwords, throttle
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Conflict, Forbidden, Invalid, NotFound, Stale
from crossload.usecases.transaction import read, write

_LOGIN = re.compile(r"[a-z0-9][a-z0-9._@+-]{1,63}")


def check_login(login: str) -> None:
    """Invalid for what cannot be a sign-in name: 2 to 64 of a-z, 0-9 and . _ @ + -"""
    if not _LOGIN.fullmatch(login):
        said = "a sign-in name is 2 to 64 of a-z, 0-9 and . _ @ + - and begins with one of a-z, 0-9"
        raise Invalid([("/login", said)])


def check_units(stores: Stores, units: tuple[Id, ...]) -> None:
    """Invalid, pointed at, for units that this pool does not have."""
    known = stores.units.some(units)
    wrong = [
        (f"/unit_ids/{index}", "this pool has no such unit")
        for index, unit in enumerate(units)
        if unit not in known
    ]
    if wrong:
        raise Invalid(wrong)


def known_account(stores: Stores, id: Id) -> Account:
    """The account; NotFound when this pool has none of that id, or it has ended."""
    account = stores.accounts.get(id)
    if account is None or account.ended_at is not None:
        raise NotFound("account")
    return account


def add_account(
    actor: Actor,
    *,
    login: str,
    name: str,
    role: Role,
    units: tuple[Id, ...] = (),
    password: str | None = None,
    person: Id | None = None,
    demo: bool = False,
    now: Instant,
    key: str | None = None,
    digest: str = "",
) -> Account:
    """A new account. Without a password it signs in once it has taken up an invitation."""
    actor.must("manage accounts")
    login = login.casefold()
    check_login(login)
    if role is Role.WALL:
        raise Invalid([("/role", "a wall has no account: make a wall link")])
    kept = ""
    if password is not None:
        passwords.check_password(password, login)
        kept = passwords.make_hash(password)
    with write(actor.pool, now) as stores:
        earlier = once.earlier(stores, actor, key, digest)
        if earlier is not None:
            return known_account(stores, earlier["account"])
        check_units(stores, units)
        _check_person(stores, person)
        account = Account(
            new_id(), login, name or login, role, tuple(units), kept, person, demo=demo
        )
        if not stores.accounts.add_new(account):
            raise Invalid([("/login", "this sign-in name is taken: choose another")])
        after = {"role": role, "units": units}
        stores.journal.write(actor.account, "made", "account", account.id, now, after=after)
        once.keep(stores, actor, key, digest, {"account": account.id}, now=now)
    return account


def accounts(actor: Actor, after: int = 0, limit: int | None = None) -> list[Account]:
    """The pool's accounts, ended ones too, in order of making."""
    actor.must("manage accounts")
    with read(actor.pool) as stores:
        return stores.accounts.page(after, limit)


def account(actor: Actor, id: Id) -> Account:
    """One account: anybody's for whoever manages accounts, one's own for everybody."""
    if id != actor.account:
        actor.must("manage accounts")
    with read(actor.pool) as stores:
        found = stores.accounts.get(id)
    if found is None:
        raise NotFound("account")
    return found


@dataclass(frozen=True, slots=True)
class Changes:
    """What may be changed of an account; None leaves it as it is."""

    name: str | None = None
    role: Role | None = None
    units: tuple[Id, ...] | None = None
    ended: bool | None = None


def change_account(
    actor: Actor, id: Id, changes: Changes, *, version: int | None, now: Instant
) -> Account:
    """Change what an account may, or end it. What it holds open keeps pace at once."""
    if id != actor.account or changes != Changes(name=changes.name):
        actor.must("manage accounts")
    if changes.role is Role.WALL:
        raise Invalid([("/role", "a wall has no account: make a wall link")])
    with write(actor.pool, now) as stores:
        before = stores.accounts.get(id)
        if before is None:
            raise NotFound("account")
        if changes.units is not None:
            check_units(stores, changes.units)
        _keep_a_coordinator(stores, before, changes)
        told = {
            field: value
            for field in ("name", "role", "units")
            if (value := getattr(changes, field)) is not None
        }
        if changes.ended is not None:
            told["ended_at"] = (before.ended_at or now) if changes.ended else None
        if not stores.accounts.change(id, version, **told):
            raise Stale("account")
        if changes.ended:
            stores.credentials.end_of(id, now)
        named = {field: told[field] for field in told if field != "name"}
        was = {field: getattr(before, field) for field in named}
        stores.journal.write(actor.account, "changed", "account", id, now, was, named)
        after = stores.accounts.get(id)
    assert after is not None
    return after


def _keep_a_coordinator(stores: Stores, account: Account, changes: Changes) -> None:
    """Somebody must be left who can let others in."""
    stays = not changes.ended and changes.role in (None, Role.COORDINATOR)
    if stays or account.role is not Role.COORDINATOR or account.ended_at is not None:
        return
    others = stores.accounts.all(role=Role.COORDINATOR, ended_at=None)
    if not any(other.id != account.id for other in others):
        raise Conflict("this is the pool's last coordinator: make another one first")


def set_password(actor: Actor, password: str, current: str, *, address: str, now: Instant) -> None:
    """Change one's own password; every other session and token of the account ends.

    Throttled as sign-in is: a session that was left open is no way to find the password.
    """
    if actor.account is None:
        raise Forbidden("a wall has no password: sign in as somebody")
    with read(actor.pool) as stores:
        found = known_account(stores, actor.account)
    throttle.count_in(found.login, address, now)
    if not passwords.matches(found.password_hash, current):
        raise Invalid([("/current_password", "this is not the password you have now")])
    throttle.forget(found.login, address, now)
    passwords.check_password(password, found.login)
    _set_password(actor, found.id, passwords.make_hash(password), now)


def give_password(actor: Actor, id: Id, password: str, *, now: Instant) -> None:
    """Set somebody's password, from the machine's command line; all their sessions end."""
    actor.must("manage accounts")
    found = account(actor, id)
    passwords.check_password(password, found.login)
    _set_password(actor, id, passwords.make_hash(password), now)


def _set_password(actor: Actor, id: Id, kept: str, now: Instant) -> None:
    with write(actor.pool, now) as stores:
        stores.accounts.change(id, None, password_hash=kept)
        stores.credentials.end_of(id, now, but=actor.credential)
        stores.journal.write(actor.account, "set a password", "account", id, now)


def end_sessions(actor: Actor, id: Id, *, now: Instant) -> int:
    """Sign somebody out everywhere, tokens included; answers how many ended. One's own: always."""
    if id != actor.account:
        actor.must("manage accounts")
    with write(actor.pool, now) as stores:
        if stores.accounts.get(id) is None:
            raise NotFound("account")
        ended = stores.credentials.end_of(id, now)
        after = {"credentials": ended}
        stores.journal.write(actor.account, "signed out", "account", id, now, after=after)
    return ended


def _check_person(stores: Stores, person: Id | None) -> None:
    if person is not None and stores.people.get(person) is None:
        raise Invalid([("/person_id", "this pool has no such person")])
