"""Bookings and refusals in full: with names and holders, as a page shows them."""

from collections.abc import Iterable, Sequence
from typing import Any

from crossload.domain.booking import Booking, Line, Wanted
from crossload.domain.claims import Claim, Stock, Stretch, Verdict, Why
from crossload.domain.custody import Custody
from crossload.domain.holdings import About, Ground
from crossload.domain.judge import swap_at
from crossload.domain.kit import KitType, Tracking
from crossload.domain.window import Id, Instant
from crossload.domain.zones import day_window, local_day
from crossload.usecases.cautions import Given, all_cautions
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.idling import tell_idle
from crossload.usecases.judging import Answer, Judged, TypeVerdict
from crossload.usecases.names import Names
from crossload.usecases.options import Option

Told = dict[str, Any]


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
    """A line with the names in it: only what is stored."""
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
        "cautions": all_cautions(
            names, (Given(line.kit_type, line.quantity, line.item) for line in ask.lines)
        ),
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
    holders = holders_at(names, verdict.kit, holding, now, spans[0].start)
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
    """Who has kit, one entry a line, whatever parts of it are out; out of service taken together.

    Nothing is told as idle: that is of a day (`holders_at`).
    """
    parts: dict[Any, list[Claim]] = {}
    for claim in claims:
        about = claim.about
        assert isinstance(about, About)
        key = about.held.line if about.held else (about.ground, about.booking, claim.window)
        parts.setdefault(key, []).append(claim)
    return [_holder(names, some, now) for some in parts.values()]


def holders_at(
    names: Names, kit: KitType, claims: Iterable[Claim], now: Instant, at: Instant
) -> list[Told]:
    """Who has some of a kit type, and how much of it is idle on the local day of `at`, or today."""
    found = holders_of(names, claims, now)
    if kit.tracking is not Tracking.CONSUMABLE:
        zone = Clockwork(names.stores, now).zone
        day = local_day(max(at, now), zone)
        tell_idle(names.stores, found, kit.category, day, day_window(day, zone))
    return found


def _holder(names: Names, claims: Sequence[Claim], now: Instant) -> Told:
    claim = claims[0]
    about = claim.about
    assert isinstance(about, About)
    quantity = sum(each.quantity for each in claims)
    told: Told = {
        "booking_id": about.booking,
        "unit_id": None,
        "unit": None,
        "state": "out_of_service" if about.ground is Ground.SERVICE else "out",
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
        told |= {
            "out": sum(c.quantity for c in out),
            "overdue": any(c.is_overdue(now) for c in out),
        }
        _name_unit(names, told, about.held.unit)
    elif about.custody:
        custody: Custody = about.custody
        told |= {"out": custody.quantity, "overdue": custody.is_overdue(now)}
        _name_unit(names, told, custody.unit)
        told["person"] = custody.person or told["person"]
    elif about.service:
        told |= {"reason": about.service.reason}
    return told


def _name_unit(names: Names, told: Told, unit: Id) -> None:
    person, phone = names.contact(unit)
    told |= {"unit_id": unit, "unit": names.unit(unit), "person": person, "phone": phone}


def options(names: Names, found: Sequence[Option]) -> list[Told]:
    """Options as whole booking bodies: posting one takes it, of a refused change as that change."""
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
            "lines": [_asked_again(wanted) for wanted in ask.lines],
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
        "outside_s": option.outside_s,
        "place": option.place,
    }


def _asked_again(wanted: Wanted) -> Told:
    """A line of an option's body; one of a booking that was to be changed keeps its id."""
    line: Told = {} if wanted.line is None else {"id": wanted.line}
    if wanted.item is not None:
        return line | {"item_id": wanted.item}
    return line | {"kit_type_id": wanted.kit_type, "quantity": wanted.quantity}


def _counted(names: Names, some: Iterable[tuple[Id, int]]) -> list[Told]:
    return [{"kit_type_id": id, "name": names.kit[id].name, "quantity": n} for id, n in some]
