"""Half-open spans of time in whole UTC seconds."""

from dataclasses import dataclass
from typing import NewType

FOREVER = 4_102_444_800
"""2100-01-01T00:00:00Z: the end of what lasts until further notice."""

EARLIEST = 946_684_800
"""2000-01-01T00:00:00Z: no instant before it is accepted."""

Instant = int
Id = NewType("Id", int)


@dataclass(frozen=True, slots=True, order=True)
class Window:
    """A half-open span of time, [start, end), in whole seconds of UTC since 1970.

    Instants are integers inside the service, as in both databases, so that a naive time cannot
    exist here: `domain.instants` refuses it at the edge.
    """

    start: Instant
    end: Instant

    def __post_init__(self) -> None:
        if self.start >= self.end:
            raise ValueError("a window ends after it starts")

    def overlaps(self, other: "Window") -> bool:
        """True when both hold some instant; windows back to back do not overlap."""
        return self.start < other.end and other.start < self.end

    def shifted(self, seconds: int) -> "Window":
        """The same length, later by so many seconds (earlier when negative)."""
        return Window(self.start + seconds, self.end + seconds)

    @property
    def length_s(self) -> int:
        return self.end - self.start
