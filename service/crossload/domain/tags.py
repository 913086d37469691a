"""Tags for kit: short, fit for cold hands and bad lines, with a check character.

A tag is written K7PK-3: four characters and, after a dash, the check of ISO 7064 mod 37,2 over 0-9
and A-Z, which finds every wrong character and every swap of two (neighbours or next but one). It
begins with a letter. Characters that print or sound too much alike are left out of what is made, in
the check as well, so a tag is written in one of sixteen characters throughout, and `*`, the
thirty-seventh check, never arises. Past 19,489 tags the next ones have a character more.

What an owner has already put on a piece is kept and scans as it is. So look a scanned text up among
the kept codes first, take it for a tag only where it is none of them, and give out no tag that is a
kept code.
"""

from functools import lru_cache

from crossload.domain.instants import shown

ALPHABET = "34679ACFHKMPRWXY"
"""Without 0 O Q D, 1 I L, 2 Z, 5 S, 8 B, 6's G, U V, and of those that rhyme B D E G T V, J, N."""

_FIRST = "ACFHKMPRWXY"
_VALUES = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_MODULUS, _RADIX = 37, 2
_SHORTEST, _LONGEST = 4, 6
_TO_DASH = dict.fromkeys(map(ord, "-‐‑‒–—−_"), "-")


def check_character(payload: str) -> str:
    """The check of ISO 7064 mod 37,2 for characters of 0-9 and A-Z; it can be `*`."""
    return _VALUES[(1 - _RADIX * _remainder(payload)) % _MODULUS]


def is_checked(text: str) -> bool:
    """True when the last character is the check of those before it."""
    return len(text) > 1 and set(text) <= set(_VALUES) and _remainder(text) == 1


def make_tag(serial: int) -> str:
    """The tag of a serial, 0 or more; no two serials have the same one."""
    if serial < 0:
        raise ValueError("serials of tags begin at 0")
    for length in range(_SHORTEST, _LONGEST + 1):
        count = _count_from("", length)
        if serial < count:
            return _spell(serial, length)
        serial -= count
    raise ValueError("all tags are given out")


def check_tag(text: str) -> str:
    """The tag as it is written, from what somebody typed or scanned: case, spaces and dashes aside.

    ValueError names a mistyped one and says what gives it away.
    """
    bare = _bare(text)
    if not _shaped(bare):
        raise ValueError(f"{shown(text.strip())} is not a tag: a tag is written like {make_tag(0)}")
    name = _written(bare) if looks_like_tag(text) else text.strip()
    strange = [character for character in bare if character not in ALPHABET]
    if strange:
        raise ValueError(f"{name} is not a tag: no tag has {strange[0]} in it, read it again")
    if not is_checked(bare):
        raise ValueError(
            f"{name} is not a tag: one character is wrong or two have changed places, read it again"
        )
    return _written(bare)


def is_made(tag: str) -> bool:
    """True for a tag as it is made here, written in its one way."""
    try:
        return check_tag(tag) == tag
    except ValueError:
        return False


def looks_like_tag(text: str) -> bool:
    """True for what was meant as one of our tags, rightly typed or not.

    An owner's number can look so too (see the head of this module), but never one of digits alone,
    or with a dash in another place.
    """
    parts = text.translate(_TO_DASH).strip().split("-")
    in_place = len(parts) == 1 or (len(parts) == 2 and len(parts[1].strip()) == 1)
    return in_place and _shaped(_bare(text))


def kept_code(text: str) -> str:
    """An owner's number or barcode as it is kept and looked up: what a scanner adds falls away.

    Case, dashes and inner spaces stay: they are the owner's.
    """
    return "".join(character for character in text if character.isprintable()).strip()


def bare_code(text: str) -> str:
    """An owner's code without what people leave out when they type it: case, spaces and hyphens."""
    return "".join(text.translate(_TO_DASH).replace("-", " ").split()).lower()


def _bare(text: str) -> str:
    bare = "".join(text.translate(_TO_DASH).replace("-", " ").split())
    return bare.upper() if bare.isascii() else bare


def _shaped(bare: str) -> bool:
    lengths = range(_SHORTEST + 1, _LONGEST + 2)
    return bare.isascii() and bare.isalnum() and len(bare) in lengths and bare[0].isalpha()


def _written(bare: str) -> str:
    return f"{bare[:-1]}-{bare[-1]}"


def _remainder(text: str) -> int:
    remainder = 0
    for character in text:
        remainder = (_RADIX * remainder + _VALUES.index(character)) % _MODULUS
    return remainder


def _spell(serial: int, length: int) -> str:
    """The tag that has `serial` others of its length before it."""
    payload = ""
    while len(payload) < length:
        for character in ALPHABET if payload else _FIRST:
            count = _count_from(payload + character, length)
            if serial < count:
                payload += character
                break
            serial -= count
    return f"{payload}-{check_character(payload)}"


def _count_from(payload: str, length: int) -> int:
    """How many tags of a length begin with `payload`."""
    if not payload:
        return sum(_count_from(character, length) for character in _FIRST)
    return _count(_remainder(payload), length - len(payload))


@lru_cache(maxsize=512)
def _count(remainder: int, ahead: int) -> int:
    if ahead == 0:
        return int(_VALUES[(1 - _RADIX * remainder) % _MODULUS] in ALPHABET)
    return sum(
        _count((_RADIX * remainder + _VALUES.index(character)) % _MODULUS, ahead - 1)
        for character in ALPHABET
    )
