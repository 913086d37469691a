"""Out and back: kit goes to a unit or a person and returns, as events that may come late."""

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from crossload.domain.booking import BookingState, Line
from crossload.domain.claims import Claim
from crossload.domain.custody import Custody, Move
from crossload.domain.holdings import HeldLine
from crossload.domain.judge import at_risk
from crossload.domain.judge import judge as weigh
from crossload.domain.kit import PIECE_BY_PIECE, Condition, Item, KitType, Tracking
from crossload.domain.returns import expected_return
from crossload.domain.window import FOREVER, Id, Instant, Window
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.cautions import Given, all_cautions, cautions_back
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.conditions import set_aside, set_condition
from crossload.usecases.errors import Conflict, Invalid, KeyReused, NotFound
from crossload.usecases.judging import QUICK_S
from crossload.usecases.names import Names
from crossload.usecases.recorded import held_by, look
from crossload.usecases.transaction import read, write

Told = dict[str, Any]
AHEAD_S = 300
"""A phone's clock may run this much fast, or slow; what is further off is refused."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What was scanned or typed: a code, or so many of a counted kit type."""

    tag: str = ""
    kit_type: Id | None = None
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened to kit, as the person there says it. `key` is the sender's own."""

    key: str
    kind: Move
    happened_at: Instant
    pieces: tuple[Piece, ...]
    booking: Id | None = None
    unit: Id | None = None
    person: str = ""
    condition: Condition = Condition.FIT
    words: str = ""
    promised_at: Instant | None = None
    anyway: bool = False


def record(actor: Actor, event: Event, digest: str, *, now: Instant) -> Told:
    """Record an event once: its key again gives the same answer.

    Raises Conflict for what cannot have happened or would break another's booking (`take_instead`
    names pieces that would not; `anyway` records the fact all the same), Invalid, NotFound.
    """
    with write(actor.pool, now) as stores:
        actor.must_some("hand out and take back")
        earlier = stores.custodies.event(event.key)
        if earlier is not None:
            return _replayed(earlier, digest)
        if event.happened_at > now + AHEAD_S:
            raise Invalid([("/happened_at", "this is still to come: record what has happened")])
        handing = _Handing(stores, actor, event, now)
        told = handing.carry_out()
        told["id"] = stores.custodies.append(
            event.key, actor.account, event.kind, event.happened_at, now, digest, json.dumps(told)
        )
        return told


def _replayed(earlier: tuple[Id, str, str], digest: str) -> Told:
    id, kept, outcome = earlier
    if kept != digest:
        raise KeyReused
    told: Told = json.loads(outcome)
    return told | {"id": id}


