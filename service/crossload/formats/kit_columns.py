"""The columns of a kit list: what each is called, and the words that stand in them."""

from crossload.domain.kit import Condition, OwnerKind, Tracking
from crossload.formats.columns import Column

CURRENCIES = ("GBP", "EUR", "USD", "CHF", "JPY", "CAD", "AUD", "NZD", "SEK", "NOK", "DKK", "PLN")
"""Codes that a price's header may end in."""

_PRICES = (
    "price",
    "value",
    "replacement",
    "replacement value",
    "replacement cost",
    "replacement price",
    "cost",
)

COLUMNS = (
    Column(
        "kit_type",
        "Kit type",
        ("name", "kit", "item", "description", "kit name", "kit description"),
        needed=True,
    ),
    Column("category", "Category", ("group", "section", "class", "type"), needed=True),
    Column("tracking", "Tracking", ("tracked", "tracked by", "counted", "kept by")),
    Column("quantity", "Quantity", ("qty", "count", "how many", "number of pieces", "pieces")),
    Column("tag", "Tag", ("asset", "asset no", "asset number", "asset tag", "inventory number")),
    Column("barcode", "Barcode", ("bar code", "barcode number", "scan code", "code")),
    Column("serial_number", "Serial number", ("serial", "serial no", "serial nr", "s n", "sn")),
    Column("radio_number", "Radio number", ("radio", "radio no", "spoken number", "called")),
    Column(
        "frequency_hz", "Frequency (MHz)", ("frequency", "freq", "freq mhz", "mhz", "carrier mhz")
    ),
    Column("condition", "Condition", ("state", "status", "shape")),
    Column("owner", "Owner", ("owned by", "belongs to", "property of")),
    Column("owner_kind", "Owner kind", ("kind of owner", "owner type", "ownership")),
    Column(
        "consent_required",
        "Consent required",
        ("consent", "needs consent", "ask owner", "ask first"),
    ),
    Column("box", "Box", ("box no", "box number", "case", "case no", "case number", "home box")),
    Column("box_name", "Box name", ("case name", "name of box", "box label", "box title")),
    Column("box_inside", "Inside box", ("inside", "within box", "in case", "outer box")),
    Column("box_place", "Box place", ("place", "shelf", "bay", "stored at", "where")),
    Column("make", "Make", ("maker", "manufacturer", "brand")),
    Column("model", "Model", ("model no", "model number", "make model")),
    Column(
        "price_minor",
        "Replacement price",
        (*_PRICES, *(f"{price} {code}" for price in _PRICES for code in CURRENCIES)),
    ),
    Column(
        "mass_g",
        "Mass (g)",
        ("mass", "mass kg", "weight", "weight g", "weight kg", "grams", "kg"),
    ),
    Column(
        "prep_s", "Prep (min)", ("prep", "prep time", "prep minutes", "preparation", "prep mins")
    ),
    Column(
        "check_in_s",
        "Check-in (min)",
        ("check in", "checkin", "check in time", "check in minutes", "check in mins"),
    ),
    Column(
        "reorder_level", "Reorder level", ("reorder", "reorder at", "min stock", "minimum stock")
    ),
    Column(
        "rechargeable", "Rechargeable", ("recharges", "needs charging", "is charged", "chargeable")
    ),
    Column("ways", "Ways", ("number of ways", "no of ways", "receiver ways")),
    Column("range", "Range", ("tuning range", "frequency range", "band", "range mhz")),
    Column("mode", "Mode", ("modulation", "transmission", "transmission mode")),
    Column("plug", "Plug", ("connector", "plug type", "microphone plug")),
    Column("battery", "Battery", ("battery kind", "battery type", "runs on")),
    Column("pouch", "Pouch", ("pouch size", "pouch kind", "pouch type")),
    Column("goes_with", "Goes with", ("needs", "works with", "needs with it")),
    Column("substitutes", "Substitutes", ("substitute", "instead", "alternatives", "or else")),
)

TRACKINGS = {
    **dict.fromkeys(("serial", "by serial", "each", "piece", "by piece"), Tracking.SERIAL),
    **dict.fromkeys(("count", "by count", "counted", "bulk"), Tracking.COUNT),
    **dict.fromkeys(("consumable", "consumables", "used up"), Tracking.CONSUMABLE),
    **dict.fromkeys(("frequency", "frequencies"), Tracking.FREQUENCY),
}

CONDITIONS = {
    **dict.fromkeys(("fit", "ok", "good", "working", "fine"), Condition.FIT),
    **dict.fromkeys(("suspect", "?", "check", "to check", "intermittent"), Condition.SUSPECT),
    **dict.fromkeys(("damaged", "broken", "faulty"), Condition.DAMAGED),
    **dict.fromkeys(("in repair", "repair", "at repair", "in for repair"), Condition.IN_REPAIR),
    **dict.fromkeys(("lost", "missing", "stolen"), Condition.LOST),
    **dict.fromkeys(("retired", "sold", "scrapped", "written off"), Condition.RETIRED),
}

OWNER_KINDS = {
    **dict.fromkeys(("house", "hire house", "ours"), OwnerKind.HOUSE),
    **dict.fromkeys(("person", "private", "crew"), OwnerKind.PERSON),
    **dict.fromkeys(("production", "the production"), OwnerKind.PRODUCTION),
}
