"""Signing in and out. A session is a row that can be ended; the browser holds its secret."""

from dataclasses import dataclass

from crossload.domain.people import Account, Role
from crossload.domain.window import Id, Instant
from crossload.domain.zones import day_window, load_zone, local_day
from crossload.storage import sign_ins
from crossload.storage.stores import Stores
from crossload.usecases import passwords, throttle
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Forbidden, NotFound, NotSignedIn
from crossload.usecases.identity import SignedIn, make_credential
from crossload.usecases.transaction import read, write

DAY_S = 86_400


@dataclass(frozen=True, slots=True)
class Terms:
    """How long a session lasts: `usual_s`; a mixer's as long as the shoot, within bounds."""

    usual_s: int = 7 * DAY_S
    shoot_least_s: int = DAY_S
    shoot_most_s: int = 120 * DAY_S


def sign_in(
    login: str, password: str, *, address: str, terms: Terms, now: Instant
) -> tuple[SignedIn, str]:
    """A session for a name and a password, and its secret.

    Raises NotSignedIn, in the same words and time for an unknown name and a wrong password, and
    TooManyTries.
    """
    login = login.casefold()
    throttle.count_in(login, address, now)
    found = sign_ins.account_of(login)
    account = found[1] if found else None
    good = passwords.matches(account.password_hash if account else "", password)
    if found is None or not good or found[1].ended_at is not None:
        raise NotSignedIn("this name and password do not belong together: check both")
    throttle.forget(login, address, now)
    return open_session(*found, terms=terms, now=now)


def demo_sign_in(login: str, *, terms: Terms, now: Instant) -> tuple[SignedIn, str]:
    """A session for one of the demo's people, without a password; for loopback alone."""
    for pool, account in sign_ins.demo_accounts():
        if account.login == login.casefold():
            return open_session(pool, account, terms=terms, now=now)
    raise NotSignedIn("the demo has nobody of this name")


@dataclass(frozen=True, slots=True)
class DemoSignIn:
    login: str
    name: str
    role: Role
    unit: str | None


def demo_people() -> list[DemoSignIn]:
    """Who may sign in to the demo; NotFound when no demo is loaded."""
    found = sign_ins.demo_accounts()
    if not found:
        raise NotFound("demo", "there is no demo here")
    people = []
    for pool, account in found:
        with read(pool) as stores:
            units = stores.units.some(account.units)
        names = ", ".join(units[unit].name for unit in account.units if unit in units)
        people.append(DemoSignIn(account.login, account.name, account.role, names or None))
    return people


def open_session(pool: Id, account: Account, *, terms: Terms, now: Instant) -> tuple[SignedIn, str]:
    """A new session of an account, and its secret."""
    with write(pool, now) as stores:
        until = lasts_until(stores, account, terms, now)
        credential, secret = make_credential(
            "session", now=now, expires_at=until, account=account.id
        )
        stores.credentials.add(credential)
        after = {"credential": credential.id}
        stores.journal.write(account.id, "signed in", "account", account.id, now, after=after)
        zone = stores.header.zone
    actor = Actor(pool, account.role, account.id, account.units, credential.id)
    return SignedIn(actor, credential, account, zone), secret


def lasts_until(stores: Stores, account: Account, terms: Terms, now: Instant) -> Instant:
    """When a session that begins now runs out.

    A mixer's lasts until the end of the last shoot day of the productions of the mixer's units.
    """
    if account.role is not Role.MIXER:
        return now + terms.usual_s
    wrap = stores.credentials.last_wrap(account.units)
    if wrap is None:
        return now + terms.usual_s
    zone = load_zone(stores.header.zone)
    end = day_window(local_day(wrap, zone), zone).end
    return min(max(end, now + terms.shoot_least_s), now + terms.shoot_most_s)


def renew(signed: SignedIn, *, terms: Terms, now: Instant) -> Instant | None:
    """Lengthen a session whose shoot has become longer; answers its new end, None when it stays."""
    account = signed.account
    if account is None or signed.credential.kind != "session" or account.role is not Role.MIXER:
        return None
    with read(signed.actor.pool) as stores:
        until = lasts_until(stores, account, terms, now)
    if until < signed.credential.expires_at + DAY_S:
        return None
    with write(signed.actor.pool, now) as stores:
        stores.credentials.lengthen(signed.credential.id, until)
    return until


def sign_out(signed: SignedIn, *, now: Instant) -> None:
    """End this session, whoever else holds its secret.

    Raises Forbidden for a token or a wall link: who may only read must not switch a wall off.
    """
    if signed.credential.kind != "session":
        raise Forbidden(
            "only a session can sign out: a token or a link is ended by its coordinator"
        )
    with write(signed.actor.pool, now) as stores:
        if stores.credentials.end(signed.credential.id, now):
            account = signed.actor.account
            subject = account or signed.credential.id
            after = {"credential": signed.credential.id}
            stores.journal.write(account, "signed out", "account", subject, now, after=after)
