"""Half-open spans of time in whole UTC seconds."""

from collections.abc import Iterable
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

    @property
    def length_s(self) -> int:
        """Seconds from start to end, at least one."""
        return self.end - self.start


def joined(spans: Iterable[tuple[Instant, Instant]]) -> list[tuple[Instant, Instant]]:
    """Spans (start, end) in order, without empty ones, one where some touch or overlap."""
    found: list[tuple[Instant, Instant]] = []
    for start, end in sorted(span for span in spans if span[0] < span[1]):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return found


def clipped(spans: Iterable[tuple[Instant, Instant]], window: Window) -> list[Window]:
    """What of the window the spans cover, as windows in order that neither overlap nor touch."""
    inside = ((max(start, window.start), min(end, window.end)) for start, end in spans)
    return [Window(start, end) for start, end in joined(inside)]


def merged(windows: Iterable[Window]) -> list[Window]:
    """The same instants as windows in order that neither overlap nor touch."""
    spans = joined((window.start, window.end) for window in windows)
    return [Window(start, end) for start, end in spans]
