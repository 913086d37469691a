"""Bookings and refusals in full: with names, holders and hand-over, as a page shows them."""

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Any

from crossload.domain.booking import Booking, BookingState, Line
from crossload.domain.claims import Claim, Stock, Stretch, Verdict, Why
from crossload.domain.custody import Custody
from crossload.domain.holdings import About, Ground
from crossload.domain.judge import swap_at
from crossload.domain.kit import Item, KitType, Tracking
from crossload.domain.shoot import Person, Unit
from crossload.domain.window import Id, Instant, Window
from crossload.domain.zones import day_window, local_day
from crossload.storage import pools
from crossload.storage.stores import Stores
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.judging import Answer, Judged, TypeVerdict
from crossload.usecases.options import Option

Told = dict[str, Any]

CAUTIONS = {
    "arm": "Rigging over people or on vehicles is for competent people and by local rules: an "
    "entry here is no approval.",
    "clamp": "Rigging over people or on vehicles is for competent people and by local rules: an "
    "entry here is no approval.",
    "battery": "Lithium batteries: charge them attended, on their own charger, and set aside any "
    "that are damaged or swollen.",
    "charger": "Lithium batteries: charge them attended, on their own charger, and set aside any "
    "that are damaged or swollen.",
    "frequency": "The licence and the national regulator decide what may be transmitted, where "
    "and when.",
    "pack": "Adhesive on skin: ask about allergies first, and test it.",
    "lavalier": "Adhesive on skin: ask about allergies first, and test it.",
    "listening receiver": "Keep headphone levels down: hearing does not come back.",
    "headphones": "Keep headphone levels down: hearing does not come back.",
    "earpiece": "Keep headphone levels down: hearing does not come back.",
}


class Names:
    """Names of what a pool has, read once a transaction."""

    def __init__(self, stores: Stores):
        self.stores = stores

    @cached_property
    def kit(self) -> dict[Id, KitType]:
        return {kit.id: kit for kit in self.stores.kit_types.all()}

    @cached_property
    def units(self) -> dict[Id, Unit]:
        return {unit.id: unit for unit in self.stores.units.all()}

    @cached_property
    def productions(self) -> dict[Id, str]:
        return {production.id: production.name for production in self.stores.productions.all()}

    @cached_property
    def people(self) -> list[Person]:
        return self.stores.people.all(ended_at=None)

    @cached_property
    def items(self) -> dict[Id, Item]:
        return {item.id: item for item in self.stores.items.all()}

    def unit(self, id: Id | None) -> str | None:
        return self.units[id].name if id in self.units else None

    def tags(self, items: Iterable[Id]) -> list[str]:
        return sorted(self.items[item].tag for item in items if item in self.items)

    def contact(self, unit: Id | None) -> tuple[str | None, str | None]:
        """Whom to ask for at a unit (or the house), and the telephone number."""
        there = [person for person in self.people if person.unit == unit and person.phone]
        order = ("assistant", "counter", "coordinator", "mixer")
        there.sort(
            key=lambda person: next(
                (rank for rank, job in enumerate(order) if job in person.job.lower()), len(order)
            )
        )
        if there:
            return there[0].name, there[0].phone
        phone = self.units[unit].phone if unit in self.units else self.pool_phone
        return None, phone or self.pool_phone or None

    @cached_property
    def pool_phone(self) -> str:
        pool = pools.get_pool(self.stores.pool)
        return pool.phone if pool else ""

    @cached_property
    def house(self) -> str:
        pool = pools.get_pool(self.stores.pool)
        return (pool.place or pool.name) if pool else ""


def booking(names: Names, one: Booking, creators: dict[Id, str] | None = None) -> Told:
    """A booking with the names in it: only what is stored."""
    unit = names.units[one.unit]
    return {
        "id": one.id,
        "unit_id": one.unit,
        "unit": unit.name,
        "production": names.productions[unit.production],
        "state": one.state,
        "start": one.window.start,
        "end": one.window.end,
        "purpose": one.purpose,
        "who_pays": one.who_pays,
        "order_number": one.order_number,
        "pencil_expires_at": one.pencil_expires_at,
        "created_at": one.created_at,
        "created_by": (creators or {}).get(one.created_by) if one.created_by else None,
        "undo_until": one.undo_until,
        "version": one.version,
        "lines": [line(names, each) for each in one.lines],
    }


def line(names: Names, one: Line) -> Told:
    kit = names.kit[one.kit_type]
    pieces = [names.items[piece] for piece in one.pieces if piece in names.items]
    return {
        "id": one.id,
        "kit_type_id": one.kit_type,
        "name": kit.name,
        "category": kit.category,
        "tracking": kit.tracking,
        "quantity": one.quantity,
        "released": one.released,
        "item_id": one.item,
        "tag": names.items[one.item].tag if one.item in names.items else None,
        "start": one.window.start,
        "end": one.window.end,
        "state": one.state,
        "prep_s": one.prep_s,
        "check_in_s": one.check_in_s,
        "tags": [piece.tag for piece in pieces],
        "frequencies": [piece.frequency_hz for piece in pieces if piece.frequency_hz],
    }


