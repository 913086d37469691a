"""Reminders that were told, and what became of them."""

from crossload.domain.window import Id


class Reminders:
    def __init__(self, pool: Id):
        self.pool = pool
