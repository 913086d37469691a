"""Numbers as people write them: either decimal mark, thousands in groups, units behind."""

import re
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from crossload.domain.instants import shown
from crossload.formats.grid import Number

_SPACES = re.compile(r"(?<=\d)[\s'’](?=\d{3}(?!\d))")
_PLAIN = re.compile(r"\d+(?:[.,]\d+)*|[.,]\d+")
_GROUPED = re.compile(r"\d{1,3}(?:([.,])\d{3})+")
_TELLING = re.compile(r"\d([.,])(?:\d{1,2}|\d{4,})\D*$")
_MONEY = re.compile(r"(?P<before>[^\d.,+\-−]*)(?P<number>[+\-−]?[\d.,\s'’]*?)(?P<after>[^\d]*)")
_SYMBOLS = {"£": "GBP", "€": "EUR", "$": "", "¥": "", "kr": ""}


def decimal_mark(cells: Iterable[str]) -> str:
    """What a column's own cells show to be its decimal mark.

    "." or "," where they agree, "" where none tells, "?" where they differ.
    """
    found = set()
    for cell in cells:
        text = cell.strip()
        marks = [character for character in text if character in ".,"]
        if isinstance(cell, Number) or not marks:
            continue
        if len(set(marks)) == 2:
            found.add(marks[-1])
        elif len(marks) == 1 and _TELLING.search(text):
            found.add(marks[0])
    return found.pop() if len(found) == 1 else "?" if found else ""


def parse_number(text: str, *, mark: str = "", grouped: bool = True) -> Decimal:
    """Read a number; ValueError says what to mend.

    `1.234,50`, `1,234.50`, `1 234,5` and `1'234.5` are all clear. `1.234` is not: `mark`, from
    `decimal_mark`, decides; without one it is a number of thousands, unless `grouped` is False,
    which is for what is never in thousands and often has three decimals, such as MHz.
    """
    if isinstance(text, Number):
        return Decimal(text)
    bare = _SPACES.sub("", text.strip())
    sign = -1 if bare[:1] in ("-", "−") else 1
    digits = bare[1:].strip() if bare[:1] in ("-", "−", "+") else bare
    if not digits.isascii() or not _PLAIN.fullmatch(digits):
        raise ValueError(f"{shown(text)} is not a number")
    return sign * Decimal(_with_point(digits, text, mark, grouped))


def _with_point(digits: str, text: str, mark: str, grouped: bool) -> str:
    last = max(digits.rfind("."), digits.rfind(","))
    if last < 0:
        return digits
    whole, fraction = digits[:last], digits[last + 1 :]
    if len({character for character in digits if character in ".,"}) == 2:
        if not _GROUPED.fullmatch(whole) or digits[last] in whole:
            raise ValueError(f"{shown(text)} is not a number: its thousands are not in groups")
        return f"{re.sub('[.,]', '', whole)}.{fraction}"
    if _GROUPED.fullmatch(digits) and not digits.startswith("0"):
        several = whole.count(digits[last]) > 0
        if not several and mark == "?" and grouped:
            raise ValueError(f"{shown(text)} can be read in two ways: write it without thousands")
        if several or (grouped and digits[last] != mark):
            return re.sub("[.,]", "", digits)
    elif whole.count(digits[last]):
        raise ValueError(f"{shown(text)} is not a number: its thousands are not in groups")
    return f"{whole or 0}.{fraction}"


def within(value: Decimal, text: str, low: int, high: int) -> Decimal:
    """The value itself; ValueError where it is less than `low` or more than `high`."""
    if value < low:
        raise ValueError(
            f"{shown(text)} is negative: give 0 or more"
            if low == 0
            else f"{shown(text)} is less than {low:,}"
        )
    if value > high:
        raise ValueError(f"{shown(text)} is more than {high:,}, the most that is taken")
    return value


def parse_whole(text: str, *, low: int = 0, high: int = 1_000_000, mark: str = "") -> int:
    """A whole number from `low` to `high`, both included."""
    value = within(parse_number(text, mark=mark), text, low, high)
    if value != value.to_integral_value():
        raise ValueError(f"{shown(text)} is not a whole number")
    return int(value)


