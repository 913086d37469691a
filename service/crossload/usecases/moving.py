"""One event with kit inside its transaction: what all kinds of moves have in common."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from crossload.domain.booking import Line
from crossload.domain.claims import Claim
from crossload.domain.custody import Custody, Move
from crossload.domain.kit import PIECE_BY_PIECE, Condition, Item, KitType
from crossload.domain.returns import expected_return
from crossload.domain.window import Id, Instant, Window
from crossload.storage.ids import new_id
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.cautions import cautions_back
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.errors import Conflict, Invalid
from crossload.usecases.judging import QUICK_S
from crossload.usecases.names import Names
from crossload.usecases.recorded import World, is_confirmed, look_at

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


class Moving:
    """One event inside its transaction; each kind of move says what happens to a piece."""

    def __init__(self, stores: Stores, actor: Actor, event: Event, now: Instant):
        self.stores, self.actor, self.event, self.now = stores, actor, event, now
        self.at = min(event.happened_at, now)
        self.names = Names(stores)
        self.clockwork = Clockwork(stores, now)
        self.moved: list[Told] = []
        self.endangers: list[Told] = []

    def move(self) -> None:
        raise NotImplementedError

    def told(self) -> Told:
        """What was moved, with the cautions that belong to it and whom it endangers."""
        return {"moved": self.moved, "cautions": self._cautions(), "endangers": self.endangers}

    def _cautions(self) -> list[str]:
        return cautions_back(self.names, (each["kit_type_id"] for each in self.moved))

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

    def _away(self, at: Instant, unit: Id | None = None) -> Window:
        """How long kit that goes out without a booking is away: until the unit's next wrap."""
        ends = self.clockwork.day_ends(unit) if unit is not None else ()
        return Window(at, max(at + 1, expected_return(at, None, ends, at, self.clockwork.zone)))

    def _look(self, kit: KitType) -> World:
        """What is recorded of a kit type as things stand now, within the event."""
        return look_at(self.clockwork, {kit.id: kit}, self.now)

    def _tell_risks(self, kit: KitType) -> None:
        """What falls short as things stand now."""
        world = self._look(kit)
        self._tell_fallen(world, kit, world.claims(kit.id, is_confirmed))

    def _tell_fallen(self, world: World, kit: KitType, claims: Sequence[Claim]) -> None:
        """The bookings that fall short among these claims."""
        self.endangers += [
            {
                "booking_id": held.booking,
                "unit_id": held.unit,
                "unit": self.names.unit(held.unit),
                "kit_type_id": kit.id,
                "short_by": by,
                "start": held.start,
            }
            for held, by in world.fallen(kit.id, claims, limit_s=QUICK_S)
        ]

    def _must_not_be_before(self, earlier: Instant | None, what: str) -> None:
        if earlier is not None and self.at < earlier - AHEAD_S:
            raise Invalid([("/happened_at", f"this is before {what}: look at the times")])

    def _custody_of(self, item: Item) -> Custody:
        custody = self.stores.custodies.of_item(item.id)
        if custody is None:
            raise Conflict(f"{item.tag} is not out: it is back already")
        return custody

    def _parted(self, out: Iterable[Custody], quantity: int) -> list[Custody]:
        """Up to so many of what is out, longest due first; one that is more than that is parted."""
        found: list[Custody] = []
        left = quantity
        for custody in sorted(out, key=lambda custody: (custody.due_at, custody.id)):
            some = min(left, custody.quantity)
            left -= some
            if 0 < some < custody.quantity:
                rest = replace(custody, id=new_id(), quantity=custody.quantity - some)
                self.stores.custodies.set(custody.id, quantity=some)
                self.stores.custodies.add(rest)
            if some:
                found.append(replace(custody, quantity=some))
        return found

    def _end(self, custody: Custody, condition: Condition) -> None:
        self._must_not_be_before(custody.out_at, "it went out")
        self.stores.custodies.set(
            custody.id, back_at=max(self.at, custody.out_at), condition=str(condition)
        )
