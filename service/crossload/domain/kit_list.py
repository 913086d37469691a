"""A kit list as somebody writes it: names where the service has ids, one row a piece or a count."""

from dataclasses import dataclass, field

from crossload.domain.kit import Condition, Need, OwnerKind, Tracking
from crossload.domain.row_problem import RowProblem

CATEGORIES = (
    "pack",
    "receiver",
    "lavalier",
    "boom microphone",
    "wind cover",
    "wireless boom",
    "listening receiver",
    "headphones",
    "recorder",
    "timecode box",
    "slate",
    "camera link",
    "aerial",
    "distribution",
    "earpiece",
    "playback",
    "arm",
    "stand",
    "clamp",
    "battery",
    "charger",
    "pouch",
    "strap",
    "tape",
    "frequency",
)
"""The categories that every house has words for. A house may add its own."""

TYPE_NOTE = "kit type note: "
"""Begins the header of a note on a serial kit type; a plain header there is a piece's note."""

NOTE = "note: "
"""Begins the header of a note whose name would be taken for one of the columns."""


@dataclass(frozen=True, slots=True)
class ListedType:
    """A kit type of a list; `substitutes` are names of kit types, in order of preference."""

    name: str
    category: str
    tracking: Tracking
    make: str = ""
    model: str = ""
    price_minor: int | None = None
    mass_g: int | None = None
    prep_s: int = 0
    check_in_s: int = 0
    reorder_level: int | None = None
    rechargeable: bool = False
    ways: int = 0
    traits: dict[str, str] = field(default_factory=dict)
    goes_with: tuple[Need, ...] = ()
    substitutes: tuple[str, ...] = ()
    notes: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ListedPiece:
    """One piece of a serial kit type, or one frequency. Without a tag the service makes one."""

    tag: str = ""
    barcode: str = ""
    serial_number: str = ""
    radio_number: str = ""
    owner: str = ""
    owner_kind: OwnerKind = OwnerKind.HOUSE
    consent_required: bool = False
    condition: Condition = Condition.FIT
    frequency_hz: int | None = None
    notes: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ListedBox:
    """A box of a list; `inside` is the number of the box that it stands in, or empty."""

    number: str
    name: str = ""
    inside: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True)
class KitRow:
    """One row: a piece in a box, a count in a box, or a box alone.

    | row | kit_type | piece | quantity |
    | --- | --- | --- | --- |
    | a piece | its kit type | the piece | 1 |
    | so many, counted | its kit type | None | 0 or more |
    | a serial kit type that has no piece yet | its kit type | None | 0 |
    | a box alone | None | None | 0 |

    `box` is None for what lies loose. Rows of one kit type hold equal `kit_type` values, rows of
    one box equal `box` values, whatever cells the file left empty. `row` is the row of the file.
    """

    kit_type: ListedType | None
    piece: ListedPiece | None = None
    quantity: int = 0
    box: ListedBox | None = None
    row: int = field(default=0, compare=False)


def _is_type_note(header: str) -> bool:
    return header.casefold().startswith(TYPE_NOTE)


@dataclass(frozen=True, slots=True)
class KitList:
    """What a file holds. While `problems` is not empty nothing of it may be brought in.

    `rows` leaves out the rows with problems. `headers` are those of the file, by the fields that
    they are for, which have the names of the values above ("kit_type", "tag", "price_minor", "box",
    "box_name", "range" and so on): a field without one is not spoken of, so it stays as it is.
    `kept_columns` are headers kept as notes; `left_out` names sheets that were not read.
    """

    rows: tuple[KitRow, ...]
    problems: tuple[RowProblem, ...]
    headers: dict[str, str]
    kept_columns: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def columns(self) -> frozenset[str]:
        """The fields that the file has a column for."""
        return frozenset(self.headers)

    def type_notes(self, counted: bool) -> list[str]:
        """The names of the notes that the file speaks of for a kit type, kept by count or not."""
        of_type = [h[len(TYPE_NOTE) :] for h in self.kept_columns if _is_type_note(h)]
        return of_type + (self.piece_notes if counted else [])

    @property
    def piece_notes(self) -> list[str]:
        """The names of the notes that the file speaks of for pieces."""
        plain = (h for h in self.kept_columns if not _is_type_note(h))
        return [h[len(NOTE) :] if h.casefold().startswith(NOTE) else h for h in plain]

    @property
    def kit_types(self) -> tuple[ListedType, ...]:
        """Each kit type once, in the order of the file."""
        named = {row.kit_type.name: row.kit_type for row in self.rows if row.kit_type}
        return tuple(named.values())

    @property
    def boxes(self) -> tuple[ListedBox, ...]:
        """Each box once, those that only others stand in as well; an outer box comes first.

        (Of boxes that stand in each other, a problem of the list, any comes first.)
        """
        boxes = {row.box.number: row.box for row in self.rows if row.box}
        ordered: dict[str, ListedBox] = {}
        for inner in boxes:
            chain: dict[str, ListedBox] = {}
            here = inner
            while here and here not in ordered and here not in chain:
                chain[here] = boxes.get(here, ListedBox(here))
                here = chain[here].inside
            ordered |= reversed(chain.items())
        return tuple(ordered.values())
