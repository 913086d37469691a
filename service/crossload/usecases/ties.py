"""What other units take over from a booking that stands: what that forbids, and what follows."""

from datetime import datetime

from crossload.domain.booking import LIVE, Ask, Booking, BookingState, Line, Wanted
from crossload.domain.holdings import HeldLine
from crossload.domain.window import Id, Instant
from crossload.storage.stores import Stores
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Conflict
from crossload.usecases.recorded import is_confirmed
from crossload.usecases.straight import gap_s


class Ties:
    """What other units take over from a booking, as it stands when this is made."""

    def __init__(self, stores: Stores, booking: Booking, now: Instant, account: Id | None = None):
        self.stores, self.booking, self.account = stores, booking, account
        self.clockwork = Clockwork(stores, now)
        self.lines = {line.id: line for line in booking.lines if line.state in LIVE}
        found = stores.held.straight(list(self.lines)) if self.lines else []
        self.takers = [
            (self.lines[held.straight_from], held)
            for held in found
            if held.straight_from in self.lines
        ]

    def must_leave(self, line: Line, quantity: int) -> None:
        """Conflict where so many do not do for what is still to be handed on, of a line that stays."""
        takers = [held for giver, held in self.takers if giver == line and is_confirmed(held)]
        went = self.stores.custodies.of_lines([taker.line for taker in takers]) if takers else {}
        gone = sum(custody.quantity for some in went.values() for custody in some)
        needed = sum(taker.quantity for taker in takers) - gone
        if quantity < needed:
            raise Conflict(
                f"{needed} of {self._kit(line)} go straight from here to {self._unit(takers[0])}:"
                " leave as many, drop the whole line, or have that booking changed first"
            )

    def must_allow(self, ask: Ask) -> None:
        """Conflict where a changed booking would keep back what another unit takes over by then."""
        kept = self._kept(ask)
        for id, wanted in kept.items():
            self.must_leave(self.lines[id], wanted.quantity)
        for line, taker in self.takers:
            if line.id not in kept or not is_confirmed(taker):
                continue
            by = taker.start - gap_s(self.clockwork, taker.unit)
            until = self._until(line, ask, kept[line.id])
            too_late = ask.window.end > max(by, self.booking.window.end)
            if too_late or until > max(taker.occupied.end, line.occupied.end):
                raise Conflict(
                    f"{taker.quantity} of {self._kit(line)} go straight from here to"
                    f" {self._unit(taker)}, who need them by"
                    f" {datetime.fromtimestamp(by, self.clockwork.zone):%Y-%m-%d %H:%M}:"
                    " end no later, or have that booking changed first"
                )

    def follow(self, ask: Ask) -> None:
        """Have takers hold the kit from where it ends now, and let go of lines that are dropped."""
        kept = self._kept(ask)
        for line in self.lines.values():
            if line.id not in kept:
                self.untie(line)
        for line, taker in self.takers:
            if line.id not in kept:
                continue
            if ask.window.end + gap_s(self.clockwork, taker.unit) <= taker.start:
                self._tie(taker, line.id, ask.window.end)
            else:  # a pencil, which has nothing to lose
                self._tie(taker, None, taker.occupied.start)

    def give_up(self, line: Line, quantity: int) -> int:
        """So many of a line are given up, a whole one with its ties; answers how many are left."""
        left, released = line.quantity - quantity, line.released + quantity
        if left > 0:
            self.stores.bookings.change_line(line.id, quantity=left, released=released)
        else:
            state = str(BookingState.RELEASED)
            self.stores.bookings.change_line(line.id, state=state, released=released)
            self.untie(line)
        return left

    def untie(self, line: Line) -> None:
        """A line is given up: its takers have its kit from its own giver, or else from the house."""
        for giver, taker in self.takers:
            if giver == line:
                since = taker.occupied.start if line.straight_from is None else line.occupied.start
                self._tie(taker, line.straight_from, since)

    def _tie(self, taker: HeldLine, giver: Id | None, since: Instant) -> None:
        """Another booking is changed by this one: it is told there, and is a new version."""
        before, after = (taker.straight_from, taker.occupied.start), (giver, since)
        if before == after:
            return
        bookings, now = self.stores.bookings, self.clockwork.now
        bookings.change_line(taker.line, straight_from_id=giver, from_s=since)
        bookings.change(taker.booking, None)
        told = ({"straight": [taker.line, *of]} for of in (before, after))
        self.stores.journal.write(self.account, "changed", "booking", taker.booking, now, *told)

    def _kept(self, ask: Ask) -> dict[Id, Wanted]:
        """What is wanted of the lines that stay: one that is to be other kit has no id by then."""
        return {one.line: one for one in ask.lines if one.line is not None}

    def _until(self, line: Line, ask: Ask, wanted: Wanted) -> Instant:
        kit = self.stores.kit_types.some([line.kit_type])[line.kit_type]
        return self.clockwork.occupied(ask.window, kit, None, wanted.check_in_s).end

    def _kit(self, line: Line) -> str:
        return self.stores.kit_types.some([line.kit_type])[line.kit_type].name

    def _unit(self, taker: HeldLine) -> str:
        unit = self.stores.units.get(taker.unit)
        return unit.name if unit else "another unit"
