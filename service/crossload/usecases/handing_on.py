"""Kit goes from one unit to another without the house between, told in one event."""

from crossload.domain.custody import Custody
from crossload.domain.kit import Item
from crossload.domain.window import Id
from crossload.usecases.errors import Conflict, Invalid
from crossload.usecases.going_out import GoingOut


class HandingOn(GoingOut):
    """From one unit to another without the house between: back and out in one event."""

    def move(self) -> None:
        unit, lines = self._to_whom()
        for index, piece in enumerate(self.event.pieces):
            item, kit = self._resolve(index, piece)
            if item is None:
                if not any(line.kit_type == kit.id and line.straight_from for line in lines):
                    why = (
                        "hand over by tag; counts go back and out, unless they are booked straight"
                    )
                    raise Invalid([(f"/pieces/{index}", why)])
                self._count_out(index, kit, piece.quantity, unit, lines)
                continue
            custody = self.stores.custodies.of_item(item.id)
            if custody is not None:
                self._must_be_handed_on(custody, item, unit)
                self._take_over(custody)
            self._item_out(item, kit, unit, lines, custody)

    def _must_be_handed_on(self, custody: Custody, item: Item, unit: Id) -> None:
        """Somebody else has it afterwards, or it serves another booking of theirs."""
        is_new = self.event.booking is not None and self.event.booking != custody.booking
        if custody.unit == unit and not is_new and self.event.person in ("", custody.person):
            raise Conflict(f"{item.tag} is with {self.names.unit(unit)} already")
