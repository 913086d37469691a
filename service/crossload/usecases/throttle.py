"""Sign-in is throttled, by name and by address."""

from ipaddress import IPv6Address, ip_address

from crossload.domain.window import Instant
from crossload.storage import sign_ins
from crossload.usecases.errors import TooManyTries

WINDOW_S = 900
MOST_OF_A_LOGIN = 10
MOST_OF_AN_ADDRESS = 50
"""A house of people can stand behind one address."""


def count_in(login: str, address: str, now: Instant) -> None:
    """Count a try before it is looked at, so that many at once are all counted.

    Raises TooManyTries when the name or the address has used up its tries of this window.
    """
    limits = ((_of_login(login), MOST_OF_A_LOGIN), (_of_address(address), MOST_OF_AN_ADDRESS))
    waits = []
    for subject, most in limits:
        tries, since = sign_ins.count_try(subject, now, WINDOW_S)
        if tries > most:
            waits.append(since + WINDOW_S - now)
    if waits:
        raise TooManyTries(max(1, *waits))


def forget(login: str, address: str, now: Instant) -> None:
    """The try was good: the name starts anew, and the address gets this one try back."""
    sign_ins.forgive_try(_of_address(address))
    sign_ins.forget_tries(_of_login(login), now - WINDOW_S)


def _of_login(login: str) -> str:
    return f"login {login[:64]}"


def _of_address(address: str) -> str:
    """One IPv6 network of 64 bits is one customer, whatever address in it is used."""
    try:
        number = ip_address(address.partition("%")[0])
    except ValueError:
        return f"address {address[:64]}"
    if isinstance(number, IPv6Address) and not number.ipv4_mapped:
        return f"address {IPv6Address(int(number) >> 64 << 64)}/64"
    return f"address {getattr(number, 'ipv4_mapped', None) or number}"
