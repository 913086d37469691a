"""Kit comes back, in whole or part and with its condition, or is promised for a later time."""

from crossload.domain.custody import Custody
from crossload.domain.kit import Condition, Item, KitType
from crossload.usecases.conditions import set_aside, set_condition
from crossload.usecases.errors import Conflict, Invalid
from crossload.usecases.moving import Moving


class ComingBack(Moving):
    """Back to the house."""

    def move(self) -> None:
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
        found = self._parted(filter(self._is_meant, self.stores.custodies.out([kit.id])), quantity)
        there = sum(custody.quantity for custody in found)
        if there < quantity:
            where = f"/pieces/{index}/quantity"
            raise Invalid([(where, f"{there} of {kit.name} are out: count again")])
        return found

    def _is_meant(self, custody: Custody) -> bool:
        return (self.event.booking is None or custody.booking == self.event.booking) and (
            self.event.unit is None or custody.unit == self.event.unit
        )


class Promising(ComingBack):
    """Not back yet, and somebody says when."""

    def move(self) -> None:
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
