"""Who may do what: accounts, credentials, roles, and the table of verbs."""

from dataclasses import dataclass
from enum import StrEnum

from crossload.domain.window import Id, Instant


class Role(StrEnum):
    COORDINATOR = "coordinator"
    MIXER = "mixer"
    ASSISTANT = "assistant"
    SUPERVISOR = "supervisor"
    WALL = "wall"


class Reach(StrEnum):
    """How far a role's verb goes."""

    ALL = "all"
    OWN = "own units"
    NONE = "none"


_A, _O, _N = Reach.ALL, Reach.OWN, Reach.NONE

PERMISSIONS: dict[str, dict[Role, Reach]] = {
    verb: dict(zip(Role, reaches, strict=True))
    for verb, reaches in {
        # verb                coordinator mixer assistant supervisor wall
        "read": (_A, _A, _A, _A, _A),
        "book": (_A, _O, _N, _N, _N),
        "confirm": (_A, _O, _N, _N, _N),
        "change a booking": (_A, _O, _N, _N, _N),
        "release": (_A, _O, _N, _N, _N),
        "override pencils": (_A, _N, _N, _N, _N),
        "hand out and take back": (_A, _O, _A, _N, _N),
        "answer a reminder": (_A, _A, _A, _N, _N),
        "take out of service": (_A, _O, _A, _N, _N),
        "change kit": (_A, _N, _N, _N, _N),
        "change shoot days": (_A, _O, _N, _N, _N),
        "change people": (_A, _N, _N, _N, _N),
        "change the pool": (_A, _N, _N, _N, _N),
        "import": (_A, _N, _N, _N, _N),
        "export": (_A, _A, _A, _A, _N),
        "read the journal": (_A, _O, _N, _N, _N),
        "make tokens": (_A, _O, _O, _O, _N),
        "make wall links": (_A, _N, _N, _N, _N),
        "manage accounts": (_A, _N, _N, _N, _N),
    }.items()
}
"""Verbs × roles. DEVELOPERS.md shows the same table, and a test compares them."""


@dataclass(frozen=True, slots=True)
class Account:
    """Somebody who signs in."""

    id: Id
    login: str
    name: str
    role: Role
    units: tuple[Id, ...] = ()
    password_hash: str = ""
    person: Id | None = None
    demo: bool = False
    ended_at: Instant | None = None
    version: int = 1


@dataclass(frozen=True, slots=True)
class Credential:
    """A session, an API token, a wall link or an invitation; only its digest is kept."""

    id: Id
    kind: str
    digest: str
    created_at: Instant
    expires_at: Instant
    account: Id | None = None
    name: str = ""
    role: Role | None = None
    units: tuple[Id, ...] = ()
    ended_at: Instant | None = None
