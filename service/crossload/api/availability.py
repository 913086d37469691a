"""/availability: what is free, day by day and hour by hour, as JSON or CSV."""

import json
from collections.abc import Iterator
from typing import Any

from flask import Response, request
from flask.views import MethodView

from crossload.api import conditional, session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import (
    LEAST,
    DayField,
    IdField,
    Inside,
    Int,
    ListOf,
    Moment,
    Shape,
    Text,
    Word,
)
from crossload.api.judgements import Holder
from crossload.api.problems import refuse
from crossload.domain import ids
from crossload.domain.instants import format_instant
from crossload.domain.kit import Tracking
from crossload.domain.window import Instant
from crossload.formats.tables import write_table
from crossload.usecases import availability
from crossload.usecases.availability import (
    FIGURES,
    MOST_DAYS,
    Availability,
    Chosen,
    Day,
    Per,
)

blueprint = Blueprint(
    "availability", __name__, url_prefix="/api/v1/availability", description="What is free, when."
)

JSON, CSV = "application/json", "text/csv"
MOST_KIT_TYPES = 500


class AvailabilityQuery(Shape):
    first = DayField(data_key="from", load_default=None)
    last = DayField(data_key="to", load_default=None)
    kit_types = ListOf(IdField(), MOST_KIT_TYPES, data_key="kit_type", load_default=[])
    category = Text(100, load_default=None)
    per = Word(Per, load_default=Per.DAY)
    unit = IdField(load_default=None)


class HoursQuery(Shape):
    kit_type = IdField(required=True)
    day = DayField(data_key="date", required=True)


class UnitDayOut(Shape):
    unit_id = IdField(required=True)
    unit = Text(required=True)
    number = Int(required=True)


class DayOut(Shape):
    date = DayField(required=True)
    start = Moment(required=True)
    end = Moment(required=True)
    label = Text(required=True)
    unit_days = ListOf(Inside(UnitDayOut), required=True)


class FiguresOut(Shape):
    free = Int(LEAST, required=True)
    if_pencils_fall = Int(LEAST, required=True)
    booked = Int(required=True)
    pencilled = Int(required=True)
    out = Int(required=True)
    overdue = Int(required=True)
    out_of_service = Int(required=True)


class Cell(FiguresOut):
    date = DayField(required=True)
    at = Moment(required=True)
    capacity = Int(required=True)
    idle = Int(required=True)


class KitOut(Shape):
    id = IdField(required=True)
    name = Text(required=True)
    category = Text(required=True)
    tracking = Word(Tracking, required=True)
    capacity = Int(required=True)
    cells = ListOf(Inside(Cell), MOST_DAYS, required=True)


class AvailabilityOut(Shape):
    as_of = Moment(required=True)
    first = DayField(data_key="from", required=True)
    last = DayField(data_key="to", required=True)
    days = ListOf(Inside(DayOut), MOST_DAYS, required=True)
    kit_types = ListOf(Inside(KitOut), 100_000, required=True)


class Hour(FiguresOut):
    start = Moment(required=True)
    end = Moment(required=True)


class DayHolder(Holder):
    place = Int(1, required=True, allow_none=True)


class HoursOut(Shape):
    kit_type = IdField(required=True)
    date = DayField(required=True)
    hours = ListOf(Inside(Hour), required=True)
    holders = ListOf(Inside(DayHolder), 10_000, required=True)


_CSV = {"responses": {200: {"content": {CSV: {"schema": {"type": "string"}}}}}}


@blueprint.route("")
class Days(MethodView):
    @blueprint.doc(**_CSV)
    @blueprint.arguments(AvailabilityQuery, location="query")
    @blueprint.response(200, AvailabilityOut)
    def get(self, query: dict[str, Any]) -> Any:
        """What is free of each kit type on each day, at the day's first least-free instant."""
        form = (
            request.accept_mimetypes.best_match([JSON, CSV]) if request.accept_mimetypes else JSON
        )
        if form is None:
            refuse("not-acceptable", f"this comes as {JSON} or {CSV}")
        known = conditional.known_still()
        if known and form == JSON:
            return _varied(conditional.not_modified(known))
        query["kit_types"] = tuple(query["kit_types"])
        found = availability.availability(
            session.current_actor(), Chosen(**query), now=session.now()
        )
        return _csv(found) if form == CSV else _json(found)


