"""From what is recorded (lines, custody, out of service) to the claims that the judges weigh."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain

from crossload.domain.booking import BookingState
from crossload.domain.claims import Claim
from crossload.domain.custody import Custody, OutOfService
from crossload.domain.straight import handed_on
from crossload.domain.window import Id, Instant, Window, merged


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
    check_in_s: int | None = None
    """The line's own check-in, where it overrides its kit type's."""
    straight_from: Id | None = None
    """The line that this one takes its kit over from, where it does not come from the house."""


class Ground(StrEnum):
    """Why a claim stands."""

    LINE = "line"
    """A live line; with a `custody`, what it has out."""
    OUT = "out"
    """Out beside all live lines: after its booking ended, without one, or more than its line."""
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
        """The booking of the line, or that kit went out on; None for what is in none."""
        return self.held.booking if self.held else self.custody.booking if self.custody else None


FreeAfter = Callable[[Custody, int | None], Instant]
"""When a piece that is still out will be free again: expected return and check-in.

The number is the check-in of the line it is out on, None for its kit type's.
"""


@dataclass(frozen=True, slots=True)
class Recorded:
    """All that is recorded of one kit type and can still matter."""

    lines: tuple[HeldLine, ...] = ()
    out: tuple[Custody, ...] = ()
    service: tuple[OutOfService, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """The claims of a line that is asked for; `line` is the one that it changes."""

    claims: tuple[Claim, ...]
    line: Id | None = None
    straight_from: Id | None = None


def claims(recorded: Recorded, free_after: FreeAfter) -> list[Claim]:
    """Claims in no order.

    What is out is a fact, and does not add to its line: it takes the line's place from when it went
    out until it is free again, however late, and at least through what the line occupies. What is
    out on a line that has no room for it (a piece found suspect has left its line, or the line
    shrank) is held beside it. A piece that is out and out of service has two claims, and as facts on
    one piece these count once (`capacity.held`). What goes straight from one line to another is one
    hold (`domain.straight`).
    """
    return claims_beside(recorded, free_after, ())[0]


def claims_beside(
    recorded: Recorded, free_after: FreeAfter, asked: Sequence[Asked]
) -> tuple[list[Claim], list[list[Claim]]]:
    """`claims` beside what is asked for, and the claims of that, fitted where kit goes straight.

    What changes a recorded line stands in its place.
    """
    made = _Claims(recorded, free_after)
    made.add_all()
    keys = [each.line or Id(-1 - index) for index, each in enumerate(asked)]
    for key, each in zip(keys, asked, strict=True):
        made.of[key] = list(each.claims)
    givers = {held.line: held.straight_from for held in recorded.lines if held.straight_from}
    givers |= {k: e.straight_from for k, e in zip(keys, asked, strict=True) if e.straight_from}
    made.hand_on({key: giver for key, giver in givers.items() if giver in made.of and made.of[key]})
    own = {key: made.of.pop(key) for key in keys}
    return [*made.beside, *chain.from_iterable(made.of.values())], list(own.values())


class _Claims:
    """The claims of one kit type in the making: `of` each line, and `beside` them."""

    def __init__(self, recorded: Recorded, free_after: FreeAfter) -> None:
        self._recorded, self._free_after = recorded, free_after
        self.beside: list[Claim] = []
        self.of: dict[Id, list[Claim]] = {}

    def add_all(self) -> None:
        self._add_service()
        lines = {held.line for held in self._recorded.lines}
        out_of: dict[Id, list[Custody]] = defaultdict(list)
        for custody in self._recorded.out:
            if custody.line in lines:
                out_of[custody.line].append(custody)
            else:
                self._add_beside(custody, custody.quantity)
        for held in self._recorded.lines:
            self.of[held.line] = []
            self._add_line(held, out_of.get(held.line, ()))

    def hand_on(self, givers: Mapping[Id, Id]) -> None:
        """Fit takers and their givers to each other, the last in time first: a taker may hand on too."""
        for taker in sorted(givers, key=lambda taker: -self.of[taker][0].window.start):
            giver = givers[taker]
            others = [claim for key, some in self.of.items() if key != giver for claim in some]
            named = {item for claim in [*self.beside, *others] for item in claim.items}
            named -= {item for claim in self.of[taker] for item in claim.items}
            self.of[giver], self.of[taker] = handed_on(
                self.of[giver], self.of[taker], taker, is_late=self._late, wanted=named
            )

    def _late(self, giver: Claim, taker: Claim) -> Instant | None:
        """Until when the giver's kit is away, where that is past what the taker has it for."""
        custody = giver.about.custody if isinstance(giver.about, About) else None
        if custody is None:
            return None
        held = taker.about.held if isinstance(taker.about, About) else None
        back = self._free_after(custody, 0)
        return back if back > (held.start if held else taker.window.start) else None

    def _add_service(self) -> None:
        """Overlapping windows of one item count once; `about` has the first of them."""
        by_item: dict[Id, list[OutOfService]] = defaultdict(list)
        for service in self._recorded.service:
            if service.item is None:
                about = About(Ground.SERVICE, service=service)
                window = Window(service.start_s, service.end_s)
                self.beside.append(Claim(window, service.quantity, (), about))
            else:
                by_item[service.item].append(service)
        for item, services in by_item.items():
            services.sort(key=lambda service: service.start_s)
            windows = merged(Window(service.start_s, service.end_s) for service in services)
            for window in windows:
                first = next(service for service in services if service.start_s == window.start)
                about = About(Ground.SERVICE, service=first)
                self.beside.append(Claim(window, 1, (item,), about))

    def _add_line(self, held: HeldLine, out: Iterable[Custody]) -> None:
        pieces, rest = list(held.pieces), held.quantity - len(held.pieces)
        for custody in out:
            within = 0
            if custody.item in pieces:
                pieces.remove(custody.item)
                within = 1
            elif custody.item is None:
                within = min(custody.quantity, max(rest, 0))
                rest -= within
            self._add_within(held, custody, within)
            self._add_beside(custody, custody.quantity - within, held.check_in_s)
        about = About(Ground.LINE, held=held)
        if pieces:
            own = tuple(pieces)
            self.of[held.line].append(Claim(held.occupied, len(own), own, about, held.rank))
        if rest > 0:
            self.of[held.line].append(Claim(held.occupied, rest, (), about, held.rank))

    def _add_within(self, held: HeldLine, custody: Custody, quantity: int) -> None:
        """What a line has out, in place of the line."""
        about = About(Ground.LINE, held=held, custody=custody)
        start = min(custody.out_at, held.occupied.start)
        end = max(self._free_after(custody, held.check_in_s), held.occupied.end)
        _add_fact(self.of[held.line], custody, quantity, Window(start, end), about)

    def _add_beside(self, custody: Custody, quantity: int, check_in_s: int | None = None) -> None:
        """What is out and in no line."""
        end = max(self._free_after(custody, check_in_s), custody.out_at + 1)
        about = About(Ground.OUT, custody=custody)
        _add_fact(self.beside, custody, quantity, Window(custody.out_at, end), about)


def _add_fact(
    to: list[Claim], custody: Custody, quantity: int, window: Window, about: About
) -> None:
    if quantity >= 1:
        items = () if custody.item is None else (custody.item,)
        to.append(Claim(window, quantity, items, about))
