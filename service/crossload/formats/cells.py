"""What one cell means: days, times, spans of time, yes or no, words out of a list, plain text."""

import re
from collections.abc import Mapping
from datetime import date, time
from decimal import Decimal
from typing import TypeVar

from crossload.domain.instants import parse_day, parse_wall_time, shown
from crossload.domain.names import one_line
from crossload.formats.numerals import parse_number, within

T = TypeVar("T")

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

_ISO_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00)?)?")
_LOCAL_DAY = re.compile(r"(\d{1,2})([/.\-])(\d{1,2})\2(\d{4}|\d{2})")
_NAMED_DAY = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ .\-]*([a-z]{3,9})\.?[ \-]*,? ?(\d{4}|\d{2})")
_WEEKDAY = re.compile(r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[,.]?\s+")
_CLOCK = re.compile(r"(\d{1,2})(?:[:.h](\d{2}))?(?::(\d{2}))?\s*(?:([ap])\.?m\.?)?")
_HOURS_MINUTES = re.compile(r"(\d{1,3})\s*(?::|h)\s*(\d{2})")
_PARTS = re.compile(
    r"(?:(?P<h>[\d.,]+)\s*(?:hours|hour|hrs|hr|h))?\s*"
    r"(?:(?P<min>[\d.,]+)\s*(?:minutes|minute|mins|min|m))?\s*"
    r"(?:(?P<s>\d+)\s*(?:seconds|second|secs|sec|s))?"
)

YES_NO = {
    **dict.fromkeys(("yes", "y", "true", "1", "x", "✓", "✔"), True),
    **dict.fromkeys(("no", "n", "false", "0", "-", "–"), False),
}


def plain(header: str) -> str:
    """A word or header without case, punctuation and spare spaces."""
    return " ".join(re.sub(r"[^\w]|_", " ", header.casefold()).split())


def parse_text(text: str, *, longest: int = 200) -> str:
    """One line of text, of so many characters at most."""
    line = one_line(text)
    if len(line) > longest:
        raise ValueError(f"has {len(line)} characters: {longest} are kept at most")
    return line


def parse_yes_no(text: str) -> bool:
    """True or False for a word of `YES_NO`, whatever its case."""
    return parse_word(text, YES_NO, "yes or no")


def parse_word(text: str, words: Mapping[str, T], such: str) -> T:
    """What one of the known words stands for; `such` tells the reader which there are."""
    key = text.strip().casefold()
    if key in words:
        return words[key]
    if plain(text) in words:
        return words[plain(text)]
    raise ValueError(f"{shown(text)} is not known here: write {such}")


def parse_date(text: str) -> date:
    """A day: ISO, day/month/year with `/`, `.` or `-`, or with the month's English name."""
    bare = _WEEKDAY.sub("", one_line(text).casefold(), count=1)
    if match := _ISO_DAY.fullmatch(bare):
        year, month, day = match.groups()
    elif match := _LOCAL_DAY.fullmatch(bare):
        day, _, month, year = match.groups()
    elif (match := _NAMED_DAY.fullmatch(bare)) and match[2][:3] in MONTHS:
        day, month, year = match[1], str(MONTHS.index(match[2][:3]) + 1), match[3]
    else:
        raise ValueError(f"{shown(text)} is not a date: write it like 26/11/2026 or 2026-11-26")
    try:
        return parse_day(f"{year if len(year) == 4 else '20' + year}-{month:0>2}-{day:0>2}")
    except ValueError as error:
        if int(month) > 12 >= int(day):
            raise ValueError(
                f"{shown(text)} has month {month}: the day comes first, 26/11/2026"
            ) from None
        raise ValueError(str(error)) from None


def parse_time(text: str) -> time:
    """A time of day: 07:30, 7.30, 0730, 7h30, 7:30 pm."""
    bare = text.strip().casefold()
    if re.fullmatch(r"\d{3,4}", bare):
        bare = f"{bare[:-2]}:{bare[-2:]}"
    match = _CLOCK.fullmatch(bare)
    if match is None or not (match[2] or match[4]):
        raise ValueError(f"{shown(text)} is not a time of day: write it like 06:00")
    hour, minute, second, half = match.groups()
    if half:
        if not 1 <= int(hour) <= 12:
            raise ValueError(f"{shown(text)} is not a time of day: write it like 18:00")
        hour = str(int(hour) % 12 + (12 if half == "p" else 0))
    return parse_wall_time(f"{hour:0>2}:{minute or '00'}:{second or '00'}")


def parse_span(text: str, *, high: int = 30 * 86_400) -> int:
    """A span of time in whole seconds: minutes as they are, `1 h 30 min`, `1:30`, `90 s`."""
    bare = one_line(text).casefold()
    if clock := _HOURS_MINUTES.fullmatch(bare):
        seconds = Decimal(clock[1]) * 3600 + Decimal(clock[2]) * 60
    elif re.fullmatch(r"[+\-−]?[\d.,]+", bare):
        seconds = parse_number(text, grouped=False) * 60
    elif (match := _PARTS.fullmatch(bare)) and any(match.groups()):
        hours, minutes, rest = (parse_number(part or "0", grouped=False) for part in match.groups())
        seconds = hours * 3600 + minutes * 60 + rest
    else:
        raise ValueError(f"{shown(text)} is not a time span: give minutes, or 1 h 30 min")
    if seconds > high:
        raise ValueError(f"{shown(text)} is longer than {high // 86_400} days: give minutes")
    if within(seconds, text, 0, high) != seconds.to_integral_value():
        raise ValueError(f"{shown(text)} is not in whole seconds")
    return int(seconds)


def span_cell(seconds: int) -> int | str | None:
    """What `parse_span` reads back: minutes where they are whole, else seconds with their unit."""
    if seconds == 0:
        return None
    return f"{seconds} s" if seconds % 60 else seconds // 60
