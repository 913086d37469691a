"""The tables. Times are UTC seconds, days are ordinals, ids are made in the program.

Every table that is asked by pool has the pool first in its indexes. A rule that the database can
hold stands here as a CHECK or a unique index too; `migrations/` holds the same in SQL, and a test
compares the two.
"""

from enum import StrEnum
from typing import Any

from peewee import (
    SQL,
    BigIntegerField,
    BooleanField,
    Check,
    DatabaseProxy,
    ForeignKeyField,
    Model,
    TextField,
)

from crossload.domain.booking import BookingState
from crossload.domain.kit import Condition, OwnerKind, Tracking
from crossload.domain.shoot import UnitKind

proxy = DatabaseProxy()


class Table(Model):
    class Meta:
        database = proxy
        legacy_table_names = False


def key(to: Any, **options: Any) -> ForeignKeyField:
    """A reference without an index of its own: the pool-first indexes below serve."""
    return ForeignKeyField(to, index=False, **options)


def one_of(column: str, words: type[StrEnum]) -> Any:
    """A CHECK that lets these words alone into a column."""
    return Check(f"{column} IN ({', '.join(repr(str(word)) for word in words)})")


class Pool(Table):
    id = BigIntegerField(primary_key=True)
    name = TextField()
    zone = TextField()
    currency = TextField()
    place = TextField(default="")
    phone = TextField(default="")
    opening = TextField(default="{}")
    swap_check_s = BigIntegerField(default=1800, constraints=[Check("swap_check_s >= 0")])
    settings = TextField(default="{}")
    demo = BooleanField(default=False)
    revision = BigIntegerField(default=0)
    next_settle_at = BigIntegerField()
    version = BigIntegerField(default=1)
    created_at = BigIntegerField()


