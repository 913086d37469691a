"""Answers that are the same for all who ask: drawn once, and kept while they stand."""

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any

from crossload.domain.window import Instant
from crossload.usecases.actor import Actor
from crossload.usecases.freshness import Tag, is_fresh

MOST = 16
"""How many are kept: a few pools, each with a few stretches of days that people look at."""

Answer = tuple[Any, Tag]


class Drawn:
    """One process's last answers. After a write all browsers ask at once, and one draws for all."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.answers: dict[Hashable, Answer] = {}

    def answer(
        self, key: Hashable, actor: Actor, now: Instant, draw: Callable[[], Answer]
    ) -> Answer:
        """The answer under a key, which names the pool; drawn where none stands any more."""
        found = self._standing(key, actor, now)
        if found is None:
            with self.lock:
                found = self._standing(key, actor, now)
                if found is None:
                    found = draw()
                    self._keep(key, found)
        return found

    def _standing(self, key: Hashable, actor: Actor, now: Instant) -> Answer | None:
        found = self.answers.get(key)
        return found if found and is_fresh(actor, found[1], now) else None

    def _keep(self, key: Hashable, answer: Answer) -> None:
        self.answers.pop(key, None)
        self.answers[key] = answer
        if len(self.answers) > MOST:
            del self.answers[next(iter(self.answers))]