def cautions(names: Names, kit_types: Iterable[Id]) -> list[str]:
    """The usual cautions for what is booked, each once."""
    found = (CAUTIONS.get(names.kit[id].category) for id in kit_types)
    return list(dict.fromkeys(text for text in found if text))


def judgement(names: Names, judged: Judged, found: Sequence[Option], now: Instant) -> Told:
    """What a dry run answers."""
    ask = judged.ask
    return {
        "answer": judged.answer,
        "unit_id": ask.unit,
        "start": ask.window.start,
        "end": ask.window.end,
        "lines": [
            {
                "kit_type_id": wanted.kit_type,
                "name": names.kit[wanted.kit_type].name,
                "quantity": wanted.quantity,
                "granted": judged.granted[index] if judged.grants else 0,
                "free": judged.of(index).all.free,
            }
            for index, wanted in enumerate(ask.lines)
        ],
        "short": shortages(names, judged, now),
        "options": options(names, found),
        "cautions": cautions(names, (wanted.kit_type for wanted in ask.lines)),
    }


def shortages(names: Names, judged: Judged, now: Instant) -> list[Told]:
    """For each line that cannot be had: when, by how many, and who has the kit."""
    return [
        told
        for verdict in judged.types
        if verdict.answer is not Answer.YES
        for told in _shortages_of(names, judged, verdict, now)
    ]


def _shortages_of(
    names: Names, judged: Judged, verdict: TypeVerdict, now: Instant
) -> Iterable[Told]:
    pencil = verdict.confirmed.fits
    decisive: Verdict = verdict.all if pencil else verdict.confirmed
    standing = [*verdict.claims, *verdict.pencils]
    spans = [stretch.window for stretch in decisive.short] or [ask.window for ask in verdict.asks]
    holding = [claim for claim in standing if any(claim.window.overlaps(span) for span in spans)]
    holders = holders_of(names, holding, now)
    swaps: tuple[Instant, ...] = ()
    if decisive.why is Why.NAMES and len(verdict.asks) == 1:
        stock_items = names.stores.items.ids_of([verdict.kit.id])[verdict.kit.id]
        stock = Stock(len(stock_items), tuple(stock_items))
        swaps = swap_at(stock, list(verdict.claims), verdict.asks[0], limit_s=0.2)
    for index in dict.fromkeys(verdict.lines):
        yield {
            "pointer": f"#/lines/{index}",
            "kit_type_id": verdict.kit.id,
            "name": verdict.kit.name,
            "quantity": judged.ask.lines[index].quantity,
            "free": verdict.all.free,
            "if_pencils_fall": verdict.confirmed.free,
            "why": "pencil" if pencil else decisive.why,
            "stretches": [_stretch(stretch) for stretch in decisive.short],
            "holders": holders,
            "swap_at": list(swaps),
        }


def _stretch(stretch: Stretch) -> Told:
    return {"start": stretch.window.start, "end": stretch.window.end, "by": stretch.by}


def holders_of(names: Names, claims: Iterable[Claim], now: Instant) -> list[Told]:
    """Who has kit, one entry a line, whatever parts of it are out; out of service taken together."""
    parts: dict[Any, list[Claim]] = {}
    for claim in claims:
        about = claim.about
        assert isinstance(about, About)
        key = about.held.line if about.held else (about.ground, about.booking, claim.window)
        parts.setdefault(key, []).append(claim)
    return [_holder(names, some, now) for some in parts.values()]


def _holder(names: Names, claims: Sequence[Claim], now: Instant) -> Told:
    claim = claims[0]
    about = claim.about
    assert isinstance(about, About)
    quantity = sum(each.quantity for each in claims)
    told: Told = {
        "booking_id": about.booking,
        "unit_id": None,
        "unit": None,
        "state": "out of service" if about.ground is Ground.SERVICE else "out",
        "quantity": quantity,
        "start": claim.window.start,
        "end": max(each.window.end for each in claims),
        "out": 0,
        "overdue": False,
        "idle": 0,
        "tags": names.tags(item for each in claims for item in each.items),
        "person": None,
        "phone": None,
        "expires_at": None,
    }
    if about.held:
        told |= {"state": about.held.state, "start": about.held.start, "end": about.held.end}
        out = [c for c in names.stores.custodies.of_line(about.held.line) if c.back_at is None]
        told |= {"out": sum(c.quantity for c in out), "overdue": any(c.due_at <= now for c in out)}
        _name_unit(names, told, about.held.unit)
        told["idle"] = _idle(names, about.held.unit, quantity, claim.window, now)
    elif about.custody:
        custody: Custody = about.custody
        told |= {"out": custody.quantity, "overdue": custody.due_at <= now}
        _name_unit(names, told, custody.unit)
        told["person"] = custody.person or told["person"]
    elif about.service:
        told |= {"reason": about.service.reason}
    return told


