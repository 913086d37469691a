"""Kit lists: the owner's own spreadsheet to rows of kit, and such rows to a table again."""

from collections.abc import Collection, Iterable
from decimal import Decimal

from crossload.domain.kit import PIECE_BY_PIECE, TRAITS
from crossload.domain.kit_list import (
    NOTE,
    TYPE_NOTE,
    KitList,
    KitRow,
    ListedBox,
    ListedPiece,
    ListedType,
)
from crossload.domain.names import fold
from crossload.formats.cells import plain, span_cell
from crossload.formats.columns import Sheet
from crossload.formats.grid import Cell
from crossload.formats.kit_checks import check_codes, check_counts, check_names, check_nesting
from crossload.formats.kit_columns import COLUMNS, CURRENCIES
from crossload.formats.kit_drafts import (
    Draft,
    draft_piece,
    gather_boxes,
    gather_types,
    type_parsers,
)
from crossload.formats.kit_needs import goes_with_cell, names_cell
from crossload.formats.tables import Encoding, Kind, read_table, write_table

_LABELS = {column.field: column.label for column in COLUMNS}
_KNOWN_HEADERS = {plain(h) for column in COLUMNS for h in (column.label, *column.synonyms)}


def read_kit_list(
    content: bytes,
    *,
    currency_exponent: int,
    currency: str = "",
    encoding: Encoding = "utf-8",
    known_kit_types: Collection[str] = (),
    known_categories: Collection[str] = (),
) -> KitList:
    """Read a kit list, CSV or XLSX. Every row that is wrong is in `problems`, by number and reason.

    Prices become minor units of a currency with so many decimals; a cell that names another
    `currency` is a problem. `known_kit_types` and `known_categories` are the pool's own, which
    substitutes and *goes with* may name as well. TableRefused where the file is not a table.
    """
    table = read_table(content, encoding=encoding)
    sheet = Sheet(table, COLUMNS, keep_others=True)
    _check_price_header(sheet, currency)
    rows: tuple[KitRow, ...] = ()
    if sheet.usable:
        parsers = type_parsers(sheet, currency_exponent, currency)
        drafts = [Draft.of(row, parsers) for row in sheet.rows()]
        rows = _rows_of(drafts, known_kit_types, known_categories)
    return KitList(
        rows, sheet.in_order(), sheet.known_headers(), tuple(sheet.others), table.left_out
    )


def _check_price_header(sheet: Sheet, currency: str) -> None:
    header = sheet.header_of("price_minor")
    last_word = plain(header).upper().split(" ")[-1]
    said = "GBP" if "£" in header else "EUR" if "€" in header else last_word
    if currency and said in CURRENCIES and said != currency:
        sheet.problem_of_header(header, f"is in {said}: give it in {currency}")


def _rows_of(
    drafts: list[Draft], known_types: Collection[str], known_categories: Collection[str]
) -> tuple[KitRow, ...]:
    types, boxes = gather_types(drafts), gather_boxes(drafts)
    made = [_row_of(draft, types, boxes) for draft in drafts]
    check_names(drafts, types, known_types, known_categories)
    check_codes(drafts, types)
    check_counts(drafts, types)
    check_nesting(drafts, boxes)
    return tuple(row for draft, row in zip(drafts, made, strict=True) if draft.row.sound)


def _row_of(draft: Draft, types: dict[str, ListedType], boxes: dict[str, ListedBox]) -> KitRow:
    box = boxes.get(fold(draft.box))
    if not draft.name:
        if draft.speaks_of_kit or not draft.box:
            draft.row.problem("kit_type", "is empty: every row of kit needs it")
        return KitRow(None, box=box, row=draft.row.number)
    kit_type = types[draft.key]
    piece = draft_piece(draft, kit_type)
    return KitRow(kit_type, piece, 1 if piece else draft.quantity or 0, box, draft.row.number)


def write_kit_list(rows: Iterable[KitRow], kind: Kind = "csv", *, currency_exponent: int) -> bytes:
    """Write rows as CSV or XLSX; `read_kit_list` gives equal rows back.

    What is a kit type's own, and what is a box's, stands on the first of its rows only.
    """
    rows = list(rows)
    notes, type_notes = _note_names(rows)
    header = [*_LABELS.values(), *map(_note_header, notes), *(TYPE_NOTE + n for n in type_notes)]
    written: set[tuple[str, str]] = set()
    lines: list[list[Cell]] = [list(header)]
    for row in rows:
        first = _first_of(row, written)
        cells = _row_cells(row, first, currency_exponent)
        own, of_type = _notes_of(row)
        line = [cells.get(field) for field in _LABELS]
        line += [own.get(name) if row.piece or "kit_type" in first else None for name in notes]
        line += [of_type.get(name) if "kit_type" in first else None for name in type_notes]
        lines.append(line)
    return write_table(lines, kind, name="Kit list")


