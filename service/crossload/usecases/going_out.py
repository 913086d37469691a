"""Kit goes out: by tag to a line that it fixes, by number, or without a booking."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from crossload.domain.booking import LIVE, BookingState, Line
from crossload.domain.claims import Claim
from crossload.domain.custody import Custody
from crossload.domain.holdings import Asked
from crossload.domain.judge import judge as weigh
from crossload.domain.kit import Condition, Item, KitType, Tracking
from crossload.domain.window import Id, Window
from crossload.storage.ids import new_id
from crossload.usecases.cautions import Given, all_cautions
from crossload.usecases.errors import Conflict, Invalid
from crossload.usecases.granting import the_booking, told
from crossload.usecases.judging import QUICK_S
from crossload.usecases.moving import Moving
from crossload.usecases.recorded import World, held_by, is_confirmed
from crossload.usecases.ties import Ties

WithOut = Callable[[Id], tuple[list[Claim], list[Claim]]]
"""With a piece gone out: the claims that stand, and what it is weighed for."""


class GoingOut(Moving):
    """Out of the house, to a booking's unit or to whom the event says."""

    def _cautions(self) -> list[str]:
        given = (
            Given(each["kit_type_id"], each["quantity"], each["item_id"]) for each in self.moved
        )
        return all_cautions(self.names, given)

    def move(self) -> None:
        unit, lines = self._to_whom()
        for index, piece in enumerate(self.event.pieces):
            item, kit = self._resolve(index, piece)
            if item is not None:
                self._item_out(item, kit, unit, lines)
            else:
                self._count_out(index, kit, piece.quantity, unit, lines)

    def _to_whom(self) -> tuple[Id, list[Line]]:
        if self.event.booking is None:
            if self.event.unit is None or self.stores.units.get(self.event.unit) is None:
                raise Invalid([("/unit_id", "say to which unit: booking_id or unit_id")])
            self.actor.must("hand out and take back", self.event.unit)
            return self.event.unit, []
        booking = the_booking(self.stores, self.event.booking)
        self.actor.must("hand out and take back", booking.unit)
        if booking.state is not BookingState.CONFIRMED:
            raise Conflict(f"this booking is {booking.state}: kit goes out on a confirmed one")
        return booking.unit, [
            line for line in booking.lines if line.state is BookingState.CONFIRMED
        ]

    def _item_out(
        self,
        item: Item,
        kit: KitType,
        unit: Id,
        lines: Sequence[Line],
        given: Custody | None = None,
    ) -> None:
        """`given` is where a piece was until now that has not been back at the house."""
        standing = self.stores.custodies.of_item(item.id)
        line = self._line_for(lines, item, standing or given)
        if standing is not None:
            if standing.line is None or line is None or line.straight_from != standing.line:
                where = self.names.unit(standing.unit)
                raise Conflict(f"{item.tag} is out already, with {where}: take it back first")
            given = standing
            self._take_over(given)
        self._must_not_be_before(self.stores.custodies.last_back(item.id), "it came back")
        if item.condition is Condition.RETIRED:
            raise Conflict(f"{item.tag} is retired, and in no stock: take another")
        if item.condition is not Condition.FIT and not self.event.anyway:
            raise Conflict(f"{item.tag} is {item.condition}: take another, or hand it out anyway")
        if self.event.booking is not None and line is None and not self.event.anyway:
            raise Conflict(
                f"this booking has no line left for {kit.name}: add one, or hand it out anyway"
            )
        self._must_not_endanger(item, kit, line, given.line if given else None)
        joins = line is not None and item.id not in (*line.pieces, line.item)
        if line is not None and joins:
            self.stores.bookings.fix(line.id, item.id)
        self._open(kit, item, 1, unit, line)
        self.moved[-1]["joined"] = joins
        if given is not None and line is not None and line.id != given.line:
            self.moved[-1]["handed_on"] = self._give_up(given, 1, line)

    def _take_over(self, custody: Custody) -> None:
        """What is handed on serves its old line no longer."""
        self._end(custody, Condition.FIT)
        if custody.line is not None and custody.item is not None:
            self.stores.bookings.unfix(custody.item, self.now, line=custody.line)

    def _give_up(self, given: Custody, quantity: int, taker: Line) -> bool:
        """The giver's line is so many less that went as booked, or less the piece that it named."""
        if given.booking is None:
            return False
        booking = the_booking(self.stores, given.booking)
        line = next(line for line in booking.lines if line.id == given.line)
        if taker.straight_from != line.id and (line.item is None or line.item != given.item):
            return False
        account = self.actor.account
        left = Ties(self.stores, booking, self.now, account).give_up(line, quantity)
        if not left and not any(o.state in LIVE and o.id != line.id for o in booking.lines):
            self.stores.bookings.set_state(booking.id, BookingState.RELEASED)
        self.stores.bookings.change(booking.id, None, undo_until=None)
        before, after = told(booking), told(the_booking(self.stores, booking.id))
        more = {"released": [[line.id, quantity]]}
        self.stores.journal.write(
            account, "released", "booking", booking.id, self.now, before, after | more
        )
        return True

    def _line_for(self, lines: Sequence[Line], item: Item, given: Custody | None) -> Line | None:
        """The line that names the piece, else one of its kit type with room for another.

        First one that it is to come to from where it is: straight from another line, or the house.
        """
        mine = [line for line in lines if line.kit_type == item.kit_type]
        mine.sort(key=lambda line: line.straight_from != (given.line if given else None))
        for line in mine:
            if item.id in (*line.pieces, line.item):
                return line
        for line in mine:
            fixed = len(self.stores.bookings.pieces_of(line.id))
            if line.item is None and fixed < line.quantity:
                return line
        return None

    def _must_not_endanger(
        self, item: Item, kit: KitType, line: Line | None, giver: Id | None
    ) -> None:
        """Handing a piece out to an unnamed line fixes it there: another's naming must stand."""
        world = self._look(kit)
        stock = world.stock[kit.id]
        with_out = (
            self._loose_out(world, kit) if line is None else self._line_out(world, line, giver)
        )

        def fits(piece: Id) -> bool:
            standing, asks = with_out(piece)
            return piece in stock.items and weigh(stock, standing, asks, limit_s=QUICK_S).fits

        if fits(item.id):
            return
        if self.event.anyway:
            standing, asks = with_out(item.id)
            gone = [claim for claim in asks if item.id in claim.items]
            self._tell_fallen(world, kit, [*standing, *gone])
            return
        out = {custody.item for custody in world.recorded[kit.id].out}
        free = (id for id in stock.items if id != item.id and id not in out)
        instead = self.names.tags(id for id in free if fits(id))
        sentence = f"{item.tag} is promised to another booking: "
        sentence += (
            f"take {instead[0]} instead" if instead else "hand it out anyway if it has to be"
        )
        raise Conflict(sentence, take_instead=instead)

    def _loose_out(self, world: World, kit: KitType) -> WithOut:
        """What stands, and what a piece would hold that goes out without a booking."""
        standing, away = world.claims(kit.id, is_confirmed), self._away(self.now)
        return lambda piece: (standing, [Claim(away, 1, (piece,))])

    def _line_out(self, world: World, line: Line, giver: Id | None) -> WithOut:
        """What would stand with a piece gone out on a line, and what that line would hold.

        What the giver has besides is not weighed: the piece is one less of it.
        """
        fixed = self.stores.bookings.pieces_of(line.id)

        def with_out(piece: Id) -> tuple[list[Claim], list[Claim]]:
            asked = self._asked(line, fixed, piece)
            standing, (asks,) = world.claims_beside(line.kit_type, is_confirmed, None, [asked])
            return [claim for claim in standing if not _is_of(claim, giver)], asks

        return with_out

    def _asked(self, line: Line, fixed: Sequence[Id], piece: Id) -> Asked:
        """What a line holds with a piece gone out on it: that, its other pieces, and any."""
        pieces = tuple(dict.fromkeys((*fixed, piece))) if line.item is None else (line.item,)
        named = pieces[-line.quantity :]
        others = tuple(other for other in named if other != piece)
        made = [Claim(self._held(line), 1, (piece,))]
        if others:
            made.append(Claim(line.occupied, len(others), others))
        rest = line.quantity - len(named)
        taking = (Claim(line.occupied, rest),) if rest else ()
        return Asked(tuple(made), line.window, line.id, line.straight_from, taking)

    def _held(self, line: Line) -> Window:
        """How long kit of a line is away that goes out now: perhaps from before its time."""
        return Window(min(self.now, line.occupied.start), line.occupied.end)

    def _count_out(
        self, index: int, kit: KitType, quantity: int, unit: Id, lines: list[Line]
    ) -> None:
        left = quantity
        for place, line in enumerate(lines):
            if line.kit_type != kit.id or left == 0:
                continue
            out = sum(c.quantity for c in self.stores.custodies.of_line(line.id) if not c.back_at)
            some = min(left, line.quantity - out - line.gone)
            if some > 0:
                left -= some
                handed = self._count_over(line, some)
                lines[place] = self._count_of_line(kit, some, unit, line)
                self.moved[-1]["handed_on"] = handed > 0
        if left and self.event.booking is not None and not self.event.anyway:
            raise Conflict(f"this booking has {quantity - left} of {kit.name} left to go out")
        if left:
            self._loose(index, kit, left, unit)

    def _count_over(self, line: Line, some: int) -> int:
        """How many of what goes out on a line come straight from the one that it takes over from."""
        if line.straight_from is None:
            return 0
        out = [c for c in self.stores.custodies.of_line(line.straight_from) if not c.back_at]
        given = self._parted(out, some)
        for custody in given:
            self._end(custody, Condition.FIT)
        handed = sum(custody.quantity for custody in given)
        if given:
            self._give_up(given[0], handed, line)
        return handed

    def _count_of_line(self, kit: KitType, some: int, unit: Id, line: Line) -> Line:
        """Answers the line as it is then."""
        if kit.tracking is Tracking.CONSUMABLE:
            self._used(kit, some)
            self.stores.bookings.change_line(line.id, gone=line.gone + some)
            self._tell(kit, None, some, line, unit=unit)
            return replace(line, gone=line.gone + some)
        self._open(kit, None, some, unit, line)
        if self.now < line.occupied.start:
            self._tell_risks(kit)
        return line

    def _loose(self, index: int, kit: KitType, some: int, unit: Id) -> None:
        """Out without a booking: only what is there, and what it endangers is said."""
        out = sum(c.quantity for c in self.stores.custodies.out([kit.id]))
        there = kit.count if kit.tracking is Tracking.CONSUMABLE else kit.count - out
        if some > there:
            where = f"/pieces/{index}/quantity"
            raise Invalid([(where, f"{there} of {kit.name} are there: count again")])
        if kit.tracking is Tracking.CONSUMABLE:
            self._used(kit, some)
            self._tell(kit, None, some, None, unit=unit)
        else:
            self._open(kit, None, some, unit, None)
            self._tell_risks(kit)

    def _used(self, kit: KitType, some: int) -> None:
        now_there = self.stores.kit_types.get(kit.id)
        if now_there is None or now_there.count < some:
            raise Conflict(f"fewer than {some} of {kit.name} are there: count again")
        self.stores.kit_types.change(kit.id, None, count=now_there.count - some)

    def _open(
        self, kit: KitType, item: Item | None, quantity: int, unit: Id, line: Line | None
    ) -> None:
        due = line.window.end if line else self._away(self.at, unit).end
        custody = Custody(
            new_id(),
            kit.id,
            quantity,
            unit,
            self.at,
            max(due, self.at + 1),
            item.id if item else None,
            self.event.person,
            self.event.booking if line else None,
            line.id if line else None,
            self.event.promised_at,
        )
        self.stores.custodies.add(custody)
        if line is not None:
            self.stores.bookings.change(line.booking, None, undo_until=None)
        self._tell(kit, item, quantity, line, custody)


def _is_of(claim: Claim, line: Id | None) -> bool:
    held = held_by(claim)
    return held is not None and held.line == line
