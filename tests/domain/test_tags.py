"""Tags and their check character. Sources stand beside the values."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.tags import (
    ALPHABET,
    check_character,
    check_tag,
    is_checked,
    kept_code,
    looks_like_tag,
    make_tag,
)

FOURS, FIVES = 19_489, 311_801
LETTERS_AND_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
VALUES = LETTERS_AND_DIGITS + "*"
serials = st.integers(0, FOURS + FIVES + 100_000)


def sums_to_one(text):
    """ISO 7064, pure system mod 37 with radix 2, as a weighted sum rather than step by step."""
    return sum(VALUES.index(c) * 2**place for place, c in enumerate(reversed(text))) % 37 == 1


def test_the_check_is_that_of_the_standard():
    # ISO 7064 mod 37,2 through a general-purpose library, python-stdnum 2.2.
    assert check_character("G123489654321") == "Y"
    assert is_checked("G123489654321Y")
    assert not is_checked("G123489654321X")


@pytest.mark.parametrize("text", ["", "1", "g123489654321y", "G12348-9654321Y"])
def test_what_is_no_payload_with_a_check_is_not_checked(text):
    assert not is_checked(text)


@given(st.text(LETTERS_AND_DIGITS, min_size=1, max_size=20))
def test_the_check_makes_the_weighted_sum_one(payload):
    assert sums_to_one(payload + check_character(payload))


def test_one_payload_in_forty_has_a_star_for_its_check():
    # Computed by brute force: 2.5 % of six-character tags end in *; here over all of three.
    checks = [check_character("".join(p)) for p in itertools.product(LETTERS_AND_DIGITS, repeat=3)]
    assert 0.024 < checks.count("*") / len(checks) < 0.030


@given(serials)
def test_a_tag_made_is_a_tag_and_written_once_and_for_all(serial):
    tag = make_tag(serial)
    assert check_tag(tag) == tag
    assert sums_to_one(tag.replace("-", ""))
    assert set(tag) <= {*ALPHABET, "-"}
    assert looks_like_tag(tag)


def test_all_short_tags_are_different_and_come_before_the_longer():
    tags = [make_tag(serial) for serial in range(FOURS + 50)]
    assert len(set(tags)) == len(tags)
    assert [len(tag) for tag in tags] == [6] * FOURS + [7] * 50
    assert tags[0] == "A336-F"


def test_the_tags_after_all_of_five_have_six_characters():
    assert len(make_tag(FOURS + FIVES - 1)) == 7
    assert len(make_tag(FOURS + FIVES)) == 8


@pytest.mark.parametrize("serial", [-1, 10**7])
def test_a_serial_without_a_tag_is_refused(serial):
    with pytest.raises(ValueError, match=r"begin at 0|given out"):
        make_tag(serial)


def is_tag(bare):
    try:
        return check_tag(bare) == f"{bare[:-1]}-{bare[-1]}"
    except ValueError:
        return False


def mistakes(bare):
    """One character wrong; two swapped, next to each other or next but one; a twin mistyped."""
    for place, right in enumerate(bare):
        for wrong in LETTERS_AND_DIGITS:
            if wrong != right:
                yield bare[:place] + wrong + bare[place + 1 :]
                if bare[place : place + 2] == right * 2:
                    yield bare[:place] + wrong * 2 + bare[place + 2 :]
    for apart in (1, 2):
        for place in range(len(bare) - apart):
            swapped = list(bare)
            swapped[place], swapped[place + apart] = swapped[place + apart], swapped[place]
            if swapped != list(bare):
                yield "".join(swapped)


def test_every_slip_of_the_common_kinds_is_found():
    # Computed by brute force over six characters: mod 37,2 finds substitutions, adjacent swaps,
    # jump swaps and twins, 100 % each.
    tags = [make_tag(serial).replace("-", "") for serial in range(0, FOURS + FIVES, 1999)]
    made = [slip for tag in tags for slip in mistakes(tag)]
    assert len(made) > 30_000
    assert not [slip for slip in made if is_tag(slip) or is_checked(slip)]


@pytest.mark.parametrize(
    "typed",
    [
        "K7PK-3",
        "k7pk-3",
        "k7pk3",
        " K7PK 3\r\n",
        "k7 pk–3",
        "K7PK‑3",
        "K7PK−3",
        "k-7-p-k-3",
        "K7PK_3",
    ],
)
def test_case_spaces_and_dashes_do_not_matter(typed):
    assert check_tag(typed) == "K7PK-3"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("K7PX-3", "K7PX-3 is not a tag: one character is wrong or two have changed places"),
        ("k7px3", "K7PX-3 is not a tag: one character is wrong"),
        ("K7KP-3", "K7KP-3 is not a tag: one character is wrong"),
        ("k7pk4", "K7PK-4 is not a tag: one character is wrong"),
        ("K7PO-3", "K7PO-3 is not a tag: no tag has O in it"),
        ("RAD-014", "RAD-014 is not a tag: no tag has D in it"),
        ("K7PK", "K7PK is not a tag: a tag is written like A336-F"),
        ("K7PKAAAA-3", "K7PKAAAA-3 is not a tag: a tag is written like"),
        ("K7PKAAA-3", "K7PKAAA-3 is not a tag: a tag is written like"),
        ("37PK-3", "37PK-3 is not a tag: a tag is written like"),
        ("12345", "12345 is not a tag: a tag is written like"),
        ("K7PK*", "K7PK* is not a tag: a tag is written like"),
        ("", "'' is not a tag"),
        ("\x00\ud800", "is not a tag"),
        ("ſ7PK-3", "is not a tag"),
        ("K7PK-３", "is not a tag"),
    ],
)
def test_a_mistyped_tag_is_refused_by_name(typed, sentence):
    with pytest.raises(ValueError, match="is not a tag") as refused:
        check_tag(typed)
    assert sentence in str(refused.value)
    assert str(refused.value).isprintable()


@pytest.mark.parametrize(
    ("code", "ours"),
    [
        ("K7PX-3", True),
        ("k7p0 3", True),
        ("K7PX3", True),
        ("RAD-014", False),
        ("A-1234", False),
        ("12345", False),
        ("629104150021", False),
        ("PACK 12 OF 40", False),
        ("K7", False),
        ("", False),
    ],
)
def test_what_was_meant_as_a_tag_can_be_told_from_an_owners_number(code, ours):
    assert looks_like_tag(code) is ours


@given(st.from_regex(r"[0-9]{1,20}", fullmatch=True))
def test_a_number_of_digits_alone_is_never_one_of_ours(code):
    assert not looks_like_tag(code)


@pytest.mark.parametrize(
    ("scanned", "kept"),
    [
        ("PJJ123C\r\n", "PJJ123C"),
        ("  aB-12/7 ", "aB-12/7"),
        ("Kit 4  Case", "Kit 4  Case"),
        ("\x1d8004ABC\x00", "8004ABC"),
    ],
)
def test_an_owners_code_is_kept_as_it_is_but_for_what_a_scanner_adds(scanned, kept):
    assert kept_code(scanned) == kept
