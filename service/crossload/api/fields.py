"""The fields of every schema: shape and bounds, with sentences that say what to mend."""

import unicodedata
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any, Literal, TypeVar

from marshmallow import Schema, ValidationError, fields, validate

from crossload.api import session
from crossload.domain import ids
from crossload.domain.instants import format_instant, parse_day, parse_instant, parse_wall_time
from crossload.domain.window import FOREVER, Id, Instant
from crossload.domain.zones import wall_to_instant

T = TypeVar("T")

MOST = 2**53 - 1
"""The greatest integer that every JSON reader keeps exactly (RFC 8259 section 6)."""

LEAST = -100_000_000
"""The least that a free number can be: so far below nothing facts can put it."""

SAID: dict[str, Any] = {
    "required": "this is missing",
    "null": "this cannot be null",
    "invalid": "this has the wrong form",
    "type": "an object belongs here",
    "unknown": "there is no field of this name here",
}
SAID_OF_LISTS: dict[str, Any] = {**SAID, "invalid": "a list belongs here"}


class Shape(Schema):
    """The base of every schema: members in order, unknown ones refused by name."""

    error_messages = SAID


class _Plain(fields.Field[Any]):
    """What the fields below share: our sentences, and what OpenAPI is told of each."""

    default_error_messages = SAID

    def _tell(self, **told: Any) -> None:
        self.metadata = {**told, **self.metadata}


class Text(_Plain):
    """Text that can be kept and shown: no control characters, no halves of characters.

    It is trimmed and brought to NFC. `lines` lets line breaks and tabs through.
    """

    def __init__(self, most: int = 200, *, least: int = 0, lines: bool = False, **options: Any):
        self.most, self.least, self.lines = most, least, lines
        super().__init__(**options)
        self._tell(maxLength=most, **({"minLength": least} if least else {}))

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else str(value)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise ValidationError("text belongs here")
        if any("\ud800" <= character <= "\udfff" for character in value):
            raise ValidationError("this holds half a character (a lone surrogate): write it anew")
        text = unicodedata.normalize("NFC", value).strip()
        if self.lines:
            text = text.replace("\r\n", "\n")
        allowed = "\n\t" if self.lines else ""
        if any(unicodedata.category(c) == "Cc" and c not in allowed for c in text):
            raise ValidationError("this holds a control character: write it again without")
        if len(text) > self.most:
            raise ValidationError(f"this has {_characters(len(text))}: the most is {self.most}")
        if len(text) < self.least:
            few = "this is empty" if not text else f"this has {_characters(len(text))}"
            raise ValidationError(f"{few}: the least is {self.least}")
        return text


def _characters(number: int) -> str:
    return "1 character" if number == 1 else f"{number} characters"


class Int(_Plain):
    """A whole number between bounds. In a query it is digits; in JSON never text or a fraction."""

    def __init__(self, least: int = 0, most: int = MOST, *, query: bool = False, **options: Any):
        self.least, self.most, self.query = least, most, query
        super().__init__(**options)
        self._tell(minimum=least, maximum=most)

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> int | None:
        return None if value is None else int(value)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> int:
        if self.query and isinstance(value, str):
            digits = value.removeprefix("-")
            if not (digits.isascii() and digits.isdigit() and len(digits) < 17):
                raise ValidationError("a whole number belongs here")
            value = int(value)
        if isinstance(value, float) and value.is_integer() and abs(value) <= MOST:
            value = int(value)  # JSON knows one kind of number: 3.0 is 3
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValidationError("a whole number belongs here")
        if not self.least <= value <= self.most:
            raise ValidationError(f"this is {self.least} to {self.most}")
        return value


class Flag(_Plain):
    """true or false; in a query the words."""

    def __init__(self, *, query: bool = False, **options: Any):
        self.words: dict[Any, bool] = {"true": True, "false": False} if query else {}
        super().__init__(**options)

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> bool | None:
        return None if value is None else bool(value)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> bool:
        found = self.words.get(value) if isinstance(value, str) else value
        if not isinstance(found, bool):
            raise ValidationError("true or false belongs here")
        return found


class IdField(_Plain):
    """An id: a number inside, 13 characters in JSON."""

    def __init__(self, **options: Any):
        super().__init__(**options)
        self._tell(pattern=f"^[{ids.ALPHABET}]{{{ids.LENGTH}}}$")

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else ids.to_text(value)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Id:
        if not isinstance(value, str):
            raise ValidationError("an id belongs here, as text")
        return _or_invalid(ids.from_text, value)


