"""JSON in and out, once for all: what Python would take or write too freely stops here."""

import json
import math
from collections import Counter
from typing import Any, NoReturn

from flask.json.provider import JSONProvider

DEEPEST = 64
"""Our own bodies nest a handful deep; what recurses must not be led on."""

LONGEST = 400
"""Digits of a whole number; the largest float has 309, and reading many digits takes long."""


class JsonText(JSONProvider):
    """RFC 8259: no NaN, no Infinity, no number that no float holds, and not endlessly deep."""

    def dumps(self, obj: Any, **kwargs: Any) -> str:
        """Compact and in ASCII: a lone surrogate that is echoed leaves as an escape."""
        return json.dumps(obj, allow_nan=False, separators=(",", ":"), **kwargs)

    def loads(self, s: str | bytes, **kwargs: Any) -> Any:
        """ValueError says what to mend; the caller answers 400."""
        text = _decoded(s) if isinstance(s, bytes) else s
        if not text.strip():
            raise ValueError("the body is empty: send JSON")
        kwargs |= {"parse_constant": _no_constant, "parse_float": _finite, "parse_int": _whole}
        kwargs["object_pairs_hook"] = _each_once
        try:
            value = json.loads(text, **kwargs)
        except json.JSONDecodeError as error:
            where = f"line {error.lineno}, column {error.colno}"
            raise ValueError(f"the body is not JSON: {error.msg} at {where}") from error
        except RecursionError:
            raise ValueError(_TOO_DEEP) from None
        if _depth(value) > DEEPEST:
            raise ValueError(_TOO_DEEP)
        return value


_TOO_DEEP = f"the JSON nests deeper than {DEEPEST}: send it flatter"


def _decoded(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ValueError(f"the body is not UTF-8 at byte {error.start}: send UTF-8") from error


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no JSON number: send null for what is unknown")


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """RFC 8259 leaves open which of two members of one name counts, so neither does."""
    found = dict(pairs)
    if len(found) < len(pairs):
        counted = Counter(name for name, _ in pairs)
        twice = next(name for name, times in counted.items() if times > 1)
        raise ValueError(f"{twice[:40]!r} stands twice in one object: leave one out")
    return found


def _whole(text: str) -> int:
    if len(text) > LONGEST:
        raise ValueError(f"a number in the body has more than {LONGEST} digits: send a smaller one")
    return int(text)


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError("a number in the body is too large for a float: send a smaller one")
    return number


def _depth(value: Any) -> int:
    """How deep lists and objects nest, level by level and so without recursion."""
    depth, level = 0, [value]
    while level := [item for item in level if isinstance(item, dict | list)]:
        depth += 1
        if depth > DEEPEST:
            break
        level = [
            inner for item in level for inner in (item.values() if isinstance(item, dict) else item)
        ]
    return depth
