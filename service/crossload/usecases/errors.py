"""What a use-case says when it cannot do what was asked: each text is the sentence to show."""

from collections.abc import Sequence
from typing import Any

from crossload.storage.database import DatabaseDamaged, DatabaseUnavailable
from crossload.storage.migrate import DatabaseTooNew, DatabaseTooOld

__all__ = [
    "Conflict",
    "DatabaseDamaged",
    "DatabaseTooNew",
    "DatabaseTooOld",
    "DatabaseUnavailable",
    "Forbidden",
    "Invalid",
    "KeyReused",
    "NotFound",
    "NotSignedIn",
    "Refusal",
    "Stale",
    "TooManyTries",
]


class Refusal(Exception):
    """Nothing was changed; the text says why and what to mend."""


class NotSignedIn(Refusal):
    """Nobody is signed in, or what was shown is not valid (any more)."""


class Forbidden(Refusal):
    """The actor's role does not reach that far."""


class NotFound(Refusal):
    """This pool has no such thing, or it is another pool's, which is the same."""

    def __init__(self, what: str, sentence: str = ""):
        self.what = what
        super().__init__(sentence or f"this pool has no such {what}")


class Stale(Refusal):
    """The thing has changed since the asker read it."""

    def __init__(self, what: str):
        self.what = what
        super().__init__(f"this {what} has changed since you read it: read it again first")


class Invalid(Refusal):
    """Values that break a rule: `wrong` holds pairs such as ("/lines/0/quantity", sentence).

    An empty pointer speaks of the whole.
    """

    def __init__(self, wrong: Sequence[tuple[str, str]]):
        self.wrong = tuple(wrong)
        super().__init__("; ".join(sentence for _, sentence in self.wrong))


class Conflict(Refusal):
    """What is recorded stands against it. `members` go into the problem as they are.

    `kind` is the slug of the problem's type, where a stricter one than `conflict` fits.
    """

    def __init__(self, sentence: str, *, kind: str = "conflict", **members: Any):
        self.kind, self.members = kind, members
        super().__init__(sentence)


class KeyReused(Refusal):
    """An idempotency key that came before with another body."""

    def __init__(self) -> None:
        super().__init__("this Idempotency-Key came before with another body: make a new key")


class TooManyTries(Refusal):
    """Too many failed sign-ins; the next is looked at in `retry_after_s` seconds."""

    def __init__(self, retry_after_s: int):
        self.retry_after_s = retry_after_s
        minutes = -(-retry_after_s // 60)
        wait = "1 minute" if minutes == 1 else f"{minutes} minutes"
        super().__init__(f"too many failed sign-ins: wait {wait}, then try again")
