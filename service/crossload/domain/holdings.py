"""From what is recorded (lines, custody, out of service) to the claims that the judges weigh."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import chain

from crossload.domain.booking import BookingState
from crossload.domain.claims import Claim
from crossload.domain.custody import Custody, OutOfService
from crossload.domain.straight import Key, Own, hand_on, with_names
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


HandedAt = Callable[[Custody, Instant], Instant | None]
"""Until when what is out is away, if that is past the instant by which it is to be handed on."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A line that is asked for: what it would hold by itself, and what it would take over.

    `line` is the recorded one that it changes, `window` what it is asked for.
    """

    claims: tuple[Claim, ...]
    window: Window
    line: Id | None = None
    straight_from: Id | None = None
    taking: tuple[Claim, ...] = ()


def claims(
    recorded: Recorded, free_after: FreeAfter, late: HandedAt = lambda _, __: None
) -> list[Claim]:
    """Claims in no order.

    What is out is a fact, and does not add to its line: it takes the line's place from when it went
    out until it is free again, however late, and at least through what the line occupies. What is
    out on a line that has no room for it (a piece found suspect has left its line, or the line
    shrank) is held beside it. A piece that is out and out of service has two claims, and as facts on
    one piece these count once (`capacity.held`). What goes straight from one line to another is one
    hold (`domain.straight`), until it is out on the other.
    """
    return claims_beside(recorded, free_after, (), late)[0]


def claims_beside(
    recorded: Recorded,
    free_after: FreeAfter,
    asked: Sequence[Asked],
    late: HandedAt = lambda _, __: None,
) -> tuple[list[Claim], list[list[Claim]]]:
    """`claims` beside what is asked for, and the claims of that, fitted where kit goes straight.

    What changes a recorded line stands in its place, and who takes over from that one follows it.
    """
    made = _Claims(recorded, free_after, late)
    made.add_all()
    keys = [made.ask(index, each) for index, each in enumerate(asked)]
    hand_on(made.of, made.beside, _is_to_come, made.late_by)
    found = made.all()
    own = [found.pop(key) for key in keys]
    return [*made.beside, *chain.from_iterable(found.values())], own


_OWN = "own"
"""Whose a claim is that an asker's line has by itself already."""


def _is_to_come(claim: Claim) -> bool:
    """Whether what a line claims can still be taken over: it is not out on it, nor its own."""
    if isinstance(claim.about, About):
        return claim.about.custody is None
    return claim.about != _OWN


class _Claims:
    """The claims of one kit type in the making: `of` each line, and `beside` them."""

    def __init__(self, recorded: Recorded, free_after: FreeAfter, late: HandedAt) -> None:
        self._recorded, self._free_after, self._late = recorded, free_after, late
        self.beside: list[Claim] = []
        self.of: dict[Key, Own] = {}

    def add_all(self) -> None:
        self._add_service()
        lines = {held.line for held in self._recorded.lines}
        out_of: dict[Id, list[Custody]] = defaultdict(list)
        for custody in self._recorded.out:
            if custody.line in lines:
                out_of[custody.line].append(custody)
            else:
                self._add_beside(custody, custody.quantity)
        for held in sorted(self._recorded.lines, key=lambda held: held.line):
            self.of[held.line] = Own(Window(held.start, held.end), held.straight_from, [])
            self._add_line(held, out_of.get(held.line, ()))

    def ask(self, index: int, asked: Asked) -> Key:
        """Add what is asked for, or put it in its line's place; takers follow that one's end."""
        key: Key = ("asked", index) if asked.line is None else asked.line
        own = [replace(claim, about=_OWN) for claim in asked.claims]
        self.of[key] = Own(asked.window, asked.straight_from, [*own, *asked.taking])
        for taker in self.of.values():
            if asked.line and taker.straight_from == key and asked.window.end <= taker.window.start:
                taker.follow(asked.window.end, _is_to_come)
        return key

    def all(self) -> dict[Key, list[Claim]]:
        """The claims of each line, with the names that what goes straight has at either end."""
        found = {key: [*own.left, *own.handed] for key, own in self.of.items()}
        known = [claim for some in found.values() for claim in some if claim.strand]
        return {key: with_names(some, known) for key, some in found.items()} if known else found

    def late_by(self, giver: Claim, by: Instant) -> Instant | None:
        """Until when the kit of a claim is away, if that is past then."""
        custody = giver.about.custody if isinstance(giver.about, About) else None
        return None if custody is None else self._late(custody, by)

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
            self.of[held.line].left.append(Claim(held.occupied, len(own), own, about, held.rank))
        if rest > 0:
            self.of[held.line].left.append(Claim(held.occupied, rest, (), about, held.rank))

    def _add_within(self, held: HeldLine, custody: Custody, quantity: int) -> None:
        """What a line has out, in place of the line."""
        about = About(Ground.LINE, held=held, custody=custody)
        start = min(custody.out_at, held.occupied.start)
        end = max(self._free_after(custody, held.check_in_s), held.occupied.end)
        _add_fact(self.of[held.line].left, custody, quantity, Window(start, end), about)

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
