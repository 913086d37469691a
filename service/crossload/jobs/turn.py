"""Whose turn it is: one scheduler at a time works, the others stand by."""

import os
import secrets
import socket
import threading
import time

import structlog

from crossload.usecases import lease
from crossload.usecases.errors import DatabaseUnavailable


class Turn:
    """This process's share in the lease. `keep` asks the database, `holds` only remembers."""

    def __init__(self, lease_s: float):
        self.lease_s = lease_s
        self.holder = f"{socket.gethostname()} {os.getpid()} {secrets.token_hex(4)}"
        self._fence: int | None = None
        self._until = 0.0
        self._lock = threading.Lock()

    @property
    def holds(self) -> bool:
        """True while the lease cannot have gone to another.

        A process that was frozen finds its time over, whatever it held before.
        """
        return self._fence is not None and time.monotonic() < self._until

    def keep(self) -> bool:
        """Hold the lease for longer, or take it if it is free; True when this process holds it."""
        with self._lock:
            asked = time.monotonic()
            if self._fence is not None and not lease.renew(self.holder, self._fence, self.lease_s):
                structlog.get_logger().warning("lease lost", fence=self._fence)
                self._fence = None
            elif self._fence is None:
                self._fence = lease.take(self.holder, self.lease_s)
                if self._fence is not None:
                    structlog.get_logger().info("lease taken", fence=self._fence)
            self._until = asked + self.lease_s
            return self._fence is not None

    def give_up(self) -> None:
        """Let the next one begin at once."""
        with self._lock:
            fence, self._fence = self._fence, None
            if fence is None:
                return
            try:
                lease.give_up(self.holder, fence)
            except DatabaseUnavailable as error:
                structlog.get_logger().warning("lease runs out by itself", reason=str(error))
