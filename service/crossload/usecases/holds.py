"""What holds kit in spans of time, as the figures count it; from columns where there are many."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain

import numpy as np

from crossload.domain.availability import Ints, Kind, Spans, Stocked
from crossload.domain.claims import Claim
from crossload.domain.holdings import Ground, Recorded, claims
from crossload.domain.kit import Tracking
from crossload.domain.naming.gaps import gaps_between
from crossload.domain.window import Id, Instant, Window
from crossload.storage.figures import Columns
from crossload.usecases.clockwork import Clockwork
from crossload.usecases.recorded import about_of, is_confirmed, lines_of


class Holds:
    """Over one pool, at the clockwork's instant.

    `changes` are the instants, known once `of` was asked, at which the clock alone makes it others.
    """

    def __init__(self, columns: Columns, clockwork: Clockwork):
        self.columns, self.clockwork, self.now = columns, clockwork, clockwork.now
        self.changes: set[Instant] = set()

    def of(self, kit: Sequence[Stocked], cells: Sequence[Window]) -> tuple[Spans, Spans, Ints]:
        """What holds kit in the cells, what units have of it, and those units' ids in order.

        Lines that have nothing out and stand alone come as columns. The few others, and what else is
        a fact, go the way of the judges, through `domain.holdings`.
        """
        if not kit or not cells:
            return Spans.of(()), Spans.of(()), np.array([], np.int64)
        span = Window(min(cell.start for cell in cells), max(cell.end for cell in cells))
        row_of = _RowOf(kit)
        ids = [each.id for each in kit]
        consumables = [each.id for each in kit if each.tracking is Tracking.CONSUMABLE]
        if consumables:
            self.changes.add(self.columns.consumables_end(consumables, self.now))
        lines = self.columns.lines(ids, consumables, span, self.now)
        row = row_of(lines.kit_type)
        kind = np.where(lines.pencilled, Kind.PENCILLED, Kind.BOOKED)
        facts, theirs = self._facts(kit, span)
        spans = Spans(row, lines.since, lines.until, lines.quantity, kind).beside(facts)
        has = ~lines.pencilled & ~np.isin(lines.kit_type, consumables)
        held = Spans(row, lines.start, lines.end, lines.quantity, lines.unit).where(has)
        held = held.beside(theirs)
        units = np.unique(held.what)
        return spans, replace(held, what=np.searchsorted(units, held.what)), units

    def _facts(self, kit: Sequence[Stocked], span: Window) -> tuple[Spans, Spans]:
        """Claims that stand on what is out or out of service, and what units have out."""
        known = {each.id: each for each in kit}
        rows = {each.id: row for row, each in enumerate(kit)}
        gone = self.columns.retired_out()
        spans: list[tuple[int, Instant, Instant, int, int]] = []
        theirs: list[tuple[int, Instant, Instant, int, int]] = []

        def add(row: int, claim: Claim, quantity: int, kind: Kind) -> None:
            spans.append((row, claim.window.start, claim.window.end, quantity, kind))

        for kit_type, recorded in self._recorded(list(rows), span):
            row, firm = rows[kit_type], tuple(filter(is_confirmed, recorded.lines))
            beside = self._claims(replace(recorded, lines=firm), known, gone)
            for claim in beside:
                add(row, claim, claim.quantity, self._kind(claim))
                theirs += self._held(row, claim)
            if len(firm) < len(recorded.lines):
                # A pencil may take over what would be checked in without it: what they add is told.
                for claim in self._claims(recorded, known, gone):
                    add(row, claim, claim.quantity, Kind.PENCILLED)
                for claim in beside:
                    add(row, claim, -claim.quantity, Kind.PENCILLED)
        return Spans.of(spans), Spans.of(theirs)

    def _recorded(self, ids: Sequence[Id], span: Window) -> Iterator[tuple[Id, Recorded]]:
        lines, out, service = defaultdict(list), defaultdict(list), defaultdict(list)
        stores = self.clockwork.stores
        for custody in stores.custodies.out(ids):
            out[custody.kit_type].append(custody)
            self.changes |= {custody.due_at, self.clockwork.expected(custody)}
        late = lines_of(stores, chain.from_iterable(out.values()), set(ids))
        for held in {
            held.line: held for held in [*late, *stores.held.tied(ids, span.start, span.end)]
        }.values():
            lines[held.kit_type].append(held)
        for window in stores.custodies.services(ids, span.start, span.end):
            service[window.kit_type].append(window)
        for id in {*lines, *out, *service}:
            yield id, Recorded(tuple(lines[id]), tuple(out[id]), tuple(service[id]))

    def _claims(self, recorded: Recorded, kit: Mapping[Id, Stocked], gone: set[Id]) -> list[Claim]:
        found = claims(recorded, self.clockwork.free_after(kit), self.clockwork.late)
        return list(_counted_once(found, gone))

    def _kind(self, claim: Claim) -> Kind:
        about = about_of(claim)
        if about.ground is Ground.SERVICE:
            return Kind.OUT_OF_SERVICE
        if about.custody is not None:
            return Kind.OVERDUE if about.custody.is_overdue(self.now) else Kind.OUT
        return Kind.BOOKED

    def _held(self, row: int, claim: Claim) -> Iterator[tuple[int, Instant, Instant, int, int]]:
        """What a unit has by a claim: not while it is prepared or checked in at the house."""
        about = about_of(claim)
        held, custody = about.held, about.custody
        if custody is not None:
            start, end, unit = custody.out_at, self.clockwork.expected(custody), custody.unit
            if held is not None:
                start, end = min(start, held.start), max(end, held.end)
        elif held is not None and is_confirmed(held):
            start, end, unit = held.start, held.end, held.unit
        else:
            return
        start, end = max(start, claim.window.start), min(end, claim.window.end)
        if start < end:
            yield row, start, end, claim.quantity, unit


class _RowOf:
    """From ids of kit types to their rows, for a whole column at once."""

    def __init__(self, kit: Sequence[Stocked]):
        ids = np.array([each.id for each in kit], np.int64)
        self.order = np.argsort(ids)
        self.ids = ids[self.order]

    def __call__(self, ids: Ints) -> Ints:
        return self.order[np.searchsorted(self.ids, ids)]


def _counted_once(found: Sequence[Claim], gone: set[Id]) -> Iterator[Claim]:
    """The claims, without facts on pieces that are gone, and what is out only while it is fit.

    A piece that is both out and out of service is one piece less, and out of service.
    """
    unfit: dict[Id, list[Window]] = defaultdict(list)
    for claim in found:
        if about_of(claim).ground is Ground.SERVICE:
            for item in claim.items:
                unfit[item].append(claim.window)
    for windows in unfit.values():
        windows.sort()
    for claim in found:
        if claim.rank > 0 or not claim.items:
            yield claim
        elif gone.isdisjoint(claim.items):
            if about_of(claim).ground is Ground.SERVICE:
                yield claim
            else:
                for gap in gaps_between(claim.items, unfit, claim.window):
                    yield replace(
                        claim, window=Window(gap.start, gap.end), quantity=1, items=(gap.piece,)
                    )
