"""The one place where the program looks at the time."""

import time
from collections.abc import Callable

from crossload.domain.window import Instant

Clock = Callable[[], Instant]


def system_clock() -> Instant:
    """This machine's time, in whole seconds of UTC."""
    return int(time.time())