def parse_tenths(text: str, *, units: tuple[str, ...], low: int, high: int) -> int:
    """A measured number in tenths of its unit, rounded half up; the unit may stand behind it."""
    number, unit = _split_unit(text)
    if unit and unit.replace(" ", "") not in units:
        raise ValueError(f"{shown(text)} is in another unit: give it in {units[0]}")
    value = within(parse_number(number, grouped=False), text, low, high)
    return int((value * 10).to_integral_value(ROUND_HALF_UP))


def parse_degrees_e7(text: str, *, limit: int) -> int:
    """Decimal degrees from -limit to limit as degrees × 10⁷, rounded half up."""
    number, unit = _split_unit(text)
    if unit not in ("", "°"):
        raise ValueError(f"{shown(text)} is not in decimal degrees: write it like 51.7352")
    value = within(parse_number(number, grouped=False), text, -limit, limit)
    return int((value * 10**7).to_integral_value(ROUND_HALF_UP))


def parse_price(text: str, *, exponent: int, mark: str = "", currency: str = "") -> int:
    """A price in minor units, 0 or more; a sign or code of another currency is refused.

    `exponent` is the currency's number of decimals (ISO 4217). Without a telling mark `1.234` is
    thousands, since no price of two decimals has three; where prices have three it is refused.
    """
    match = _MONEY.fullmatch(text.strip())
    if match is None or not match["number"].strip():
        raise ValueError(f"{shown(text)} is not a price")
    for said in (match["before"].strip(), match["after"].strip(" .,-–—\u00a0")):
        _check_currency(text, said, currency)
    number = match["number"] if not isinstance(text, Number) else text
    value = parse_number(number, mark=mark or ("?" if exponent == 3 else ""))
    minor = within(value, text, 0, 10**9).scaleb(exponent)
    if minor != minor.to_integral_value():
        raise ValueError(f"{shown(text)} has more decimals than its currency: it has {exponent}")
    return int(minor)


def _check_currency(text: str, said: str, currency: str) -> None:
    code = _SYMBOLS.get(said, said.upper())
    if not code:
        return
    if len(code) != 3 or not code.isascii() or not code.isalpha():
        raise ValueError(f"{shown(text)} is not a price")
    if currency and code != currency:
        raise ValueError(f"{shown(text)} is in {code}: give it in {currency}")


def parse_mass(text: str, *, unit: str = "", mark: str = "") -> int:
    """A mass in whole grams; `unit` is "g" or "kg" where the header says it, else the cell must."""
    number, said = _split_unit(text)
    said = said or unit
    if said not in ("g", "kg"):
        raise ValueError(f"{shown(text)} has no unit: write g or kg behind it or in the header")
    value = parse_number(number, mark=mark, grouped=said == "g")
    grams = within(value * 1000 if said == "kg" else value, text, 0, 10_000_000)
    if grams != grams.to_integral_value():
        raise ValueError(f"{shown(text)} is not in whole grams")
    return int(grams)


def parse_frequency(text: str) -> int:
    """A frequency in MHz, or with its unit behind it, as whole Hz; 1 MHz to 10 GHz."""
    number, said = _split_unit(text)
    scale = {"": 6, "mhz": 6, "khz": 3, "hz": 0, "ghz": 9}.get(said)
    if scale is None:
        raise ValueError(f"{shown(text)} is not a frequency: give it in MHz")
    hertz = parse_number(number, grouped=False).scaleb(scale)
    if not 10**6 <= hertz <= 10**10:
        raise ValueError(f"{shown(text)} lies outside 1 to 10,000 MHz: give it in MHz")
    if hertz != hertz.to_integral_value():
        raise ValueError(f"{shown(text)} is not in whole Hz: six decimals at most")
    return int(hertz)


def _split_unit(text: str) -> tuple[str, str]:
    """A number and what stands behind it, in small letters."""
    if isinstance(text, Number):
        return text, ""
    match = re.fullmatch(r"(.*[\d.,])\s*([^\d]*)", text.strip())
    return (match[1], match[2].strip().casefold()) if match else (text, "")
