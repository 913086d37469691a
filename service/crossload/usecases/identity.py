"""Secrets that stand for somebody, and whom they stand for."""

import hashlib
import secrets
from dataclasses import dataclass
from hmac import compare_digest

from crossload.domain.people import Account, Credential, Role
from crossload.domain.window import Id, Instant
from crossload.storage import sign_ins
from crossload.storage.ids import new_id
from crossload.usecases.actor import Actor
from crossload.usecases.errors import NotSignedIn

PREFIX = {"session": "cls_", "token": "clt_", "wall": "clw_", "invitation": "cli_"}
"""A secret tells its kind, so that one found in a file or a log can be known for what it is."""

SECRET_BYTES = 32
"""256 bits; OWASP ASVS 5.0, 7.2.3, asks for 128 at least."""


@dataclass(frozen=True, slots=True)
class SignedIn:
    """An actor and what its credential is. `zone` is the pool's."""

    actor: Actor
    credential: Credential
    account: Account | None
    zone: str


def digest(secret: str) -> str:
    """What is kept of a secret. It has 256 random bits, so a fast digest is enough."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def make_credential(
    kind: str,
    *,
    now: Instant,
    expires_at: Instant,
    account: Id | None = None,
    name: str = "",
    role: Role | None = None,
    units: tuple[Id, ...] = (),
) -> tuple[Credential, str]:
    """A new credential and its secret, which is shown once and never kept."""
    secret = PREFIX[kind] + secrets.token_urlsafe(SECRET_BYTES)
    made = Credential(
        new_id(), kind, digest(secret), now, expires_at, account, name, role, tuple(units)
    )
    return made, secret


def identify(secret: str, kinds: tuple[str, ...], *, now: Instant) -> SignedIn:
    """Whom a secret stands for; NotSignedIn when it is unknown, ended, expired or of another kind.

    An account's role and units are those it has now, so a change of them holds at once.
    """
    kind = next((kind for kind in kinds if secret.startswith(PREFIX[kind])), None)
    found = sign_ins.find(digest(secret)) if kind else None
    if found is None or not compare_digest(found.credential.digest, digest(secret)):
        raise NotSignedIn("this sign-in is not known: sign in again")
    credential, account = found.credential, found.account
    if credential.kind != kind:
        raise NotSignedIn("this sign-in is not known: sign in again")
    if credential.ended_at is not None or (account and account.ended_at is not None):
        raise NotSignedIn("this sign-in was ended: sign in again, or ask the coordinator")
    if credential.expires_at <= now:
        raise NotSignedIn("this sign-in has run out: sign in again")
    role, units = (account.role, account.units) if account else (credential.role, credential.units)
    if role is None:
        raise NotSignedIn("this sign-in is not known: sign in again")
    actor = Actor(found.pool, role, account.id if account else None, units, credential.id)
    return SignedIn(actor, credential, account, found.zone)
