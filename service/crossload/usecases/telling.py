"""Bookings and refusals in full: with names and holders, as a page shows them."""

from collections.abc import Iterable, Sequence
from typing import Any

from crossload.domain.booking import Booking, Line, Wanted
from crossload.domain.claims import Stock, Stretch, Verdict, Why
from crossload.domain.judge import swap_at
from crossload.domain.window import Id, Instant
from crossload.usecases import handovers
from crossload.usecases.cautions import Given, all_cautions
from crossload.usecases.holders import Holders
from crossload.usecases.judging import Answer, Judged, TypeVerdict
from crossload.usecases.names import Names
from crossload.usecases.options import Option

Told = dict[str, Any]
SWAP_S = 0.2
"""How long the search for a swap may take for one kit type."""


def booking(names: Names, one: Booking) -> Told:
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
        "created_by": names.accounts.get(one.created_by) if one.created_by else None,
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
        "straight_from_id": one.straight_from,
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
    short = [verdict for verdict in judged.types if verdict.answer is not Answer.YES]
    holders = Holders(names, (claim for verdict in short for claim in verdict.standing), now)
    return [told for verdict in short for told in _shortages_of(holders, judged, verdict)]


def _shortages_of(holders: Holders, judged: Judged, verdict: TypeVerdict) -> Iterable[Told]:
    pencil = verdict.confirmed.fits
    decisive: Verdict = verdict.all if pencil else verdict.confirmed
    spans = [stretch.window for stretch in decisive.short] or [ask.window for ask in verdict.asks]
    holding = [
        claim for claim in verdict.standing if any(claim.window.overlaps(span) for span in spans)
    ]
    told = {
        "kit_type_id": verdict.kit.id,
        "name": verdict.kit.name,
        "free": verdict.all.free,
        "if_pencils_fall": verdict.confirmed.free,
        "why": "pencil" if pencil else decisive.why,
        "stretches": [_stretch(stretch) for stretch in decisive.short],
        "holders": holders.around(verdict.kit, holding, spans[0].start),
        "swap_at": _swaps(holders.names, verdict) if decisive.why is Why.NAMES else [],
    }
    for index in dict.fromkeys(verdict.lines):
        quantity = judged.ask.lines[index].quantity
        yield {"pointer": f"#/lines/{index}", "quantity": quantity, **told}


def _swaps(names: Names, verdict: TypeVerdict) -> list[Instant]:
    """When a piece would have to be changed for another, for one ask that no piece serves whole."""
    if len(verdict.asks) != 1:
        return []
    items = names.stores.items.ids_of([verdict.kit.id])[verdict.kit.id]
    stock = Stock(len(items), tuple(items))
    return list(swap_at(stock, list(verdict.claims), verdict.asks[0], limit_s=SWAP_S))


def _stretch(stretch: Stretch) -> Told:
    return {"start": stretch.window.start, "end": stretch.window.end, "by": stretch.by}


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
            "lines": [
                _asked_again(wanted, slot.straight_from)
                for wanted, slot in zip(ask.lines, option.judged.slots, strict=True)
            ],
        },
        "lines": [
            {
                "kit_type_id": wanted.kit_type,
                "name": names.kit[wanted.kit_type].name,
                "category": names.kit[wanted.kit_type].category,
                "quantity": wanted.quantity,
                "free": option.judged.of(index).all.free,
                "straight": handovers.from_whom(names, option.judged.slots[index].straight_from),
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


def _asked_again(wanted: Wanted, straight_from: Id | None) -> Told:
    """A line of an option's body; one of a booking that was to be changed keeps its id."""
    line: Told = {} if wanted.line is None else {"id": wanted.line}
    if straight_from is not None:
        line |= {"straight_from_id": straight_from}
    if wanted.item is not None:
        return line | {"item_id": wanted.item}
    return line | {"kit_type_id": wanted.kit_type, "quantity": wanted.quantity}


def _counted(names: Names, some: Iterable[tuple[Id, int]]) -> list[Told]:
    return [{"kit_type_id": id, "name": names.kit[id].name, "quantity": n} for id, n in some]
