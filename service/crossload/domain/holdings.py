"""From what is recorded (lines, custody, out of service) to the claims that the judges weigh."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum

from crossload.domain.booking import BookingState
from crossload.domain.claims import Claim
from crossload.domain.custody import Custody, OutOfService
from crossload.domain.window import Id, Instant, Window


@dataclass(frozen=True, slots=True)
class HeldLine:
    """A live line as far as it claims kit; `pieces` are those named by it or fixed to it."""

    line: Id
    booking: Id
    unit: Id
    kit_type: Id
    state: BookingState
    rank: int
    quantity: int
    start: Instant
    end: Instant
    occupied: Window
    pieces: tuple[Id, ...] = ()


class Ground(StrEnum):
    """Why a claim stands."""

    LINE = "line"
    OUT = "out"
    """Out without a live line: late after its booking ended, or handed out without one."""
    SERVICE = "out of service"


@dataclass(frozen=True, slots=True)
class About:
    """Whose a claim is."""

    ground: Ground
    held: HeldLine | None = None
    custody: Custody | None = None
    service: OutOfService | None = None

    @property
    def booking(self) -> Id | None:
        return self.held.booking if self.held else self.custody.booking if self.custody else None


FreeAfter = Callable[[Custody], Instant]
"""When a piece that is still out will be free again: expected return and check-in."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """All that is recorded of one kit type and can still matter."""

    lines: tuple[HeldLine, ...] = ()
    out: tuple[Custody, ...] = ()
    service: tuple[OutOfService, ...] = ()


def claims(recorded: Recorded, free_after: FreeAfter) -> list[Claim]:
    """Claims in no order. A line's claim grows until its late pieces are free again."""
    made = _service_claims(recorded)
    out_of: dict[Id, list[Custody]] = defaultdict(list)
    live = {held.line for held in recorded.lines}
    for custody in recorded.out:
        if custody.line in live:
            out_of[custody.line].append(custody)
        elif not _held_by_service(custody, recorded.service):
            made.append(_alone(custody, free_after(custody)))
    for held in recorded.lines:
        made.extend(_line_claims(held, out_of.get(held.line, ()), free_after))
    return made


def _service_claims(recorded: Recorded) -> list[Claim]:
    """Overlapping windows of one item count once."""
    made: list[Claim] = []
    by_item: dict[Id, list[OutOfService]] = defaultdict(list)
    for service in recorded.service:
        if service.item is None:
            about = About(Ground.SERVICE, service=service)
            made.append(Claim(Window(service.start_s, service.end_s), service.quantity, (), about))
        else:
            by_item[service.item].append(service)
    for item, windows in by_item.items():
        windows.sort(key=lambda service: (service.start_s, service.end_s))
        start, end, first = windows[0].start_s, windows[0].end_s, windows[0]
        for service in windows[1:]:
            if service.start_s <= end:
                end = max(end, service.end_s)
                continue
            made.append(Claim(Window(start, end), 1, (item,), About(Ground.SERVICE, service=first)))
            start, end, first = service.start_s, service.end_s, service
        made.append(Claim(Window(start, end), 1, (item,), About(Ground.SERVICE, service=first)))
    return made


def _held_by_service(custody: Custody, services: Iterable[OutOfService]) -> bool:
    """A piece that is out and out of service too is missing once, not twice."""
    return any(
        custody.item is not None
        and service.item == custody.item
        and service.start_s <= custody.due_at
        and service.end_s > custody.out_at
        for service in services
    )


def _alone(custody: Custody, free: Instant) -> Claim:
    items = () if custody.item is None else (custody.item,)
    window = Window(custody.out_at, max(free, custody.out_at + 1))
    return Claim(window, custody.quantity, items, About(Ground.OUT, custody=custody))


def _line_claims(held: HeldLine, out: Iterable[Custody], free_after: FreeAfter) -> list[Claim]:
    about = About(Ground.LINE, held=held)
    named: dict[Instant, list[Id]] = defaultdict(list)
    counted: dict[Instant, int] = defaultdict(int)
    late = {
        custody.item: max(free_after(custody), held.occupied.end) for custody in out if custody.item
    }
    for piece in held.pieces:
        named[late.get(piece, held.occupied.end)].append(piece)
    rest = held.quantity - len(held.pieces)
    for custody in out:
        if custody.item is None and rest > 0:
            some = min(custody.quantity, rest)
            counted[max(free_after(custody), held.occupied.end)] += some
            rest -= some
    if rest > 0:
        counted[held.occupied.end] += rest
    start, rank = held.occupied.start, held.rank
    return [
        Claim(Window(start, end), len(pieces), tuple(pieces), about, rank)
        for end, pieces in named.items()
    ] + [Claim(Window(start, end), quantity, (), about, rank) for end, quantity in counted.items()]
