"""Pools, productions, units, people and shoot days as values."""

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any

from crossload.domain.window import Id, Instant, Window


class UnitKind(StrEnum):
    MAIN = "main"
    SECOND = "second"
    SPLINTER = "splinter"
    PICK_UPS = "pick-ups"


@dataclass(frozen=True, slots=True)
class Pool:
    """All kit that a group of units shares. `opening` is the house's hours (`domain.hours`).

    `swap_check_s` is how long kit is looked over that goes straight from one unit to another; half
    an hour to start, common practice, no published source.
    """

    id: Id
    name: str
    zone: str
    currency: str
    place: str = ""
    phone: str = ""
    opening: dict[str, Any] = field(default_factory=dict)
    swap_check_s: int = 1800
    settings: dict[str, Any] = field(default_factory=dict)
    demo: bool = False
    version: int = 1


@dataclass(frozen=True, slots=True)
class Production:
    id: Id
    name: str
    ended_at: Instant | None = None
    version: int = 1


@dataclass(frozen=True, slots=True)
class Unit:
    """A shooting unit. `way_s` is the time kit takes between the house and its base."""

    id: Id
    production: Id
    name: str
    kind: UnitKind = UnitKind.SECOND
    base: str = ""
    phone: str = ""
    way_s: int = 0
    ended_at: Instant | None = None
    version: int = 1


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of a unit, or of the house when `unit` is None."""

    id: Id
    name: str
    job: str = ""
    phone: str = ""
    unit: Id | None = None
    ended_at: Instant | None = None
    version: int = 1


@dataclass(frozen=True, slots=True)
class ShootDay:
    """One unit's working day, with its own number; a night belongs to the day of its call.

    Positions are in degrees × 10⁷, wind in m/s × 10, temperature in °C × 10, all integers.
    """

    id: Id
    unit: Id
    day: date
    number: int
    call_s: Instant
    wrap_s: Instant
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
    version: int = 1

    @property
    def window(self) -> Window:
        """From call to wrap."""
        return Window(self.call_s, self.wrap_s)
