"""People, and kit out of service, as somebody writes them in a table."""

from dataclasses import dataclass, field
from datetime import date, time

from crossload.domain.kit import Condition
from crossload.domain.people import Role
from crossload.domain.row_problem import RowProblem


@dataclass(frozen=True, slots=True)
class PersonRow:
    """Somebody of a unit, or of the house where `unit` is empty. Without a login: no account."""

    name: str
    job: str = ""
    unit: str = ""
    phone: str = ""
    login: str = ""
    role: Role | None = None
    row: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class OutOfServiceRow:
    """A piece by tag, or a number of a counted kit type; `until_day` None: until further notice.

    Times are wall times of the pool's zone, on the dates given.
    """

    kit_type: str
    tag: str
    quantity: int
    from_day: date
    from_time: time
    until_day: date | None = None
    until_time: time | None = None
    condition: Condition | None = None
    reason: str = ""
    row: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class PeopleList:
    rows: tuple[PersonRow, ...]
    problems: tuple[RowProblem, ...]


@dataclass(frozen=True, slots=True)
class OutOfServiceList:
    rows: tuple[OutOfServiceRow, ...]
    problems: tuple[RowProblem, ...]
