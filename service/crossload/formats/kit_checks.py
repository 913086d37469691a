"""What rows of a kit list say against each other, or name that is not there."""

from collections.abc import Collection, Iterable

from crossload.domain.instants import shown
from crossload.domain.kit import COUNTED
from crossload.domain.kit_list import CATEGORIES, ListedBox, ListedType
from crossload.domain.names import fold
from crossload.formats.columns import no_two
from crossload.formats.kit_drafts import Draft


def check_names(
    drafts: Iterable[Draft],
    types: dict[str, ListedType],
    known_types: Collection[str],
    known_categories: Collection[str],
) -> None:
    """Note substitutes and categories that nothing in the list or the pool goes by."""
    names = {*types, *(fold(name) for name in known_types)}
    categories = {*CATEGORIES, *known_categories, *(each.category for each in types.values())}
    for draft in drafts:
        for name in draft.said.get("substitutes", ()):
            if fold(name) not in names:
                draft.row.problem("substitutes", f"{shown(name)} is no kit type of this list")
            elif fold(name) == draft.key:
                draft.row.problem("substitutes", f"{shown(name)} cannot stand in for itself")
        for need in draft.said.get("goes_with", ()):
            if need.category not in categories:
                draft.row.problem("goes_with", f"{shown(need.category)} is no category of any kit")


def check_codes(drafts: list[Draft], types: dict[str, ListedType]) -> None:
    """Note codes that a scan could not tell apart, and frequencies that stand twice.

    Tags and barcodes are scanned alike. A number that people say is one within its category.
    """
    scanned: dict[str, int] = {}
    for code in ("tag", "barcode"):
        no_two(((d.piece[code], d.row) for d in drafts), code, f"the {code}", seen=scanned)
    spoken: dict[str, dict[str, int]] = {}
    for draft in drafts:
        category = types[draft.key].category if draft.name else ""
        said = [(draft.piece["radio_number"], draft.row)]
        no_two(said, "radio_number", "the number", seen=spoken.setdefault(category, {}))
    carried = ((str(d.piece["frequency_hz"] or ""), d.row) for d in drafts)
    no_two(carried, "frequency_hz", "the frequency")


def check_counts(drafts: list[Draft], types: dict[str, ListedType]) -> None:
    """Note a count that stands twice for one box: which of the two would hold?"""
    seen: dict[tuple[str, str], int] = {}
    for draft in drafts:
        kit_type = types.get(draft.key) if draft.name else None
        if kit_type and kit_type.tracking in COUNTED:
            earlier = seen.setdefault((draft.key, fold(draft.box)), draft.row.number)
            if earlier != draft.row.number:
                where = f"in box {draft.box}" if draft.box else "outside any box"
                draft.row.problem(
                    "kit_type", f"stands {where} on row {earlier} already: add the two up"
                )


def check_nesting(drafts: list[Draft], boxes: dict[str, ListedBox]) -> None:
    """Note boxes that stand in themselves, directly or through others."""
    circles = _in_circles(boxes)
    for draft in drafts:
        if "box_inside" in draft.box_said and fold(draft.box) in circles:
            draft.row.problem("box_inside", f"box {shown(draft.box)} would stand in itself")


def _in_circles(boxes: dict[str, ListedBox]) -> set[str]:
    """The boxes from which the way outward leads back; each box is walked once."""
    circles: set[str] = set()
    settled: set[str] = set()
    for start in boxes:
        place: dict[str, int] = {}
        here = start
        while here in boxes and here not in settled and here not in place:
            place[here] = len(place)
            here = fold(boxes[here].inside)
        if here in place:
            circles.update(list(place)[place[here] :])
        settled.update(place)
    return circles
