"""What single cells mean, in the ways that people write them."""

from datetime import date, time
from decimal import Decimal
from functools import partial

import pytest

from crossload.formats.cells import (
    parse_date,
    parse_span,
    parse_text,
    parse_time,
    parse_yes_no,
    span_cell,
)
from crossload.formats.grid import Number
from crossload.formats.numerals import (
    decimal_mark,
    parse_degrees_e7,
    parse_frequency,
    parse_mass,
    parse_number,
    parse_price,
    parse_tenths,
    parse_whole,
)

pounds = partial(parse_price, exponent=2)
wind = partial(parse_tenths, units=("m/s",), low=0, high=100)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1.234,50", "1234.50"),
        ("1,234.50", "1234.50"),
        ("1 234,5", "1234.5"),
        ("1\u00a0234,5", "1234.5"),
        ("1'234.5", "1234.5"),
        ("1.234.567", "1234567"),
        ("1.234", "1234"),
        ("0.125", "0.125"),
        ("12,5", "12.5"),
        (".5", "0.5"),
        ("-7", "-7"),
        ("−2", "-2"),
        ("+3", "3"),
    ],
)
def test_a_number_is_read_with_either_mark(text, number):
    assert parse_number(text) == Decimal(number)


@pytest.mark.parametrize(
    "text", ["", "x", "1.2.3", "1,23.4", "1..2", "1e5", "0x1", "١٢", "1 2", "--1"]
)
def test_what_is_no_number_is_refused_by_name(text):
    with pytest.raises(ValueError, match="is not a number"):
        parse_number(text)


def test_the_column_s_own_mark_settles_what_one_cell_leaves_open():
    assert decimal_mark(["1.234", "96,5"]) == ","
    assert decimal_mark(["1.234", "96.5"]) == "."
    assert decimal_mark(["1.234,00", "2.000"]) == ","
    assert decimal_mark(["1.234", "12"]) == ""
    assert decimal_mark(["1,5", "1.5"]) == "?"
    assert decimal_mark([Number("1.5"), "2,5"]) == ","
    assert parse_number("1.234", mark=",") == 1234
    assert parse_number("1.234", mark=".") == Decimal("1.234")
    with pytest.raises(ValueError, match="can be read in two ways"):
        parse_number("1.234", mark="?")


def test_a_spreadsheet_s_own_number_is_never_in_thousands():
    assert parse_number(Number("1.234"), mark=",") == Decimal("1.234")


@pytest.mark.parametrize(
    ("text", "minor"),
    [
        ("1.234,50", 123_450),
        ("£1,234.50", 123_450),
        ("1,480.00 GBP", 148_000),
        ("480.–", 48_000),
        ("1.234", 123_400),
        ("0,42", 42),
        ("0", 0),
        (Number("3.6"), 360),
    ],
)
def test_a_price_is_read_into_minor_units(text, minor):
    assert pounds(text, currency="GBP") == minor


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("41.005", "more decimals than its currency"),
        ("-5", "negative"),
        ("€ 40", "is in EUR: give it in GBP"),
        ("40 USD", "is in USD: give it in GBP"),
        ("about 40", "is not a price"),
        ("40 each", "is not a price"),
        ("free", "is not a price"),
        ("99999999999", "more than 1,000,000,000"),
    ],
)
def test_a_price_that_is_not_clear_is_refused(text, words):
    with pytest.raises(ValueError, match=words):
        pounds(text, mark=".", currency="GBP")


def test_prices_follow_the_decimals_of_their_currency():
    # ISO 4217: JPY has none, KWD three.
    assert parse_price("1,200", exponent=0) == 1200
    assert parse_price("12.345,500", exponent=3) == 12_345_500
    assert parse_price("1.2340", exponent=3) == 1234
    with pytest.raises(ValueError, match="two ways"):
        parse_price("1.234", exponent=3)


@pytest.mark.parametrize(
    ("text", "hertz"),
    [
        ("606.500", 606_500_000),
        ("606,5", 606_500_000),
        ("606.512345", 606_512_345),
        ("1,785.250", 1_785_250_000),
        ("470 MHz", 470_000_000),
        ("606500 kHz", 606_500_000),
        (Number("470.025"), 470_025_000),
    ],
)
def test_megahertz_become_hertz_exactly(text, hertz):
    assert parse_frequency(text) == hertz


@pytest.mark.parametrize("text", ["606500", "0.5", "606.5123456", "606.5 dB", "-606.5", "x"])
def test_a_frequency_that_cannot_be_meant_is_refused(text):
    with pytest.raises(ValueError, match=r"MHz|Hz|number"):
        parse_frequency(text)