class _Handing:
    """One event inside its transaction."""

    def __init__(self, stores: Stores, actor: Actor, event: Event, now: Instant):
        self.stores, self.actor, self.event, self.now = stores, actor, event, now
        self.at = min(event.happened_at, now)
        self.names = Names(stores)
        self.moved: list[Told] = []
        self.endangers: list[Told] = []
        self.giver: Id | None = None  # the line whose unit hands on what it has

    def carry_out(self) -> Told:
        moves: dict[Move, Callable[[], None]] = {
            Move.OUT: self._all_out,
            Move.BACK: self._all_back,
            Move.PROMISE: self._all_promised,
            Move.HAND_OVER: self._all_handed_over,
        }
        moves[self.event.kind]()
        goes_out = self.event.kind in (Move.OUT, Move.HAND_OVER)
        kit = (each["kit_type_id"] for each in self.moved)
        given = (
            Given(each["kit_type_id"], each["quantity"], each["item_id"]) for each in self.moved
        )
        return {
            "moved": self.moved,
            "cautions": all_cautions(self.names, given)
            if goes_out
            else cautions_back(self.names, kit),
            "endangers": self.endangers,
        }

    # out

    def _all_out(self) -> None:
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
        booking = self.stores.bookings.get(self.event.booking)
        if booking is None:
            raise NotFound("booking")
        self.actor.must("hand out and take back", booking.unit)
        if booking.state is not BookingState.CONFIRMED:
            raise Conflict(f"this booking is {booking.state}: kit goes out on a confirmed one")
        return booking.unit, [
            line for line in booking.lines if line.state is BookingState.CONFIRMED
        ]

    def _item_out(self, item: Item, kit: KitType, unit: Id, lines: Sequence[Line]) -> None:
        standing = self.stores.custodies.of_item(item.id)
        if standing is not None:
            where = self.names.unit(standing.unit)
            raise Conflict(f"{item.tag} is out already, with {where}: take it back first")
        self._must_not_be_before(self.stores.custodies.last_back(item.id), "it came back")
        if item.condition is Condition.RETIRED:
            raise Conflict(f"{item.tag} is retired, and in no stock: take another")
        if item.condition is not Condition.FIT and not self.event.anyway:
            raise Conflict(f"{item.tag} is {item.condition}: take another, or send anyway")
        line = self._line_for(lines, item)
        if self.event.booking is not None and line is None and not self.event.anyway:
            raise Conflict(f"this booking has no line left for {kit.name}: add one, or send anyway")
        self._must_not_endanger(item, line)
        joins = line is not None and item.id not in (*line.pieces, line.item)
        if line is not None and joins:
            self.stores.bookings.fix(line.id, item.id)
        self._open(kit, item, 1, unit, line)
        self.moved[-1]["joined"] = joins

    def _line_for(self, lines: Sequence[Line], item: Item) -> Line | None:
        """The line that names the piece, else one of its kit type with room for another."""
        mine = [line for line in lines if line.kit_type == item.kit_type]
        for line in mine:
            if item.id in (*line.pieces, line.item):
                return line
        for line in mine:
            fixed = len(self.stores.bookings.pieces_of(line.id))
            if line.item is None and fixed < line.quantity:
                return line
        return None

    def _must_not_endanger(self, item: Item, line: Line | None) -> None:
        """Handing a piece out to an unnamed line fixes it there: another's naming must stand."""
        fits = self._fits(item.kit_type, line)
        if fits(item.id):
            return
        if self.event.anyway:
            self.endangers += self._endangered(item.kit_type, item.id, line)
            return
        others = self.stores.items.ids_of([item.kit_type])[item.kit_type]
        out = {c.item for c in self.stores.custodies.out([item.kit_type])}
        free = [id for id in others if id != item.id and id not in out]
        instead = self.names.tags(id for id in free if fits(id))
        sentence = f"{item.tag} is promised to another booking: "
        sentence += f"take {instead[0]} instead" if instead else "send anyway if it has to be"
        raise Conflict(sentence, take_instead=instead)

    def _fits(self, kit_type: Id, line: Line | None) -> Callable[[Id], bool]:
        world = look(self.stores, [kit_type], self.now, self.now)
        claims = world.claims(kit_type, _confirmed)
        others = [c for c in claims if not _is_of(c, line.id if line else None, self.giver)]
        free = Clockwork(self.stores, self.now)
        stock = world.stock[kit_type]

        def fits(item: Id) -> bool:
            if item not in stock.items:
                return False
            if line is None:
                window = _window_of(free, self.now)
                return weigh(stock, claims, [Claim(window, 1, (item,))], limit_s=QUICK_S).fits
            pieces = tuple(dict.fromkeys((*self.stores.bookings.pieces_of(line.id), item)))
            if line.item is not None:
                pieces = (line.item,)
            named = pieces[-line.quantity :] if len(pieces) > line.quantity else pieces
            others_of_it = tuple(piece for piece in named if piece != item)
            asks = [Claim(self._held(line), 1, (item,))]
            if others_of_it:
                asks.append(Claim(line.occupied, len(others_of_it), others_of_it))
            if line.quantity > len(named):
                asks.append(Claim(line.occupied, line.quantity - len(named)))
            return weigh(stock, others, asks, limit_s=QUICK_S).fits

        return fits

    def _held(self, line: Line) -> Window:
        """How long kit of a line is away that goes out now: perhaps from before its time."""
        return Window(min(self.now, line.occupied.start), line.occupied.end)

    def _endangered(self, kit_type: Id, item: Id, line: Line | None) -> list[Told]:
        """The bookings that fall short once this piece is gone."""
        world = look(self.stores, [kit_type], self.now, self.now)
        mine = line.id if line else None
        claims = [c for c in world.claims(kit_type, _confirmed) if not _is_of(c, mine)]
        away = self._held(line) if line else _window_of(Clockwork(self.stores, self.now), self.now)
        with_it = [*claims, Claim(away, 1, (item,))]
        return self._told_risks(kit_type, with_it)

    def _tell_risks(self, kit: KitType) -> None:
        """What falls short as things stand now."""
        world = look(self.stores, [kit.id], self.now, self.now)
        self.endangers += self._told_risks(kit.id, world.claims(kit.id, _confirmed))

    def _told_risks(self, kit_type: Id, claims: Sequence[Claim]) -> list[Told]:
        world = look(self.stores, [kit_type], self.now, self.now)
        told = []
        for risk in at_risk(world.stock[kit_type], claims, limit_s=QUICK_S):
            held = held_by(claims[risk.index])
            if held:
                told.append(
                    {
                        "booking_id": held.booking,
                        "unit_id": held.unit,
                        "unit": self.names.unit(held.unit),
                        "kit_type_id": kit_type,
                        "short_by": risk.by,
                        "start": held.start,
                    }
                )
        return told

    def _count_out(
        self, index: int, kit: KitType, quantity: int, unit: Id, lines: Sequence[Line]
    ) -> None:
        left = quantity
        for line in lines:
            if line.kit_type != kit.id or left == 0:
                continue
            out = sum(c.quantity for c in self.stores.custodies.of_line(line.id) if not c.back_at)
            some = min(left, line.quantity - out - line.gone)
            if some > 0:
                left -= some
                self._count_of_line(kit, some, unit, line)
        if left and self.event.booking is not None and not self.event.anyway:
            raise Conflict(f"this booking has {quantity - left} of {kit.name} left to go out")
        if left:
            self._loose(index, kit, left, unit)

    def _count_of_line(self, kit: KitType, some: int, unit: Id, line: Line) -> None:
        if kit.tracking is Tracking.CONSUMABLE:
            self._used(kit, some)
            self.stores.bookings.change_line(line.id, gone=line.gone + some)
            self._tell(kit, None, some, line, unit=unit)
        else:
            self._open(kit, None, some, unit, line)
            if self.now < line.occupied.start:
                self._tell_risks(kit)

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
        clockwork = Clockwork(self.stores, self.now)
        due = line.window.end if line else _window_of(clockwork, self.at, unit).end
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

    # back

    def _all_back(self) -> None:
        for index, piece in enumerate(self.event.pieces):
            item, kit = self._resolve(index, piece)
            if item is not None:
                self._item_back(item, kit)
            else:
                self._count_back(index, kit, piece.quantity)

    def _item_back(self, item: Item, kit: KitType) -> None:
        custody = self.stores.custodies.of_item(item.id)
        if custody is not None:
            self._close(custody)
        elif self.event.condition is Condition.FIT:
            raise Conflict(f"{item.tag} is not out: it is back already")
        elif item.condition is Condition.RETIRED:
            raise Conflict(f"{item.tag} is retired, and not out: look again")
        else:
            self.actor.must("take out of service")
        if self.event.condition is not Condition.FIT or item.condition is Condition.LOST:
            set_condition(
                self.stores,
                item,
                self.event.condition,
                self.now,
                account=self.actor.account,
                reason=self.event.words,
            )
            self._tell_risks(kit)
        self._tell(kit, item, 1, None, custody)

    def _close(self, custody: Custody) -> None:
        self.actor.must("hand out and take back", custody.unit)
        self._end(custody, self.event.condition)

    def _end(self, custody: Custody, condition: Condition) -> None:
        self._must_not_be_before(custody.out_at, "it went out")
        self.stores.custodies.set(
            custody.id, back_at=max(self.at, custody.out_at), condition=str(condition)
        )

    def _must_not_be_before(self, earlier: Instant | None, what: str) -> None:
        if earlier is not None and self.at < earlier - AHEAD_S:
            raise Invalid([("/happened_at", f"this is before {what}: look at the times")])

    def _count_back(self, index: int, kit: KitType, quantity: int) -> None:
        for custody in self._some_of_what_is_out(index, kit, quantity):
            self._close(custody)
            self._tell(kit, None, custody.quantity, None, custody)
        if self.event.condition is not Condition.FIT:
            set_aside(
                self.stores,
                kit.id,
                quantity,
                self.event.condition,
                self.now,
                account=self.actor.account,
                reason=self.event.words,
            )
            self._tell_risks(kit)

    def _some_of_what_is_out(self, index: int, kit: KitType, quantity: int) -> list[Custody]:
        """So many of what is meant, longest due first; one that is more than that is parted."""
        found: list[Custody] = []
        left = quantity
        for custody in sorted(self.stores.custodies.out([kit.id]), key=lambda c: (c.due_at, c.id)):
            if left == 0 or not self._is_meant(custody):
                continue
            some = min(left, custody.quantity)
            left -= some
            if some < custody.quantity:
                rest = replace(custody, id=new_id(), quantity=custody.quantity - some)
                self.stores.custodies.set(custody.id, quantity=some)
                self.stores.custodies.add(rest)
            found.append(replace(custody, quantity=some))
        if left:
            where = f"/pieces/{index}/quantity"
            raise Invalid([(where, f"{quantity - left} of {kit.name} are out: count again")])
        return found

    def _is_meant(self, custody: Custody) -> bool:
        return (self.event.booking is None or custody.booking == self.event.booking) and (
            self.event.unit is None or custody.unit == self.event.unit
        )

    # promise and hand over

    def _all_promised(self) -> None:
        if self.event.promised_at is None or self.event.promised_at <= self.now:
            raise Invalid([("/promised_at", "a promise is for a time to come")])
        for index, piece in enumerate(self.event.pieces):
            item, kit = self._resolve(index, piece)
            if item is not None:
                meant = [self._custody_of(item)]
            else:
                meant = self._some_of_what_is_out(index, kit, piece.quantity)
            for custody in meant:
                self.actor.must("hand out and take back", custody.unit)
                self.stores.custodies.set(custody.id, promised_at=self.event.promised_at)
                self._tell(kit, item, custody.quantity, None, custody)

    def _custody_of(self, item: Item) -> Custody:
        custody = self.stores.custodies.of_item(item.id)
        if custody is None:
            raise Conflict(f"{item.tag} is not out: it is back already")
        return custody

    def _all_handed_over(self) -> None:
        """From one unit to another without the house between: back and out in one event."""
        unit, lines = self._to_whom()
        for index, piece in enumerate(self.event.pieces):
            item, kit = self._resolve(index, piece)
            if item is None:
                raise Invalid([(f"/pieces/{index}", "hand over by tag; counts go back and out")])
            custody = self.stores.custodies.of_item(item.id)
            self.giver = custody.line if custody else None
            if custody is not None:
                self._must_be_handed_on(custody, item, unit)
                self._end(custody, Condition.FIT)
                self._leave(custody, item)
            self._item_out(item, kit, unit, lines)

    def _must_be_handed_on(self, custody: Custody, item: Item, unit: Id) -> None:
        """Somebody else has it afterwards, or it serves another booking of theirs."""
        is_new = self.event.booking is not None and self.event.booking != custody.booking
        if custody.unit == unit and not is_new and self.event.person in ("", custody.person):
            raise Conflict(f"{item.tag} is with {self.names.unit(unit)} already")

    def _leave(self, custody: Custody, item: Item) -> None:
        """What is handed on serves its old line no longer."""
        if custody.line is not None:
            self.stores.bookings.unfix(item.id, self.now, line=custody.line)

    # both

    def _resolve(self, index: int, piece: Piece) -> tuple[Item | None, KitType]:
        if piece.kit_type is not None:
            kit = self.stores.kit_types.get(piece.kit_type)
            if kit is None:
                raise Invalid([(f"/pieces/{index}/kit_type_id", "this pool has no such kit type")])
            if kit.tracking in PIECE_BY_PIECE:
                raise Invalid([(f"/pieces/{index}", f"{kit.name} is known by tag: give the tag")])
            return None, kit
        items = self.stores.items
        found = (
            items.by_code(piece.tag)
            or items.by_code_in_any_case(piece.tag)
            or items.by_code_however_spaced(piece.tag)
        )
        if len(found) != 1:
            how = "no piece here carries" if not found else f"{len(found)} pieces here carry"
            raise Invalid([(f"/pieces/{index}/tag", f"{how} {piece.tag}: look again")])
        kit = self.names.kit[found[0].kit_type]
        return found[0], kit

    def _tell(
        self,
        kit: KitType,
        item: Item | None,
        quantity: int,
        line: Line | None,
        custody: Custody | None = None,
        *,
        unit: Id | None = None,
    ) -> None:
        line_id = line.id if line else custody.line if custody else None
        booking = line.booking if line else custody.booking if custody else None
        unit = custody.unit if custody else unit
        self.moved.append(
            {
                "item_id": item.id if item else None,
                "tag": item.tag if item else None,
                "kit_type_id": kit.id,
                "kit_type": kit.name,
                "quantity": quantity,
                "line_id": line_id,
                "booking_id": booking,
                "unit_id": unit,
                "unit": self.names.unit(unit) if unit is not None else None,
                "custody": custody.id if custody else None,
                "was": str(item.condition) if item else None,
            }
        )
        after: Told = {"quantity": quantity, "at": self.at, "booking": booking}
        if self.event.condition is not Condition.FIT:
            after["condition"] = str(self.event.condition)
        subject = ("item", item.id) if item else ("kit_type", kit.id)
        self.stores.journal.write(
            self.actor.account, str(self.event.kind), *subject, self.now, after=after
        )


