"""Instants and days as text: RFC 3339 in, RFC 3339 out, whole seconds of UTC between."""

import calendar
import re
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from crossload.domain.window import EARLIEST, FOREVER, Instant

_DATE_TIME = re.compile(
    r"([0-9]{4})-([0-9]{2})-([0-9]{2})[Tt]([0-9]{2}):([0-9]{2}):([0-9]{2})"
    r"(\.[0-9]+)?(?:([Zz])|([+-])([0-9]{2}):([0-9]{2}))?"
)
_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_WALL = re.compile(r"([0-9]{2}):([0-9]{2})(?::([0-9]{2}))?")
_FIRST_DAY, _LAST_DAY = date(2000, 1, 1), date(2100, 1, 1)
_LIMITS = "it lies outside 2000-01-01 to 2100-01-01"


def shown(text: str) -> str:
    """What somebody wrote, short and printable, for a sentence that refuses it."""
    short = text if len(text) <= 40 else text[:40] + "…"
    return short if short.isprintable() and short else ascii(short)


def parse_instant(text: str) -> Instant:
    """Read one RFC 3339 date-time; ValueError says what to mend.

    T and Z may be small letters (RFC 3339 section 5.6); `-00:00` is UTC from an unknown place
    (section 4.3). Stricter than the RFC in two things: no fraction and no second 60, since
    instants are whole seconds and UTC counts none for a leap second.
    """
    match = _DATE_TIME.fullmatch(text)
    if match is None:
        raise ValueError(_misshapen(text))
    year, month, day, hour, minute, second = (int(part) for part in match.group(1, 2, 3, 4, 5, 6))
    if match[7]:
        raise ValueError(f"{shown(text)} has a fraction of a second: give whole seconds")
    if not (match[8] or match[9]):
        raise ValueError(f"{shown(text)} has no offset: add Z, or one such as +01:00")
    _check_clock(text, hour, minute, second)
    _check_day(text, year, month, day)
    offset_h, offset_min = (int(match[10]), int(match[11])) if match[9] else (0, 0)
    if offset_h > 23 or offset_min > 59:
        raise ValueError(f"{shown(text)} has no such offset: the most is 23:59")
    offset_s = (offset_h * 60 + offset_min) * (-60 if match[9] == "-" else 60)
    instant = calendar.timegm((year, month, day, hour, minute, second)) - offset_s
    if not EARLIEST <= instant <= FOREVER:
        raise ValueError(f"{shown(text)} cannot be kept: {_LIMITS} (UTC)")
    return instant


def format_instant(instant: Instant, zone: ZoneInfo | None) -> str:
    """Write an instant with the zone's offset at that time, or with Z where no zone is given.

    An offset that has seconds (only before 2000) cannot be written in RFC 3339; the instant is then
    written at +00:00, so that it stays the same instant.
    """
    if zone is None:
        return datetime.fromtimestamp(instant, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    text = datetime.fromtimestamp(instant, zone).isoformat(timespec="seconds")
    return text if len(text) == 25 else datetime.fromtimestamp(instant, UTC).isoformat()


def parse_day(text: str) -> date:
    """Read a date, YYYY-MM-DD; ValueError says what to mend."""
    match = _DATE.fullmatch(text)
    if match is None:
        raise ValueError(f"{shown(text)} is not a date: write it like 2026-11-26")
    year, month, day = (int(part) for part in match.groups())
    _check_day(text, year, month, day)
    found = date(year, month, day)
    if not _FIRST_DAY <= found <= _LAST_DAY:
        raise ValueError(f"{shown(text)} cannot be kept: {_LIMITS}")
    return found


def parse_wall_time(text: str) -> time:
    """Read a time of day, HH:MM or HH:MM:SS; ValueError says what to mend."""
    match = _WALL.fullmatch(text)
    if match is None:
        raise ValueError(f"{shown(text)} is not a time of day: write it like 06:00")
    hour, minute, second = (int(part or 0) for part in match.groups())
    _check_clock(text, hour, minute, second)
    return time(hour, minute, second)


def _check_clock(text: str, hour: int, minute: int, second: int) -> None:
    if hour == 24:
        raise ValueError(f"{shown(text)} has hour 24: write 00:00 of the next day")
    if second == 60:
        raise ValueError(f"{shown(text)} has second 60: give the whole second before or after it")
    if hour > 23 or minute > 59 or second > 59:
        raise ValueError(f"{shown(text)} has no such time of day: the last is 23:59:59")


def _check_day(text: str, year: int, month: int, day: int) -> None:
    if not 1 <= month <= 12:
        raise ValueError(f"{shown(text)} has month {month:02}: give 01 to 12")
    if year < 1:
        raise ValueError(f"{shown(text)} cannot be kept: {_LIMITS}")
    length = calendar.monthrange(year, month)[1]
    if not 1 <= day <= length:
        raise ValueError(f"{shown(text)} has day {day:02}: that month has {length} days")


def _misshapen(text: str) -> str:
    like = "write it like 2026-11-26T06:00:00+01:00"
    if re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[ _][0-9]{2}:", text):
        return f"{shown(text)} has no T between date and time: {like}"
    if re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt][0-9]{2}:[0-9]{2}([Zz+-]|$)", text):
        return f"{shown(text)} has no seconds: {like}"
    return f"{shown(text)} is not an instant: {like}"
