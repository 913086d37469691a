"""Shoot days as somebody writes them in a table: local wall times, units by name."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from crossload.domain.row_problem import RowProblem


@dataclass(frozen=True, slots=True)
class ShootDayRow:
    """One unit's working day. Times are wall times of the pool's zone.

    A wrap that is before its call is on the next day. Positions, wind and temperature are in the
    units of `domain.shoot.ShootDay`.
    """

    unit: str
    day: date
    number: int
    call: time
    wrap: time
    location: str = ""
    latitude_e7: int | None = None
    longitude_e7: int | None = None
    inside: bool | None = None
    wind_dm_s: int | None = None
    temperature_dc: int | None = None
    radios: int = 0
    booms: int = 0
    listeners: int = 0
    mute: bool = False
    pre_rig_s: int = 0
    strike_s: int = 0
    notes: str = ""
    row: int = field(default=0, compare=False)

    @property
    def wrap_day(self) -> date:
        """The local day that the wrap falls on."""
        return self.day if self.wrap > self.call else self.day + timedelta(days=1)

    def wall_times(self) -> tuple[datetime, datetime]:
        """Call and wrap without a zone, fit only to be compared with each other."""
        return datetime.combine(self.day, self.call), datetime.combine(self.wrap_day, self.wrap)


@dataclass(frozen=True, slots=True)
class ShootDayList:
    """What a file holds, as in `domain.kit_list.KitList`."""

    rows: tuple[ShootDayRow, ...]
    problems: tuple[RowProblem, ...]
    headers: dict[str, str]
    left_out: tuple[str, ...] = ()

    @property
    def columns(self) -> frozenset[str]:
        """The fields that the file has a column for."""
        return frozenset(self.headers)
