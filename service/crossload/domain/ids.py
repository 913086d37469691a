"""How an id is written: 13 characters that sort as the numbers do."""

from crossload.domain.window import Id

ALPHABET = "0123456789abcdefghjkmnpqrstvwxyz"
"""Crockford's 32 characters (from memory), without i, l, o and u, lower case."""

LENGTH = 13
_VALUE = {character: value for value, character in enumerate(ALPHABET)}


def to_text(id: Id) -> str:
    """The id as 13 characters; text order is number order."""
    return "".join(ALPHABET[id >> 5 * place & 31] for place in range(LENGTH - 1, -1, -1))


def from_text(text: str) -> Id:
    """The id that `text` writes; ValueError when it is none."""
    if len(text) != LENGTH or not set(text) <= _VALUE.keys():
        raise ValueError(f"an id is {LENGTH} characters of 0-9 and a-z without i, l, o and u")
    number = 0
    for character in text:
        number = number << 5 | _VALUE[character]
    if number >= 1 << 63:
        raise ValueError("an id is below 2^63")
    return Id(number)
