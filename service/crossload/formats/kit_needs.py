"""Categories, what goes with what, and substitutes, as people write them in one cell."""

import csv
import difflib
import re

from crossload.domain.instants import shown
from crossload.domain.kit import TRAITS, Need
from crossload.domain.kit_list import CATEGORIES
from crossload.domain.names import one_line

_PART = re.compile(
    r"(?:(?P<before>\d+)\s*(?:x|×)?\s+)?(?P<category>[^\d()][^()]*?)"
    r"(?:\s+(?:x|×)?\s*(?P<after>\d+))?\s*(?:\((?P<match>[^()]*)\))?"
)


def _plurals(word: str) -> tuple[str, ...]:
    if word.endswith("y"):
        return (word, f"{word[:-1]}ies")
    return (word,) if word.endswith("s") else (word, f"{word}s", f"{word}es")


_KNOWN = {form: word for word in CATEGORIES for form in _plurals(word)}


def parse_category(text: str) -> str:
    """One of the known categories, singular or plural, or the house's own in small letters.

    ValueError where it is nearly a known one, which would else become another by a slip.
    """
    word = one_line(text).casefold()
    if word in _KNOWN:
        return _KNOWN[word]
    near = difflib.get_close_matches(word, CATEGORIES, n=1, cutoff=0.8)
    if near:
        raise ValueError(f"{shown(text)} is not a category: {near[0]} is, if that is meant")
    if len(word) > 60 or set(word) & set(";()") or word[-1:].isdigit() or word[:1].isdigit():
        raise ValueError(f"{shown(text)} is not a category: write a short word for one")
    return word


def parse_goes_with(text: str) -> tuple[Need, ...]:
    """`receiver 1 (range, mode); lavalier 1 (plug)`; without a number it is one."""
    parts = (part.strip() for part in re.split(r"[;\n]", text))
    return tuple(_need(part) for part in parts if part)


def _need(part: str) -> Need:
    match = _PART.fullmatch(part)
    if match is None or (match["before"] and match["after"]):
        raise ValueError(f"{shown(part)} is not clear: write it like receiver 1 (range, mode)")
    quantity = int((match["before"] or match["after"] or "1")[:9])
    if not 1 <= quantity <= 1000:
        raise ValueError(f"{shown(part)} has {quantity} of it: give 1 to 1,000")
    traits = tuple(
        one_line(trait).casefold() for trait in (match["match"] or "").split(",") if trait.strip()
    )
    for trait in traits:
        if trait not in TRAITS:
            raise ValueError(f"{shown(trait)} does not have to agree: {', '.join(TRAITS)} can")
    return Need(parse_category(match["category"]), quantity, traits)


def goes_with_cell(needs: tuple[Need, ...]) -> str:
    """What `parse_goes_with` reads back."""
    return "; ".join(
        f"{need.category} {need.quantity}" + (f" ({', '.join(need.match)})" if need.match else "")
        for need in needs
    )


def parse_names(text: str) -> tuple[str, ...]:
    """Names parted by `;` or on lines of their own; one that holds a `;` stands in `"`."""
    parted = csv.reader([text.replace("\n", ";")], delimiter=";", skipinitialspace=True)
    names = (one_line(name) for record in parted for name in record)
    return tuple(dict.fromkeys(name for name in names if name))


def names_cell(names: tuple[str, ...]) -> str:
    """What `parse_names` reads back."""
    doubled = (name.replace('"', '""') for name in names)
    return "; ".join(f'"{name}"' if set(name) & set(';"') else name for name in doubled)