def _first_of(row: KitRow, written: set[tuple[str, str]]) -> set[str]:
    """Of what this is the first row: "kit_type", "box", both or neither."""
    named = {("kit_type", fold(row.kit_type.name))} if row.kit_type else set()
    named |= {("box", fold(row.box.number))} if row.box else set()
    fresh = named - written
    written |= fresh
    return {what for what, _ in fresh}


def _row_cells(row: KitRow, first: set[str], exponent: int) -> dict[str, Cell]:
    cells: dict[str, Cell] = {}
    if row.kit_type:
        cells["kit_type"] = row.kit_type.name
        cells["quantity"] = None if row.piece else row.quantity
        if "kit_type" in first:
            cells |= _type_cells(row.kit_type, exponent)
    if row.piece:
        cells |= _piece_cells(row.piece)
    if row.box:
        cells["box"] = row.box.number
        if "box" in first:
            cells |= {
                "box_name": row.box.name,
                "box_inside": row.box.inside,
                "box_place": row.box.place,
            }
    return cells


def _notes_of(row: KitRow) -> tuple[dict[str, str], dict[str, str]]:
    """The notes under plain headers, and those of a kit type that is known by pieces."""
    of_type = row.kit_type.notes if row.kit_type else {}
    if row.kit_type and row.kit_type.tracking in PIECE_BY_PIECE:
        return row.piece.notes if row.piece else {}, of_type
    return of_type, {}


def _note_names(rows: list[KitRow]) -> tuple[list[str], list[str]]:
    notes: dict[str, None] = {}
    type_notes: dict[str, None] = {}
    for row in rows:
        own, of_type = _notes_of(row)
        notes |= dict.fromkeys(own)
        type_notes |= dict.fromkeys(of_type)
    return list(notes), list(type_notes)


def _note_header(name: str) -> str:
    taken = plain(name) in _KNOWN_HEADERS or name.casefold().startswith((NOTE, TYPE_NOTE))
    return NOTE + name if taken else name


def _type_cells(kit_type: ListedType, exponent: int) -> dict[str, Cell]:
    return {
        "category": kit_type.category,
        "tracking": str(kit_type.tracking),
        "make": kit_type.make,
        "model": kit_type.model,
        "price_minor": _price_cell(kit_type.price_minor, exponent),
        "mass_g": kit_type.mass_g,
        "prep_s": span_cell(kit_type.prep_s),
        "check_in_s": span_cell(kit_type.check_in_s),
        "reorder_level": kit_type.reorder_level,
        "rechargeable": "yes" if kit_type.rechargeable else None,
        "ways": kit_type.ways or None,
        **{trait: kit_type.traits.get(trait) for trait in TRAITS},
        "goes_with": goes_with_cell(kit_type.goes_with),
        "substitutes": names_cell(kit_type.substitutes),
    }


def _piece_cells(piece: ListedPiece) -> dict[str, Cell]:
    return {
        "tag": piece.tag,
        "barcode": piece.barcode,
        "serial_number": piece.serial_number,
        "radio_number": piece.radio_number,
        "owner": piece.owner,
        "owner_kind": str(piece.owner_kind),
        "consent_required": "yes" if piece.consent_required else None,
        "condition": str(piece.condition),
        "frequency_hz": _frequency_cell(piece.frequency_hz),
    }


def _price_cell(minor: int | None, exponent: int) -> Decimal | None:
    if minor is None:
        return None
    # Three decimals would read as thousands; a fourth makes them decimals for any reader.
    places = 4 if exponent == 3 else exponent
    return Decimal(minor).scaleb(-exponent).quantize(Decimal(1).scaleb(-places))


def _frequency_cell(hertz: int | None) -> Decimal | None:
    if hertz is None:
        return None
    megahertz = Decimal(hertz).scaleb(-6)
    return megahertz.quantize(Decimal("0.001")) if hertz % 1000 == 0 else megahertz
