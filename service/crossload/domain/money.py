"""How many decimals a currency has."""

_DECIMALS = {
    **dict.fromkeys(
        ("BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND",
         "VUV", "XAF", "XOF", "XPF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
    **dict.fromkeys(("CLF", "UYW"), 4),
}  # fmt: skip


def exponent_of(currency: str) -> int:
    """The minor unit of a currency code as a power of ten: 2 for GBP, 0 for JPY (ISO 4217, from
    memory)."""
    return _DECIMALS.get(currency, 2)
