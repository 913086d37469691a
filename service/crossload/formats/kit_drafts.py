"""Rows of a kit list on the way in: each row's cells, then what rows say together."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from crossload.domain.instants import shown
from crossload.domain.kit import COUNTED, PIECE_BY_PIECE, TRAITS, Condition, OwnerKind, Tracking
from crossload.domain.kit_list import NOTE, TYPE_NOTE, ListedBox, ListedPiece, ListedType
from crossload.domain.names import fold
from crossload.domain.tags import kept_code
from crossload.formats.cells import (
    parse_span,
    parse_text,
    parse_word,
    parse_yes_no,
    plain,
)
from crossload.formats.columns import Sheet, SheetRow
from crossload.formats.kit_columns import CONDITIONS, OWNER_KINDS, TRACKINGS
from crossload.formats.kit_needs import parse_category, parse_goes_with, parse_names
from crossload.formats.numerals import (
    decimal_mark,
    parse_frequency,
    parse_mass,
    parse_price,
    parse_whole,
)

Parser = Callable[[str], Any]

_CODES = ("tag", "barcode", "serial_number", "radio_number")
_PIECE_ONLY = (*_CODES, "frequency_hz")
_BOX_PARTS = ("box_name", "box_inside", "box_place")


def _parse_code(text: str) -> str:
    return parse_text(kept_code(text), longest=64)


def type_parsers(sheet: Sheet, exponent: int, currency: str) -> dict[str, Parser]:
    """How each field of a kit type is read, numbers by the marks of their own column."""
    last_word = plain(sheet.header_of("mass_g")).split(" ")[-1]
    unit = {"g": "g", "grams": "g", "kg": "kg"}.get(last_word, "")
    marks = {name: decimal_mark(sheet.column(name)) for name in ("price_minor", "mass_g")}
    return {
        "category": parse_category,
        "tracking": partial(
            parse_word, words=TRACKINGS, such="serial, count, consumable or frequency"
        ),
        "make": parse_text,
        "model": parse_text,
        "price_minor": partial(
            parse_price, exponent=exponent, mark=marks["price_minor"], currency=currency
        ),
        "mass_g": partial(parse_mass, unit=unit, mark=marks["mass_g"]),
        "prep_s": parse_span,
        "check_in_s": parse_span,
        "reorder_level": parse_whole,
        "rechargeable": parse_yes_no,
        "ways": partial(parse_whole, high=64),
        **dict.fromkeys(TRAITS, partial(parse_text, longest=60)),
        "goes_with": parse_goes_with,
        "substitutes": parse_names,
    }


@dataclass(slots=True)
class Draft:
    """One row's cells, each read by itself. `said` holds the kit type's fields that stand here."""

    row: SheetRow
    name: str
    said: dict[str, Any]
    piece: dict[str, Any]
    quantity: int | None
    box: str
    box_said: dict[str, str]
    notes: dict[str, str]
    type_notes: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, row: SheetRow, parsers: dict[str, Parser]) -> "Draft":
        """Read a row; what cannot be read is noted as its problem and left out."""
        draft = cls(
            row=row,
            name=row.read("kit_type", parse_text, ""),
            said={
                name: value
                for name, parse in parsers.items()
                if (value := row.read(name, parse, None)) is not None
            },
            piece=_read_piece(row),
            quantity=row.read("quantity", parse_whole, None),
            box=row.read("box", _parse_code, ""),
            box_said={
                name: text for name in _BOX_PARTS if (text := row.read(name, parse_text, ""))
            },
            notes={},
        )
        for header, text in row.others().items():
            if header.casefold().startswith(TYPE_NOTE):
                draft.type_notes[header[len(TYPE_NOTE) :]] = text
            else:
                plain = header[len(NOTE) :] if header.casefold().startswith(NOTE) else header
                draft.notes[plain] = text
        return draft

    @property
    def speaks_of_kit(self) -> bool:
        """True where the row says more than what a box is."""
        piece = any(self.piece[name] for name in (*_PIECE_ONLY, "owner"))
        return bool(piece or self.said or self.quantity or self.notes or self.type_notes)

    @property
    def key(self) -> str:
        """The name of its kit type as it is compared; empty for a box alone."""
        return fold(self.name)


def _read_piece(row: SheetRow) -> dict[str, Any]:
    codes = {code: row.read(code, _parse_code, "") for code in _CODES}
    words = partial(parse_word, words=CONDITIONS, such=", ".join(Condition))
    kinds = partial(parse_word, words=OWNER_KINDS, such=", ".join(OwnerKind))
    owner = row.read("owner", parse_text, "")
    # Who owns a piece by name is somebody else than the house, unless the row says so.
    assumed = OwnerKind.PERSON if owner else OwnerKind.HOUSE
    return {
        **codes,
        "owner": owner,
        "owner_kind": row.read("owner_kind", kinds, assumed),
        "consent_required": row.read("consent_required", parse_yes_no, False),
        "condition": row.read("condition", words, Condition.FIT),
        "frequency_hz": row.read("frequency_hz", parse_frequency, None),
    }


class Gathered:
    """What several rows say of one thing: each field once, and no two rows against each other."""

    def __init__(self) -> None:
        self.said: dict[str, Any] = {}
        self._rows: dict[str, int] = {}

    def add(self, row: SheetRow, field: str, value: Any, column: str = "") -> None:
        """Take what a row says of a field; another value than before is its problem."""
        if field not in self.said:
            self.said[field], self._rows[field] = value, row.number
        elif self.said[field] != value:
            column = column or field
            row.problem(
                column, f"{shown(row.text(column))} is not what row {self._rows[field]} says of it"
            )


def gather_types(drafts: Iterable[Draft]) -> dict[str, ListedType]:
    """Each kit type from all of its rows, by its folded name; contradictions become problems."""
    groups: dict[str, list[Draft]] = {}
    for draft in drafts:
        if draft.name:
            groups.setdefault(draft.key, []).append(draft)
    return {key: _gather_type(group) for key, group in groups.items()}


def _gather_type(group: list[Draft]) -> ListedType:
    gathered, notes = Gathered(), Gathered()
    for draft in group:
        for name, value in draft.said.items():
            gathered.add(draft.row, name, value)
    said = gathered.said
    tracking = said.pop("tracking", None) or _tracking_of(group)
    for draft in group:
        whole = tracking in PIECE_BY_PIECE and draft.quantity != 0
        of_type = {**draft.type_notes, **({} if whole else draft.notes)}
        for name, text in of_type.items():
            notes.add(draft.row, name, text)
    first = group[0]
    if "category" not in said and first.row.sound:
        first.row.problem("category", "is empty: the first row of a kit type needs it")
    traits = {name: said.pop(name) for name in TRAITS if name in said}
    return ListedType(
        name=first.name,
        category=said.pop("category", ""),
        tracking=tracking,
        traits=traits,
        notes=notes.said,
        **said,
    )


def _tracking_of(group: list[Draft]) -> Tracking:
    """Where no row says how a kit type is kept, what its rows look like decides."""
    if any(draft.piece["frequency_hz"] for draft in group):
        return Tracking.FREQUENCY
    if any(draft.piece[code] for draft in group for code in _CODES):
        return Tracking.SERIAL
    levelled = any("reorder_level" in draft.said for draft in group)
    return Tracking.CONSUMABLE if levelled else Tracking.COUNT


def gather_boxes(drafts: Iterable[Draft]) -> dict[str, ListedBox]:
    """Each box from all of its rows, by its folded number."""
    found: dict[str, tuple[str, Gathered]] = {}
    for draft in drafts:
        if draft.box:
            _, gathered = found.setdefault(fold(draft.box), (draft.box, Gathered()))
            for name, text in draft.box_said.items():
                gathered.add(draft.row, name, text)
        elif draft.box_said:
            draft.row.problem("box", "is empty, and the row says something of a box: number it")
    numbers = {key: number for key, (number, _) in found.items()}
    boxes = {}
    for key, (number, gathered) in found.items():
        inside = gathered.said.get("box_inside", "")
        boxes[key] = ListedBox(
            number,
            gathered.said.get("box_name", ""),
            numbers.get(fold(inside), inside),
            gathered.said.get("box_place", ""),
        )
    return boxes


def draft_piece(draft: Draft, kit_type: ListedType) -> ListedPiece | None:
    """The piece that the row is; None for a count. What does not fit its kit becomes a problem."""
    counted = kit_type.tracking in COUNTED
    if counted or draft.quantity == 0:
        _must_be_bare(draft, "is kept by count" if counted else "has 0 pieces on this row")
        if draft.row.lacks("quantity"):
            draft.row.problem("quantity", "is empty: say how many there are, or 0")
        return None
    if draft.quantity not in (None, 1):
        draft.row.problem(
            "quantity", f"is {draft.quantity}: kit that is known piece by piece has a row for each"
        )
    carries = draft.piece["frequency_hz"] is not None
    if kit_type.tracking is Tracking.FREQUENCY and draft.row.lacks("frequency_hz"):
        draft.row.problem("frequency_hz", "is empty: every row of a frequency kit type needs it")
    if kit_type.tracking is Tracking.SERIAL and carries:
        draft.row.problem("frequency_hz", "is for kit tracked as frequency: this is by serial")
    return ListedPiece(**draft.piece, notes=draft.notes)


def _must_be_bare(draft: Draft, why: str) -> None:
    piece = draft.piece
    for name in _PIECE_ONLY:
        if piece[name]:
            draft.row.problem(name, f"is for single pieces, and this kit {why}")
    if piece["condition"] is not Condition.FIT:
        draft.row.problem("condition", f"is for single pieces, and this kit {why}")
    if piece["owner_kind"] is not OwnerKind.HOUSE or piece["consent_required"]:
        draft.row.problem("owner", f"is for single pieces, and this kit {why}")
