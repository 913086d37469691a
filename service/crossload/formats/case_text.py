"""The JSON text of a case: read member by member, with every fault named by its JSON pointer."""

import json
from collections.abc import Sequence
from typing import Any, NoReturn

from crossload.domain.instants import parse_instant, shown
from crossload.domain.window import Instant, Window

MOST = 2**53 - 1
"""The largest whole number that every JSON reader keeps exactly (RFC 8259 section 6)."""


class BadCase(Exception):
    """A case that cannot be read; `wrong` holds pairs of a JSON pointer and what to mend.

    An empty pointer speaks of the whole document.
    """

    def __init__(self, wrong: Sequence[tuple[str, str]]):
        self.wrong = list(wrong)
        super().__init__("; ".join(sentence for _, sentence in self.wrong))

    def problem(self) -> dict[str, Any]:
        """Problem details (RFC 9457), as the service words them for a body whose values fail."""
        first, more = self.wrong[0][1], len(self.wrong) - 1
        return {
            "type": "/problems/invalid",
            "title": "Some values do not hold",
            "status": 422,
            "detail": f"{first}; and {more} more" if more else first,
            "errors": [{"pointer": f"#{at}", "detail": sentence} for at, sentence in self.wrong],
        }


class Members:
    """The members of one JSON object at `pointer`; what is wrong with them is gathered in `wrong`.

    Each reading answers None for what is absent or wrong. Members that nobody asks for are left be.
    """

    def __init__(self, members: dict[str, Any], pointer: str, wrong: list[tuple[str, str]]):
        self._members, self._pointer, self._wrong = members, pointer, wrong

    def __contains__(self, name: str) -> bool:
        return name in self._members

    def fault(self, name: str, sentence: str) -> None:
        """Gather a fault of a member, or of the object itself where `name` is empty."""
        self._wrong.append((f"{self._pointer}/{name}" if name else self._pointer, sentence))

    def whole(self, name: str, least: int, most: int = MOST) -> int | None:
        """A whole number from `least` to `most`."""
        if not self._has(name, f"give a whole number from {least}"):
            return None
        value = self._members[name]
        if not isinstance(value, int) or isinstance(value, bool) or value < least:
            self.fault(name, f"{name} is {_said(value)}: give a whole number, {least} or more")
        elif value > most:
            self.fault(name, f"{name} is {_said(value)}: give {most} or less")
        else:
            return value
        return None

    def window(self) -> Window | None:
        """`start` and `end`, half-open."""
        start, end = self._instant("start"), self._instant("end")
        if start is None or end is None:
            return None
        if start >= end:
            self.fault("end", "end is not after start: give a later end, or an earlier start")
            return None
        return Window(start, end)

    def texts(self, name: str, least: int = 0) -> list[str]:
        """A list of texts, none twice; what is none, or comes again, is a fault and left out."""
        values = self._list(name, "texts")
        if values is not None and len(values) < least:
            self.fault(name, f"{name} is too short: give {least} or more")
        found: dict[str, None] = {}
        for index, value in enumerate(values or ()):
            if not isinstance(value, str):
                self.fault(f"{name}/{index}", f"{_said(value)} is no name: give a text")
            elif value in found:
                self.fault(f"{name}/{index}", f"{shown(value)} stands twice: give it once")
            else:
                found[value] = None
        return list(found)

    def objects(self, name: str) -> list["Members"]:
        """A list of objects; what is none is a fault and left out."""
        found: list[Members] = []
        for index, value in enumerate(self._list(name, "objects") or ()):
            if isinstance(value, dict):
                found.append(Members(value, f"{self._pointer}/{name}/{index}", self._wrong))
            else:
                self.fault(f"{name}/{index}", f"{_said(value)} is no object: write {{…}}")
        return found

    def _instant(self, name: str) -> Instant | None:
        like = "write it like 2026-11-26T06:00:00Z"
        if not self._has(name, like):
            return None
        value = self._members[name]
        if not isinstance(value, str):
            self.fault(name, f"{name} is {_said(value)}, which is not an instant: {like}")
            return None
        try:
            return parse_instant(value)
        except ValueError as error:
            self.fault(name, str(error))
            return None

    def _list(self, name: str, of: str) -> list[Any] | None:
        if not self._has(name, f"give a list of {of}"):
            return None
        value = self._members[name]
        if isinstance(value, list):
            return value
        self.fault(name, f"{name} is {_said(value)}: give a list of {of}")
        return None

    def _has(self, name: str, mend: str) -> bool:
        if name not in self._members:
            self.fault(name, f"{name} is missing: {mend}")
            return False
        return True


def read_case(raw: str | bytes, wrong: list[tuple[str, str]]) -> Members:
    """The members of the document; BadCase when it is not one JSON object in UTF-8."""
    value = _read_json(raw)
    if not isinstance(value, dict):
        raise BadCase([("", f"the case is {_said(value)}: give one JSON object")])
    return Members(value, "", wrong)


def _read_json(raw: str | bytes) -> Any:
    try:
        text = raw.decode("utf-8-sig") if isinstance(raw, bytes) else raw
        return json.loads(text, parse_constant=_no_constant, object_pairs_hook=_told_once)
    except UnicodeDecodeError as error:
        sentence = f"the case is not UTF-8 at byte {error.start}: save it as UTF-8"
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        sentence = f"the case is not JSON: {error.msg} at {where}"
    except RecursionError:
        sentence = "the case nests too deep: write it flatter"
    except ValueError as error:  # ours, below, or a whole number of thousands of digits
        sentence = str(error)
    raise BadCase([("", sentence)])


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no JSON number: give a number")


def _told_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object; RFC 8259 section 4 leaves open what a name that comes twice would mean."""
    made = dict(pairs)
    if len(made) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"the member {shown(twice)} stands twice in one object: give it once")
    return made


def _said(value: Any) -> str:
    """A value in few words, for a sentence that refuses it."""
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "an object"
    return shown(json.dumps(value, ensure_ascii=False))