class InstantField(_Plain):
    """An instant: seconds inside; RFC 3339 out, with the pool's offset; null stands for FOREVER.

    In comes RFC 3339 or {"day", "time"}, the pool's wall time. `edge` says which end of a window
    it is, for the hour that comes twice; a time that the clocks leave out is refused.
    """

    def __init__(self, edge: Literal["start", "end"] = "start", **options: Any):
        self.edge: Literal["start", "end"] = edge
        super().__init__(**options)
        self._tell(oneOf=[_RFC_3339, _WALL, *([_NULL] if self.allow_none else [])])

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return _told(value)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Instant:
        if isinstance(value, str):
            return _or_invalid(parse_instant, value)
        if isinstance(value, Mapping) and set(value) == {"day", "time"}:
            day, time = value["day"], value["time"]
            if isinstance(day, str) and isinstance(time, str):
                return _or_invalid(self._of_wall, day, time)
        raise ValidationError(
            'an instant belongs here: text such as "2026-11-26T06:00:00+01:00",'
            ' or {"day": "2026-11-26", "time": "06:00"}'
        )

    def _of_wall(self, day: str, time: str) -> Instant:
        wall = parse_wall_time(time)
        return wall_to_instant(parse_day(day), wall, session.zone(), edge=self.edge)


def _told(value: Instant | None) -> str | None:
    if value is None or value >= FOREVER:
        return None
    return format_instant(value, session.zone())


_NULL = {"type": "null"}
_RFC_3339 = {"type": "string", "format": "date-time"}
_WALL = {
    "type": "object",
    "properties": {"day": {"type": "string", "format": "date"}, "time": {"type": "string"}},
    "required": ["day", "time"],
    "additionalProperties": False,
}


class Moment(_Plain):
    """An instant that only goes out; null stands for FOREVER."""

    def __init__(self, **options: Any):
        super().__init__(dump_only=True, **options)
        self._tell(format="date-time")

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return _told(value)


class DayField(_Plain):
    """A local date, YYYY-MM-DD."""

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else value.isoformat()

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> date:
        if not isinstance(value, str):
            raise ValidationError("a date belongs here, such as 2026-11-26")
        return _or_invalid(parse_day, value)


class Word(_Plain):
    """One word of a fixed list; an enumeration gives its members."""

    def __init__(self, words: Any, **options: Any):
        self.words = {str(word): word for word in words}
        super().__init__(**options)
        self._tell(enum=[*self.words, *([None] if self.allow_none else [])])

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else str(value)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str) or value not in self.words:
            raise ValidationError(f"this is one of {', '.join(self.words)}")
        return self.words[value]


class TextMap(_Plain):
    """An object whose members are short texts, such as notes; of the `names` alone where given.

    Empty texts are left out.
    """

    def __init__(
        self, longest: int = 200, *, names: Sequence[str] | None = None, most: int = 50,
        lines: bool = False, **options: Any,
    ):  # fmt: skip
        self.names, self.most = names, most
        self._text, self._name = Text(longest, lines=lines), Text(100, least=1)
        super().__init__(**options)
        member = {"type": "string", "maxLength": longest}
        if names is None:
            self._tell(additionalProperties=member, maxProperties=most)
        else:
            self._tell(properties=dict.fromkeys(names, member), additionalProperties=False)

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> dict[str, str] | None:
        return None if value is None else dict(value)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> dict[str, str]:
        if not isinstance(value, Mapping):
            raise ValidationError("an object belongs here")
        if len(value) > self.most:
            raise ValidationError(f"this has {len(value)} members: the most is {self.most}")
        read: dict[str, str] = {}
        wrong: dict[str, Any] = {}
        for name, text in value.items():
            try:
                read[self._known(name)] = str(self._text.deserialize(text))
            except ValidationError as error:
                wrong[str(name)] = error.messages
        if wrong:
            raise ValidationError(wrong)
        return {name: text for name, text in read.items() if text}

    def _known(self, name: str) -> str:
        if self.names is not None and name not in self.names:
            raise ValidationError(f"the name is one of {', '.join(self.names)}")
        known: str = self._name.deserialize(name)
        return known


class ListOf(fields.List[Any]):
    """A list of at most `most`; one that could be endless is refused."""

    default_error_messages = SAID_OF_LISTS

    def __init__(self, inner: Any, most: int = 500, *, least: int = 0, **options: Any):
        said = f"this list has {least} to {most} entries"
        bound = validate.Length(min=least or None, max=most, error=said)
        super().__init__(inner, validate=bound, **options)


class Inside(fields.Nested):
    """An object in an object."""

    default_error_messages = SAID


def _or_invalid(read: Callable[..., T], *values: Any) -> T:
    """The domain's parser, with its sentence as the field's."""
    try:
        return read(*values)
    except ValueError as error:
        raise ValidationError(str(error)) from error


OPENAPI_TYPES: dict[type[_Plain], str | None] = {
    Text: "string", Int: "integer", Flag: "boolean", IdField: "string",
    InstantField: None, Moment: "string", DayField: "string", Word: "string", TextMap: "object",
}  # fmt: skip
"""How `api.openapi` documents each; None where the field's own metadata says it all."""
