"""One-time links: for the first coordinator, for somebody new, or for a forgotten password."""

from crossload.domain.people import Account, Credential, Role
from crossload.domain.window import Id, Instant
from crossload.storage import sign_ins
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases import once, passwords, throttle
from crossload.usecases.accounts import check_login, check_units, known_account
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid, NotFound
from crossload.usecases.identity import PREFIX, SignedIn, digest, make_credential
from crossload.usecases.sign_in import Terms, open_session
from crossload.usecases.transaction import read, write

LASTS_S = 7 * 86_400


def invite(
    actor: Actor,
    *,
    role: Role = Role.COORDINATOR,
    units: tuple[Id, ...] = (),
    name: str = "",
    account: Id | None = None,
    now: Instant,
    key: str | None = None,
    body_digest: str = "",
) -> tuple[Credential, str]:
    """A link with which one person makes an account of this role, good once and for a week.

    With `account` it is for somebody who has one, to set a new password.
    """
    actor.must("manage accounts")
    if role is Role.WALL:
        raise Invalid([("/role", "a wall has no account: make a wall link")])
    with write(actor.pool, now) as stores:
        once.must_be_first(stores, actor, key, body_digest)
        check_units(stores, units)
        if account is not None:
            known_account(stores, account)
        made, secret = make_credential(
            "invitation",
            now=now,
            expires_at=now + LASTS_S,
            account=account,
            name=name,
            role=role,
            units=units,
        )
        stores.credentials.add(made)
        after = {"kind": "invitation", "role": role, "account": account}
        stores.journal.write(actor.account, "made", "credential", made.id, now, after=after)
        once.keep(stores, actor, key, body_digest, {"credential": made.id}, now=now)
    return made, secret


def invitations(actor: Actor, *, now: Instant) -> list[Credential]:
    """Those that nobody has taken up yet."""
    actor.must("manage accounts")
    with read(actor.pool) as stores:
        return stores.credentials.live(["invitation"], now)


def redeem(
    secret: str,
    *,
    login: str,
    name: str,
    password: str,
    address: str,
    terms: Terms,
    now: Instant,
) -> tuple[SignedIn, str]:
    """Make the account that an invitation is for (or set its new password), and sign it in.

    Raises NotFound when the invitation is unknown, used or over, and Invalid.
    """
    login = login.casefold()
    throttle.count_in("", address, now)
    found = sign_ins.find(digest(secret)) if secret.startswith(PREFIX["invitation"]) else None
    if found is None or not _is_open(found.credential, now):
        raise _no_invitation()
    throttle.forget("", address, now)
    check_login(login)
    passwords.check_password(password, login)
    kept = passwords.make_hash(password)
    with write(found.pool, now) as stores:
        invitation = stores.credentials.get(found.credential.id)
        if invitation is None or not _is_open(invitation, now):
            raise _no_invitation()
        stores.credentials.end(invitation.id, now)
        role = invitation.role or Role.COORDINATOR
        asked = Account(new_id(), login, name or login, role, invitation.units, kept)
        account = _take_up(stores, invitation, asked, now)
    return open_session(found.pool, account, terms=terms, now=now)


def _take_up(stores: Stores, invitation: Credential, account: Account, now: Instant) -> Account:
    if invitation.account is not None:
        return _reset(stores, invitation.account, account, now)
    if not stores.accounts.add_new(account):
        raise Invalid([("/login", "this sign-in name is taken: choose another")])
    after = {"role": account.role, "units": account.units, "invitation": invitation.id}
    stores.journal.write(account.id, "made", "account", account.id, now, after=after)
    return account


def _reset(stores: Stores, id: Id, asked: Account, now: Instant) -> Account:
    account = known_account(stores, id)
    if asked.login != account.login:
        raise Invalid([("/login", "this link is for another sign-in name: give the one you had")])
    stores.accounts.change(id, None, password_hash=asked.password_hash)
    stores.credentials.end_of(id, now)
    stores.journal.write(id, "set a password", "account", id, now)
    return account


def _is_open(credential: Credential, now: Instant) -> bool:
    is_live = credential.ended_at is None and credential.expires_at > now
    return credential.kind == "invitation" and is_live


def _no_invitation() -> NotFound:
    return NotFound("invitation", "this link has been used or is over: ask for a new one")