def test_a_mass_takes_its_unit_from_the_cell_or_the_header():
    assert parse_mass("0,142", unit="kg") == 142
    assert parse_mass("142 g", unit="kg") == 142
    assert parse_mass("1.250", unit="g") == 1250
    assert parse_mass("1.250 kg") == 1250
    with pytest.raises(ValueError, match="has no unit"):
        parse_mass("142")
    with pytest.raises(ValueError, match="whole grams"):
        parse_mass("0.5", unit="g")


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("30", 1800),
        ("7.5", 450),
        ("1 h", 3600),
        ("1 h 30 min", 5400),
        ("1h30", 5400),
        ("1:30", 5400),
        ("1,5 h", 5400),
        ("100 s", 100),
        ("10 s", 10),
        ("2 min 5 s", 125),
        ("0", 0),
        (Number("45"), 2700),
    ],
)
def test_a_span_is_in_minutes_unless_it_says_more(text, seconds):
    assert parse_span(text) == seconds


@pytest.mark.parametrize("text", ["a while", "-5", "99999", "0.001", "1 day", "h"])
def test_a_span_that_is_not_clear_is_refused(text):
    with pytest.raises(ValueError, match=r"span|negative|longer|seconds"):
        parse_span(text)


@pytest.mark.parametrize("seconds", [0, 60, 450, 5400, 7, 86_400])
def test_a_span_is_written_so_that_it_reads_the_same(seconds):
    cell = span_cell(seconds)
    assert parse_span(str(cell) if cell is not None else "0") == seconds


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-26",
        "26/11/2026",
        "26.11.2026",
        "26-11-26",
        "26/11/26",
        "26 Nov 2026",
        "Thu 26 November 2026",
        "26-Nov-2026",
        "26th November, 2026",
        "2026-11-26 00:00",
    ],
)
def test_a_day_is_read_with_the_day_first(text):
    assert parse_date(text) == date(2026, 11, 26)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("11/26/2026", "the day comes first"),
        ("31/11/2026", "that month has 30 days"),
        ("26/11", "is not a date"),
        ("26/11.2026", "is not a date"),
        ("26 Foo 2026", "is not a date"),
        ("26/11/1999", "lies outside"),
        ("soon", "is not a date"),
    ],
)
def test_a_day_that_is_none_is_refused(text, words):
    with pytest.raises(ValueError, match=words):
        parse_date(text)


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("07:30", time(7, 30)),
        ("7.30", time(7, 30)),
        ("0730", time(7, 30)),
        ("730", time(7, 30)),
        ("7h30", time(7, 30)),
        ("7:30 am", time(7, 30)),
        ("7:30 p.m.", time(19, 30)),
        ("12am", time(0)),
        ("12 pm", time(12)),
        ("07:30:00", time(7, 30)),
    ],
)
def test_a_time_of_day_is_read_in_the_usual_ways(text, at):
    assert parse_time(text) == at


@pytest.mark.parametrize("text", ["7", "24:00", "07:60", "13pm", "noon", "7:3", "25:00"])
def test_a_time_of_day_that_is_none_is_refused(text):
    with pytest.raises(ValueError, match=r"time of day|hour 24"):
        parse_time(text)


def test_measured_values_are_whole_tenths_and_other_units_are_refused():
    assert wind("9,5") == 95
    assert wind("4.25 m/s") == 43
    with pytest.raises(ValueError, match="give it in m/s"):
        wind("11 kt")
    with pytest.raises(ValueError, match="negative"):
        wind("-1")


def test_degrees_keep_seven_places():
    assert parse_degrees_e7("51.7352", limit=90) == 517_352_000
    assert parse_degrees_e7("-0,1234567", limit=180) == -1_234_567
    assert parse_degrees_e7("51.735°", limit=90) == 517_350_000
    for text in ("90.0000001", "51° 44' 7\"", "51 N"):
        with pytest.raises(ValueError, match=r"more than|degrees|number"):
            parse_degrees_e7(text, limit=90)


def test_whole_numbers_yes_or_no_and_text_have_their_bounds():
    assert parse_whole("1.234") == 1234
    assert parse_whole(Number("7")) == 7
    assert parse_whole("1000000") == 1_000_000
    for text in ("-1", "1000001", "2.5", "9" * 400):
        with pytest.raises(ValueError, match=r"negative|more than|whole"):
            parse_whole(text)
    assert [parse_yes_no(word) for word in ("Yes", "x", "no", "0")] == [True, True, False, False]
    assert parse_text(" a \n b ") == "a b"
    with pytest.raises(ValueError, match="201 characters"):
        parse_text("x" * 201)
