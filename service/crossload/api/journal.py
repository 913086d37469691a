"""/journal: who did what, when, and what it was before and after."""

from typing import Any

from flask.views import MethodView
from marshmallow import ValidationError, fields

from crossload.api import session
from crossload.api.blueprint import Blueprint
from crossload.api.conditional import PageQuery, paged
from crossload.api.fields import MOST, IdField, Inside, Int, ListOf, Moment, Shape, Text
from crossload.domain import ids
from crossload.usecases import journal

blueprint = Blueprint(
    "journal", __name__, url_prefix="/api/v1/journal", description="Who did what, and when."
)


class Subject(Text):
    """What an entry is about, KIND:ID."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        kind, _, id = super()._deserialize(value, attr, data, **kwargs).partition(":")
        if kind not in journal.KINDS:
            raise ValidationError(f"it is KIND:ID, the kind one of {', '.join(journal.KINDS)}")
        try:
            return kind, ids.from_text(id)
        except ValueError as error:
            raise ValidationError(str(error)) from error


class JournalQuery(PageQuery):
    subject = Subject(100)


class EntryOut(Shape):
    """One entry; `seq` is the same for all that one request wrote, and has no gaps."""

    id = IdField(required=True)
    seq = Int(required=True)
    at = Moment(required=True)
    account_id = IdField(required=True, allow_none=True)
    by = Text(required=True, allow_none=True)
    verb = Text(required=True)
    subject = Text(required=True)
    before = fields.Raw(required=True, allow_none=True)
    after = fields.Raw(required=True, allow_none=True)


class JournalPage(Shape):
    entries = ListOf(Inside(EntryOut), required=True)


@blueprint.route("")
class Journal(MethodView):
    @blueprint.arguments(JournalQuery, location="query")
    @blueprint.response(200, JournalPage)
    def get(self, query: dict[str, Any]) -> Any:
        """Entries in order of writing; of one subject, such as item:0123456789abc, when named."""
        kind, subject = query.get("subject", (None, None))
        found = journal.entries(
            session.current_actor(),
            query["after"],
            query["limit"] + 1,
            kind=kind,
            subject=subject,
        )
        shown, headers = paged(found, query["limit"], lambda told: told.entry.id)
        return {"entries": [written(told) for told in shown]}, headers


def written(told: journal.Told) -> dict[str, Any]:
    """An entry as the interface writes it."""
    entry = told.entry
    return {
        "id": entry.id,
        "seq": entry.seq,
        "at": entry.at,
        "account_id": entry.account,
        "by": told.by,
        "verb": entry.verb,
        "subject": f"{entry.subject_kind}:{ids.to_text(entry.subject)}",
        "before": with_ids(entry.before),
        "after": with_ids(entry.after),
    }


def with_ids(value: Any) -> Any:
    """What the journal holds, ids as the interface writes them.

    A number is at most 2^53 - 1 (`fields.MOST`) and an id is more: its milliseconds stand 22 bits
    up, which passes 2^53 within 25 days of the year 2000.
    """
    if isinstance(value, dict):
        return {name: with_ids(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [with_ids(inner) for inner in value]
    if isinstance(value, int) and value > MOST:
        return ids.to_text(value)  # type: ignore[arg-type]
    return value