def _confirmed(held: HeldLine) -> bool:
    return held.state is BookingState.CONFIRMED


def _is_of(claim: Claim, *lines: Id | None) -> bool:
    held = held_by(claim)
    return held is not None and held.line in lines


def _window_of(clockwork: Clockwork, at: Instant, unit: Id | None = None) -> Window:
    """How long kit that goes out without a booking is away: until the unit's next wrap."""
    ends: Iterable[Instant] = clockwork.day_ends(unit) if unit is not None else ()
    return Window(at, max(at + 1, expected_return(at, None, ends, at, clockwork.zone)))


def page(
    actor: Actor,
    *,
    now: Instant,
    unit: Id | None = None,
    booking: Id | None = None,
    overdue: bool | None = None,
) -> list[Told]:
    """What is out now, longest due first."""
    actor.must("read")
    with read(actor.pool) as stores:
        names, clockwork = Names(stores), Clockwork(stores, now)
        told = [
            tell(names, clockwork, custody)
            for custody in stores.custodies.out()
            if (unit is None or custody.unit == unit)
            and (booking is None or custody.booking == booking)
            and (overdue is None or custody.is_overdue(now) is overdue)
        ]
    return sorted(told, key=lambda one: (one["due_at"], one["id"]))


def tell(names: Names, clockwork: Clockwork, custody: Custody) -> Told:
    """What is out, with whom it is, whom to call, and when it is due and expected."""
    person, phone = names.contact(custody.unit)
    return {
        "id": custody.id,
        "item_id": custody.item,
        "tag": names.items[custody.item].tag if custody.item in names.items else None,
        "kit_type_id": custody.kit_type,
        "kit_type": names.kit[custody.kit_type].name,
        "quantity": custody.quantity,
        "unit_id": custody.unit,
        "unit": names.unit(custody.unit),
        "person": custody.person or person,
        "phone": phone,
        "booking_id": custody.booking,
        "out_at": custody.out_at,
        "due_at": custody.due_at,
        "expected_at": min(clockwork.expected(custody), FOREVER),
        "overdue": custody.is_overdue(clockwork.now),
    }
