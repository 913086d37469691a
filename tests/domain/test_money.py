"""How many decimals a currency has."""

import pytest

from crossload.domain.money import exponent_of


@pytest.mark.parametrize(
    ("code", "exponent"),
    [
        # ISO 4217, list of 2026-01-01.
        ("GBP", 2), ("EUR", 2), ("USD", 2), ("CHF", 2), ("HUF", 2),
        ("JPY", 0), ("ISK", 0),
        ("KWD", 3), ("BHD", 3),
        ("CLF", 4),
    ],
)  # fmt: skip
def test_a_currencys_minor_unit_is_that_of_the_standard(code, exponent):
    assert exponent_of(code) == exponent