def _name_unit(names: Names, told: Told, unit: Id) -> None:
    person, phone = names.contact(unit)
    told |= {"unit_id": unit, "unit": names.unit(unit), "person": person, "phone": phone}


def _idle(names: Names, unit: Id, quantity: int, window: Window, now: Instant) -> int:
    """All that a unit holds is idle on a day without a shoot day of its own."""
    zone = Clockwork(names.stores, now).zone
    day = day_window(local_day(max(window.start, now), zone), zone)
    return 0 if names.stores.shoot_days.between(day.start, day.end, unit) else quantity


def options(names: Names, found: Sequence[Option]) -> list[Told]:
    """Options as whole booking bodies: posting one takes it."""
    return [_option(names, option) for option in found]


def _option(names: Names, option: Option) -> Told:
    ask = option.ask
    return {
        "kind": option.kind,
        "body": {
            "unit_id": ask.unit,
            "start": ask.window.start,
            "end": ask.window.end,
            "purpose": ask.purpose,
            "state": ask.state,
            "accept_part": ask.accept_part,
            "who_pays": ask.who_pays,
            "order_number": ask.order_number,
            "lines": [
                {"item_id": wanted.item}
                if wanted.item is not None
                else {"kit_type_id": wanted.kit_type, "quantity": wanted.quantity}
                for wanted in ask.lines
            ],
        },
        "lines": [
            {
                "kit_type_id": wanted.kit_type,
                "name": names.kit[wanted.kit_type].name,
                "category": names.kit[wanted.kit_type].category,
                "quantity": wanted.quantity,
                "free": option.judged.of(index).all.free,
            }
            for index, wanted in enumerate(ask.lines)
        ],
        "start": ask.window.start,
        "end": ask.window.end,
        "shift_s": option.shift_s,
        "brings": _counted(names, option.brings),
        "lacks": _counted(names, option.lacks),
        "outside_hours": option.outside_hours,
        "place": option.place,
    }


def _counted(names: Names, some: Iterable[tuple[Id, int]]) -> list[Told]:
    return [{"kit_type_id": id, "name": names.kit[id].name, "quantity": n} for id, n in some]


LIVE_LINES = (BookingState.CONFIRMED, BookingState.PENCILLED)


def handover(names: Names, one: Booking, now: Instant) -> Told:
    """Where the kit is, when and where it is handed over, and whom to ask for."""
    clockwork = Clockwork(names.stores, now)
    unit = names.units[one.unit]
    by = one.window.start - unit.way_s
    at = _collect_at(clockwork, by, now)
    person, phone = names.contact(None)
    live = [each for each in one.lines if each.state in LIVE_LINES and each.quantity]
    carried = [e for e in live if names.kit[e.kit_type].tracking is not Tracking.FREQUENCY]
    pickup = {
        "at": at,
        "place": names.house,
        "from": "house",
        "ask_for": person,
        "phone": phone,
        "open_until": clockwork.hours.closes_at(at) if at is not None else None,
        "lines": [_to_collect(names, each) for each in carried],
        "note": None if at is not None else "free, nobody to bring it",
    }
    pieces = [names.items[p] for each in live for p in each.pieces if p in names.items]
    return {
        "pickups": [pickup] if carried else [],
        "frequencies": [
            {"frequency_hz": piece.frequency_hz, "label": f"{piece.frequency_hz / 1e6:.3f}"}
            for piece in pieces
            if piece.frequency_hz
        ],
    }


def _collect_at(clockwork: Clockwork, by: Instant, now: Instant) -> Instant | None:
    """The last time before `by` at which the house is open, if it is not past."""
    if clockwork.hours.is_open(by):
        return by if by >= now else None
    last = clockwork.hours.last_open_before(by)
    return last if last >= now else None


def _to_collect(names: Names, one: Line) -> Told:
    home = [
        item.home_box
        for item in names.items.values()
        if item.kit_type == one.kit_type and item.home_box is not None
    ]
    boxes = {box.id: box for box in names.stores.boxes.with_counts(names.stores.boxes.all())}
    numbers = {boxes[id].number for id in home if id in boxes}
    numbers |= {box.number for box in boxes.values() if one.kit_type in box.counts}
    return {
        "kit_type_id": one.kit_type,
        "name": names.kit[one.kit_type].name,
        "quantity": one.quantity,
        "boxes": sorted(numbers, key=lambda number: (len(number), number)),
        "tags": names.tags([one.item] if one.item is not None else one.pieces),
    }
