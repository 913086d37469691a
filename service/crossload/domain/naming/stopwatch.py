"""How long a search may still run."""

from time import monotonic


class Undecided(Exception):
    """A search met its limit before it could tell yes from no."""


class Stopwatch:
    """Counts one limit down over several searches. It measures a span and never tells the time."""

    def __init__(self, limit_s: float) -> None:
        self._until = monotonic() + limit_s

    def left_s(self) -> float:
        """Seconds left; Undecided when there are none."""
        left = self._until - monotonic()
        if left <= 0:
            raise Undecided
        return left
