"""Kit types, items and boxes as values, and the words for their conditions and kinds."""

from dataclasses import dataclass, field
from enum import StrEnum

from crossload.domain.window import Id


class Tracking(StrEnum):
    SERIAL = "serial"
    COUNT = "count"
    CONSUMABLE = "consumable"
    FREQUENCY = "frequency"


PIECE_BY_PIECE = (Tracking.SERIAL, Tracking.FREQUENCY)
"""Kit whose pieces are known one by one: its number is that of its items."""

COUNTED = (Tracking.COUNT, Tracking.CONSUMABLE)
"""Kit of which only the number is known."""


class Condition(StrEnum):
    FIT = "fit"
    SUSPECT = "suspect"
    DAMAGED = "damaged"
    IN_REPAIR = "in repair"
    LOST = "lost"
    RETIRED = "retired"


class OwnerKind(StrEnum):
    HOUSE = "house"
    PERSON = "person"
    PRODUCTION = "production"


TRAITS = ("range", "mode", "plug", "battery", "pouch")
"""What must agree for two pieces of kit to work together."""


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that a kit type goes with: so many of a category, agreeing in the named traits.

    In the category "receiver" the quantity counts ways: a four-way receiver gives four.
    """

    category: str
    quantity: int
    match: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KitType:
    """What is interchangeable when you book it."""

    id: Id
    name: str
    category: str
    tracking: Tracking
    count: int = 0
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
    substitutes: tuple[Id, ...] = ()
    notes: dict[str, str] = field(default_factory=dict)
    version: int = 1


@dataclass(frozen=True, slots=True)
class Item:
    """One piece of a serial kit type, or one hand-entered frequency."""

    id: Id
    kit_type: Id
    tag: str
    barcode: str = ""
    serial_number: str = ""
    radio_number: str = ""
    owner: str = ""
    owner_kind: OwnerKind = OwnerKind.HOUSE
    consent_required: bool = False
    condition: Condition = Condition.FIT
    home_box: Id | None = None
    frequency_hz: int | None = None
    notes: dict[str, str] = field(default_factory=dict)
    version: int = 1


@dataclass(frozen=True, slots=True)
class Box:
    """A case with a number and a name; it may stand inside another."""

    id: Id
    number: str
    name: str = ""
    inside: Id | None = None
    place: str = ""
    counts: dict[Id, int] = field(default_factory=dict)
    version: int = 1