@blueprint.route("/hours")
class Hours(MethodView):
    @blueprint.arguments(HoursQuery, location="query")
    @blueprint.response(200, HoursOut)
    def get(self, query: dict[str, Any]) -> Any:
        """What is free of one kit type in each hour of a day, and who has it that day."""
        known = conditional.known_still()
        if known:
            return conditional.not_modified(known)
        told, tag = availability.hours(session.current_actor(), **query, now=session.now())
        return told, conditional.etag(tag)


def _varied(response: Response) -> Response:
    response.headers["Vary"] = "Accept"
    return response


def _json(found: Availability) -> Response:
    """`AvailabilityOut`, written straight from the arrays: a year of 500 kit types is 180,000 cells."""
    head = AvailabilityOut(exclude=("kit_types",)).dump(
        {
            "as_of": found.as_of,
            "first": found.first,
            "last": found.last,
            "days": [_told_day(day) for day in found.days],
        }
    )
    kit_types = ",".join(_kit_texts(found))
    text = f'{json.dumps(head, separators=(",", ":"))[:-1]},"kit_types":[{kit_types}]}}'
    response = Response(text, mimetype=JSON)
    response.headers.update(conditional.etag(found.tag))
    return _varied(response)


def _told_day(day: Day) -> dict[str, Any]:
    return {
        "date": day.date,
        "start": day.window.start,
        "end": day.window.end,
        "label": day.label,
        "unit_days": [
            {"unit_id": each.unit, "unit": each.name, "number": each.number}
            for each in day.unit_days
        ],
    }


def _kit_texts(found: Availability) -> Iterator[str]:
    dates = [f'{{"date":"{day.date.isoformat()}","at":"' for day in found.days]
    for kit, cells in zip(found.kit, _cells(found), strict=True):
        told = {
            "id": ids.to_text(kit.id),
            "name": kit.name,
            "category": kit.category,
            "tracking": kit.tracking,
            "capacity": kit.capacity,
        }
        form = f'%s%s","capacity":{kit.capacity},{_FORM}'
        texts = ",".join(form % (date, *cell) for date, cell in zip(dates, cells, strict=True))
        yield f'{json.dumps(told, separators=(",", ":"))[:-1]},"cells":[{texts}]}}'


_FORM = ",".join(f'"{name}":%d' for name in (*FIGURES, "idle")) + "}"


def _cells(found: Availability) -> Iterator[Iterator[tuple[Any, ...]]]:
    """Kit type by kit type the cells in order: the instant as text, the figures, what is idle."""
    zone = session.zone()
    texts: dict[Instant, str] = {}
    arrays = [getattr(found.figures, name) for name in FIGURES]
    for row, instants in enumerate(found.figures.at.tolist()):
        for instant in instants:
            if instant not in texts:
                texts[instant] = format_instant(instant, zone)
        columns = [array[row].tolist() for array in (*arrays, found.idle)]
        yield zip([texts[instant] for instant in instants], *columns, strict=True)


def _csv(found: Availability) -> Response:
    """A row for each kit type and day, with the names that JSON has."""
    rows: list[Any] = [("kit_type", "category", "date", "at", "capacity", *FIGURES, "idle")]
    dates = [day.date.isoformat() for day in found.days]
    for kit, cells in zip(found.kit, _cells(found), strict=True):
        rows += [
            (kit.name, kit.category, date, at, kit.capacity, *figures)
            for date, (at, *figures) in zip(dates, cells, strict=True)
        ]
    response = Response(write_table(rows), content_type=f"{CSV}; charset=utf-8")
    name = f"availability-{found.first.isoformat()}.csv"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    # Not the tag of the JSON: whoever has that does not have this.
    response.headers.update(conditional.etag(f"{found.tag}-csv"))
    return _varied(response)
