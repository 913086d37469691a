"""Who runs the scheduler: the one process that holds its lease."""

from crossload.storage import leases

NAME = "scheduler"


def take(holder: str, lease_s: float) -> int | None:
    """Take the lease if nobody holds it; answers its fence, None where somebody does."""
    return leases.take(NAME, holder, _ms(lease_s))


def renew(holder: str, fence: int, lease_s: float) -> bool:
    """Hold it for longer; False when somebody else has taken it meanwhile."""
    return leases.renew(NAME, holder, fence, _ms(lease_s))


def give_up(holder: str, fence: int) -> None:
    """Let the next one take it at once."""
    leases.give_up(NAME, holder, fence)


def _ms(seconds: float) -> int:
    return round(seconds * 1000)
