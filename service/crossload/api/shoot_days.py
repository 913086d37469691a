"""/shoot-days: each unit's working days, by their own numbers."""

from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery
from crossload.api.fields import (
    DayField,
    Flag,
    IdField,
    Inside,
    InstantField,
    Int,
    ListOf,
    Shape,
    Text,
)
from crossload.api.plain import Shapes, serve
from crossload.usecases.shoot_days import SHOOT_DAYS

blueprint = Blueprint(
    "shoot-days", __name__, url_prefix="/api/v1/shoot-days", description="Units' working days."
)

MOST_IN_USE = 10_000
WEEK_S = 7 * 86_400


class ShootDayChange(Shape):
    """Whatever is left out stays as it is.

    A night belongs to the date of its call. Positions are in degrees × 10⁷, wind in m/s × 10,
    temperature in °C × 10.
    """

    number = Int(0, 9999)
    call = InstantField("start", attribute="call_s")
    wrap = InstantField("end", attribute="wrap_s")
    location = Text(200)
    latitude_e7 = Int(-900_000_000, 900_000_000, allow_none=True)
    longitude_e7 = Int(-1_800_000_000, 1_800_000_000, allow_none=True)
    inside = Flag(allow_none=True)
    wind_dm_s = Int(0, 1000, allow_none=True)
    temperature_dc = Int(-900, 700, allow_none=True)
    radios = Int(0, MOST_IN_USE)
    booms = Int(0, MOST_IN_USE)
    listeners = Int(0, MOST_IN_USE)
    mute = Flag()
    pre_rig_s = Int(0, WEEK_S)
    strike_s = Int(0, WEEK_S)
    notes = Text(4000, lines=True)


class ShootDayBody(ShootDayChange):
    unit_id = IdField(attribute="unit", required=True)
    number = Int(0, 9999, required=True)
    call = InstantField("start", attribute="call_s", required=True)
    wrap = InstantField("end", attribute="wrap_s", required=True)


class ShootDayFull(Shape):
    id = IdField(required=True)
    unit_id = IdField(attribute="unit", required=True)
    day = DayField(required=True, metadata={"format": "date"})
    number = Int(required=True)
    call = InstantField(attribute="call_s", required=True)
    wrap = InstantField(attribute="wrap_s", required=True)
    location = Text(required=True)
    latitude_e7 = Int(-900_000_000, required=True, allow_none=True)
    longitude_e7 = Int(-1_800_000_000, required=True, allow_none=True)
    inside = Flag(required=True, allow_none=True)
    wind_dm_s = Int(required=True, allow_none=True)
    temperature_dc = Int(-900, required=True, allow_none=True)
    radios = Int(required=True)
    booms = Int(required=True)
    listeners = Int(required=True)
    mute = Flag(required=True)
    pre_rig_s = Int(required=True)
    strike_s = Int(required=True)
    notes = Text(4000, lines=True, required=True)
    version = Int(1, required=True)


class ShootDaysPage(Shape):
    shoot_days = ListOf(Inside(ShootDayFull), required=True)


class ShootDaysQuery(PageQuery):
    """Of one unit, from one date to another, both included."""

    unit = IdField()
    since = DayField(data_key="from")
    until = DayField(data_key="to")


serve(
    blueprint,
    SHOOT_DAYS,
    Shapes(ShootDayFull, ShootDaysPage, ShootDayBody, ShootDayChange, ShootDaysQuery),
    "shoot days",
)
