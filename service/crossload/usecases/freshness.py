"""Whether an answer that depends on the clock and on others still stands."""

from dataclasses import dataclass

from crossload.domain.window import Instant
from crossload.usecases.actor import Actor
from crossload.usecases.transaction import read


@dataclass(frozen=True, slots=True)
class Tag:
    """What an answer was drawn from: it holds while the revision stands and until `until`."""

    revision: int
    until: Instant

    def __str__(self) -> str:
        return f"{self.revision}-{self.until}"

    @classmethod
    def read(cls, text: str) -> "Tag | None":
        """The tag that `str` wrote; None for any other text."""
        revision, dash, until = text.partition("-")
        if not (dash and revision.isdigit() and until.isdigit()) or len(text) > 40:
            return None
        return cls(int(revision), int(until))


def is_fresh(actor: Actor, tag: Tag, now: Instant) -> bool:
    """Whether what was drawn under `tag` still stands: one row is read, and the clock."""
    actor.must("read")
    if now >= tag.until:
        return False
    with read(actor.pool) as stores:
        return stores.header.revision == tag.revision