class Production(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    name = TextField()
    ended_at = BigIntegerField(null=True)
    version = BigIntegerField(default=1)

    class Meta:
        indexes = ((("pool", "name"), True),)


class Unit(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    production = key(Production)
    name = TextField()
    kind = TextField(constraints=[one_of("kind", UnitKind)])
    base = TextField(default="")
    phone = TextField(default="")
    way_s = BigIntegerField(default=0, constraints=[Check("way_s >= 0")])
    ended_at = BigIntegerField(null=True)
    version = BigIntegerField(default=1)

    class Meta:
        indexes = ((("pool", "production", "name"), True),)


class Person(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    name = TextField()
    job = TextField(default="")
    phone = TextField(default="")
    unit = key(Unit, null=True)
    ended_at = BigIntegerField(null=True)
    version = BigIntegerField(default=1)

    class Meta:
        indexes = ((("pool", "unit"), False),)


class Account(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    login = TextField(unique=True)
    name = TextField()
    password_hash = TextField(default="")
    role = TextField(
        constraints=[Check("role IN ('coordinator', 'mixer', 'assistant', 'supervisor')")]
    )
    units = TextField(default="[]")
    person = key(Person, null=True)
    demo = BooleanField(default=False)
    ended_at = BigIntegerField(null=True)
    version = BigIntegerField(default=1)

    class Meta:
        indexes = ((("pool", "id"), False),)


class Credential(Table):
    """A session, an API token, a wall link or an invitation: only the digest is kept."""

    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    account = key(Account, null=True)
    kind = TextField(constraints=[Check("kind IN ('session', 'token', 'wall', 'invitation')")])
    digest = TextField(unique=True)
    name = TextField(default="")
    role = TextField(default="")
    units = TextField(default="[]")
    created_at = BigIntegerField()
    expires_at = BigIntegerField()
    ended_at = BigIntegerField(null=True)

    class Meta:
        indexes = ((("pool", "kind", "id"), False),)


class SignInTry(Table):
    """Failed sign-ins, counted by login and by address, for the throttle."""

    subject = TextField(primary_key=True)
    failures = BigIntegerField()
    since = BigIntegerField()


class KitType(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    name = TextField()
    category = TextField()
    tracking = TextField(constraints=[one_of("tracking", Tracking)])
    count = BigIntegerField(default=0, constraints=[Check("count >= 0")])
    make = TextField(default="")
    model = TextField(default="")
    price_minor = BigIntegerField(null=True)
    mass_g = BigIntegerField(null=True)
    prep_s = BigIntegerField(default=0, constraints=[Check("prep_s >= 0")])
    check_in_s = BigIntegerField(default=0, constraints=[Check("check_in_s >= 0")])
    reorder_level = BigIntegerField(null=True)
    rechargeable = BooleanField(default=False)
    ways = BigIntegerField(default=0, constraints=[Check("ways >= 0")])
    traits = TextField(default="{}")
    goes_with = TextField(default="[]")
    substitutes = TextField(default="[]")
    notes = TextField(default="{}")
    version = BigIntegerField(default=1)

    class Meta:
        indexes = ((("pool", "name"), True),)


class Box(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    number = TextField()
    name = TextField(default="")
    inside = key("self", null=True)
    place = TextField(default="")
    version = BigIntegerField(default=1)

    class Meta:
        indexes = ((("pool", "number"), True),)


class BoxCount(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    box = key(Box)
    kit_type = key(KitType)
    quantity = BigIntegerField(constraints=[Check("quantity > 0")])

    class Meta:
        indexes = ((("pool", "box", "kit_type"), True),)


class Item(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    kit_type = key(KitType)
    tag = TextField()
    barcode = TextField(default="")
    serial_number = TextField(default="")
    radio_number = TextField(default="")
    owner = TextField(default="")
    owner_kind = TextField(default="house", constraints=[one_of("owner_kind", OwnerKind)])
    consent_required = BooleanField(default=False)
    condition = TextField(default="fit", constraints=[one_of("condition", Condition)])
    home_box = key(Box, null=True)
    frequency_hz = BigIntegerField(null=True)
    notes = TextField(default="{}")
    version = BigIntegerField(default=1)

    class Meta:
        indexes = (
            (("pool", "tag"), True),
            (("pool", "kit_type", "id"), False),
            (("pool", "barcode"), False),
        )


class ShootDay(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    unit = key(Unit)
    day = BigIntegerField()
    number = BigIntegerField()
    call_s = BigIntegerField()
    wrap_s = BigIntegerField()
    location = TextField(default="")
    latitude_e7 = BigIntegerField(null=True)
    longitude_e7 = BigIntegerField(null=True)
    inside = BooleanField(null=True)
    wind_dm_s = BigIntegerField(null=True)
    temperature_dc = BigIntegerField(null=True)
    radios = BigIntegerField(default=0)
    booms = BigIntegerField(default=0)
    listeners = BigIntegerField(default=0)
    mute = BooleanField(default=False)
    pre_rig_s = BigIntegerField(default=0)
    strike_s = BigIntegerField(default=0)
    notes = TextField(default="")
    version = BigIntegerField(default=1)

    class Meta:
        constraints = [Check("wrap_s > call_s")]
        indexes = ((("pool", "unit", "day"), True), (("pool", "wrap_s"), False))


class OutOfService(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    kit_type = key(KitType)
    item = key(Item, null=True)
    quantity = BigIntegerField(constraints=[Check("quantity > 0")])
    start_s = BigIntegerField()
    end_s = BigIntegerField()
    reason = TextField(default="")
    condition = TextField(null=True)
    recorded_at = BigIntegerField()
    version = BigIntegerField(default=1)

    class Meta:
        constraints = [Check("end_s > start_s"), Check("item_id IS NULL OR quantity = 1")]
        indexes = ((("pool", "kit_type", "end_s", "start_s"), False),)


class Booking(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    unit = key(Unit)
    state = TextField(constraints=[one_of("state", BookingState)])
    start_s = BigIntegerField()
    end_s = BigIntegerField()
    purpose = TextField(default="")
    who_pays = TextField(default="")
    order_number = TextField(default="")
    pencil_expires_at = BigIntegerField(null=True)
    created_at = BigIntegerField()
    created_by = key(Account, null=True)
    undo_until = BigIntegerField(null=True)
    version = BigIntegerField(default=1)

    class Meta:
        constraints = [Check("end_s > start_s")]
        indexes = (
            (("pool", "end_s", "start_s"), False),
            (("pool", "unit", "end_s"), False),
        )


Booking.add_index(
    Booking.index(
        Booking.pool,
        Booking.pencil_expires_at,
        name="booking_pencilled",
        where=SQL("state = 'pencilled'"),
    )
)


class Line(Table):
    """`from_s` and `until_s` are what the line occupies: prep and check-in included."""

    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    booking = key(Booking)
    unit = key(Unit)
    kit_type = key(KitType)
    item = key(Item, null=True)
    quantity = BigIntegerField(constraints=[Check("quantity >= 0")])
    start_s = BigIntegerField()
    end_s = BigIntegerField()
    from_s = BigIntegerField()
    until_s = BigIntegerField()
    prep_s = BigIntegerField(null=True)
    check_in_s = BigIntegerField(null=True)
    state = TextField(constraints=[one_of("state", BookingState)])
    rank = BigIntegerField()
    released = BigIntegerField(default=0, constraints=[Check("released >= 0")])
    gone = BigIntegerField(default=0, constraints=[Check("gone >= 0")])
    straight_from = key("self", null=True)

    class Meta:
        constraints = [
            Check("end_s > start_s AND from_s <= start_s AND until_s >= end_s"),
            Check("item_id IS NULL OR quantity <= 1"),
        ]
        indexes = (
            (("pool", "kit_type", "until_s", "from_s", "quantity"), False),
            (("pool", "booking"), False),
        )


Line.add_index(
    Line.index(
        Line.pool,
        Line.straight_from,
        name="line_straight",
        where=SQL("straight_from_id IS NOT NULL"),
    )
)


MORE_ON_SQLITE = {
    "line_pool_id_kit_type_id_until_s_from_s_quantity":
        ("gone", "state", "unit_id", "start_s", "end_s"),
}  # fmt: skip
"""What SQLite has in an index besides: all that figures count with, so that they need no row.

A year's 50,000 lines are rows anywhere in the file, and finding each by itself took a third of the
time. PostgreSQL reads whole pages of them, and would only write more with every booking.
"""


class LineItem(Table):
    """A piece fixed to a line: handed out on it, or a frequency given with the yes."""

    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    line = key(Line)
    item = key(Item)
    left_at = BigIntegerField(null=True)

    class Meta:
        indexes = ((("pool", "line", "item"), False),)


class Custody(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    kit_type = key(KitType)
    item = key(Item, null=True)
    quantity = BigIntegerField(constraints=[Check("quantity > 0")])
    unit = key(Unit)
    person = TextField(default="")
    booking = key(Booking, null=True)
    line = key(Line, null=True)
    out_at = BigIntegerField()
    due_at = BigIntegerField()
    promised_at = BigIntegerField(null=True)
    back_at = BigIntegerField(null=True)
    condition = TextField(null=True)

    class Meta:
        constraints = [Check("item_id IS NULL OR quantity = 1")]
        indexes = (
            (("pool", "line"), False),
            (("pool", "unit", "back_at"), False),
            (("pool", "item", "back_at"), False),
        )


Custody.add_index(
    Custody.index(
        Custody.pool,
        Custody.item,
        unique=True,
        name="custody_one_open",
        where=SQL("back_at IS NULL"),
    )
)
Custody.add_index(
    Custody.index(Custody.pool, Custody.kit_type, name="custody_open", where=SQL("back_at IS NULL"))
)


class CustodyEvent(Table):
    """What was scanned or said, as it came: appended, never changed. `key` is the sender's."""

    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    key = TextField()
    account = ForeignKeyField(Account, null=True, index=False)
    kind = TextField()
    happened_at = BigIntegerField()
    recorded_at = BigIntegerField()
    body_digest = TextField()
    outcome = TextField()

    class Meta:
        indexes = ((("pool", "key"), True), (("pool", "id"), False))


class Reminder(Table):
    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    key = TextField()
    kind = TextField()
    stage = TextField()
    severity = TextField()
    to = TextField()
    unit = ForeignKeyField(Unit, null=True, index=False)
    booking = ForeignKeyField(Booking, null=True, index=False)
    due_at = BigIntegerField()
    about = TextField(default="{}")
    state = TextField(constraints=[Check("state IN ('due', 'seen', 'done', 'ended')")])
    told_at = BigIntegerField()
    seen_at = BigIntegerField(null=True)
    seen_by = ForeignKeyField(Account, null=True, index=False)
    done_at = BigIntegerField(null=True)
    done_by = ForeignKeyField(Account, null=True, index=False)
    ended_at = BigIntegerField(null=True)

    class Meta:
        indexes = ((("pool", "key"), True), (("pool", "state", "due_at"), False))


class Journal(Table):
    """Who did what, when, before and after. Ids only: a person can be erased elsewhere."""

    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    seq = BigIntegerField()
    at = BigIntegerField()
    account = key(Account, null=True)
    verb = TextField()
    subject_kind = TextField()
    subject = BigIntegerField()
    before = TextField(null=True)
    after = TextField(null=True)

    class Meta:
        indexes = (
            (("pool", "seq"), False),
            (("pool", "subject_kind", "subject", "seq"), False),
        )


class IdempotencyKey(Table):
    """What a creating request led to, so that the same key gives the same answer."""

    id = BigIntegerField(primary_key=True)
    pool = key(Pool)
    owner = BigIntegerField()
    key = TextField()
    body_digest = TextField()
    outcome = TextField()
    created_at = BigIntegerField()

    class Meta:
        indexes = ((("pool", "owner", "key"), True),)


class Lease(Table):
    """Who runs the scheduler: the holder until `until_ms`; `fence` grows with each new holder."""

    name = TextField(primary_key=True)
    holder = TextField()
    fence = BigIntegerField()
    until_ms = BigIntegerField()


ALL: tuple[type[Table], ...] = (
    Pool,
    Production,
    Unit,
    Person,
    Account,
    Credential,
    SignInTry,
    KitType,
    Box,
    BoxCount,
    Item,
    ShootDay,
    OutOfService,
    Booking,
    Line,
    LineItem,
    Custody,
    CustodyEvent,
    Reminder,
    Journal,
    IdempotencyKey,
    Lease,
)
