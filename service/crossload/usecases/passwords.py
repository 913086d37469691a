"""Passwords: how they are kept, and which are taken."""

import secrets
import unicodedata
from functools import lru_cache
from itertools import pairwise
from threading import BoundedSemaphore

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from crossload.usecases.errors import Invalid

LEAST, MOST = 15, 128
"""NIST SP 800-63B-4 section 3.1.1.2: 15 at least where a password stands alone, 64 allowed."""

_HASHER = PasswordHasher(time_cost=2, memory_cost=19_456, parallelism=1)
"""Argon2id with 19 MiB, t=2, p=1: OWASP Password Storage Cheat Sheet."""

_ROWS = "qwertyuiop asdfghjkl zxcvbnm qwertzuiop yxcvbnm azertyuiop wxcvbn 7890"

_TURNS = BoundedSemaphore(2)
"""Two at a time: a burst of sign-ins must not take the machine's memory or both its cores."""


def make_hash(password: str) -> str:
    """What is kept of a password, with a salt of its own."""
    with _TURNS:
        return _HASHER.hash(_normal(password))


def matches(kept: str, password: str) -> bool:
    """Whether the password is the kept one. An empty hash matches none, in the same time."""
    with _TURNS:
        try:
            return _HASHER.verify(kept or _nobody(), _normal(password)) and bool(kept)
        except (VerificationError, InvalidHashError):
            return False


def check_password(password: str, login: str, pointer: str = "/password") -> None:
    """Invalid for a password that is too short, too long, or too easily guessed."""
    text = _normal(password)
    if len(text) < LEAST:
        said = f"a password has {LEAST} characters at least: four words in a row do"
    elif len(text) > MOST:
        said = f"a password has {MOST} characters at most"
    elif len(set(text)) < 5:
        said = "this password repeats too few characters: four words in a row do"
    elif _is_a_run(text):
        said = "this password runs along the keyboard or counts on: four words in a row do"
    elif login and text.casefold().replace(login.casefold(), "") == "":
        said = "this password is the sign-in name: take another"
    else:
        return
    raise Invalid([(pointer, said)])


def _is_a_run(text: str) -> bool:
    """Whether nearly every character is the neighbour of the one before it, or the same."""
    low = text.casefold()
    near = sum(
        abs(ord(one) - ord(next_one)) <= 1 or one + next_one in _ROWS or next_one + one in _ROWS
        for one, next_one in pairwise(low)
    )
    return near >= 0.8 * (len(low) - 1)


def _normal(password: str) -> str:
    """One spelling for what keyboards write differently."""
    return unicodedata.normalize("NFC", password)


@lru_cache(maxsize=1)
def _nobody() -> str:
    """A hash that no password has, so that an unknown name takes as long as a known one."""
    return _HASHER.hash(secrets.token_hex(16))
