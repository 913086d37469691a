"""Names as a table holds them, and as they are compared."""


def one_line(text: str) -> str:
    """Text as a table holds it: every run of white space is one space."""
    return " ".join(text.split())


def fold(name: str) -> str:
    """A name as it is compared: case and spare spaces aside."""
    return one_line(name).casefold()
