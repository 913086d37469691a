"""/imports and /exports: kit lists and shoot days as tables, in and out."""

from collections.abc import Callable
from typing import Any

from flask import Response, current_app, request
from flask.views import MethodView
from marshmallow import fields

from crossload.api import session
from crossload.api.blueprint import Blueprint
from crossload.api.fields import SAID, Flag, Inside, Int, ListOf, Shape, Text, Word
from crossload.api.problems import refuse
from crossload.domain.lists.merged import Kind
from crossload.formats.grid import MAX_ROWS
from crossload.formats.tables import Encoding
from crossload.formats.tables import Kind as Form
from crossload.usecases import exports, imports
from crossload.usecases.actor import Actor

blueprint = Blueprint(
    "imports", __name__, url_prefix="/api/v1", description="Tables: brought in, and taken out."
)

CSV = "text/csv"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
READ = (
    CSV,
    XLSX,
    "text/tab-separated-values",
    "application/vnd.ms-excel",
    "application/octet-stream",
)
"""Types that a table comes as; a browser names them by the file's ending. Its bytes say what it is."""

ENCODINGS: dict[str, Encoding] = {
    **dict.fromkeys(("", "utf-8", "utf8", "us-ascii"), "utf-8"),
    **dict.fromkeys(("iso-8859-1", "latin-1", "latin1", "windows-1252"), "latin-1"),
}
"""What the charset of the Content-Type may say (RFC 7111 section 5.1)."""

MOST_CELLS = 3 * MAX_ROWS


class ImportQuery(Shape):
    dry_run = Flag(query=True, load_default=False)


class ChangeOut(Shape):
    row = Int(1, required=True)
    what = Text(20, required=True)
    kind = Word(Kind, required=True)
    name = Text(300, required=True)
    differences = fields.Dict(
        keys=Text(100),
        values=fields.List(fields.Raw(), error_messages=SAID),
        required=True,
        attribute="fields",
        data_key="fields",
    )


class RowProblemOut(Shape):
    row = Int(1, required=True)
    column = Text(200, required=True)
    reason = Text(1000, required=True)


class CountsOut(Shape):
    new = Int(required=True)
    changed = Int(required=True)
    same = Int(required=True)


class ImportOut(Shape):
    dry_run = Flag(required=True)
    changes = ListOf(Inside(ChangeOut), MOST_CELLS, required=True)
    problems = ListOf(Inside(RowProblemOut), 200 * MAX_ROWS, required=True)
    counts = Inside(CountsOut, required=True)
    left_out = ListOf(Text(200), 1000, required=True)


_TABLE = {"schema": {"type": "string", "format": "binary"}}
_BODY = {"required": True, "content": {CSV: _TABLE, XLSX: _TABLE}}
_FILE = {"description": "The table.", "content": {CSV: _TABLE, XLSX: _TABLE}}


def _bring_in(read: Callable[..., imports.Imported], dry_run: bool) -> imports.Imported:
    """The request's table through a use-case. With problems: shown when dry, else refused."""
    encoding = _encoding()
    request.max_content_length = current_app.extensions["settings"].most_import_bytes
    done = read(
        session.current_actor(),
        request.get_data(cache=False),
        dry_run=dry_run,
        now=session.now(),
        encoding=encoding,
    )
    if done.problems and not dry_run:
        rows = len({problem.row for problem in done.problems})
        wrong = "1 row is wrong" if rows == 1 else f"{rows} rows are wrong"
        refuse(
            "invalid",
            f"{wrong}, so nothing was brought in: mend what problems name",
            problems=RowProblemOut(many=True).dump(done.problems),
        )
    return done


def _encoding() -> Encoding:
    """What the sender says the bytes are; a 415 where that is no table."""
    if request.mimetype not in READ:
        refuse("wrong-media-type", f"a table belongs here: send {CSV} or {XLSX}")
    charset = request.mimetype_params.get("charset", "").casefold()
    if charset not in ENCODINGS:
        refuse("wrong-media-type", "a table is read in UTF-8 or Latin-1: save it in UTF-8")
    return ENCODINGS[charset]


def _give(write: Callable[..., bytes], name: str) -> Response:
    """A file in the form that the sender accepts, CSV where any will do."""
    best = request.accept_mimetypes.best_match([CSV, XLSX])
    if best is None and request.accept_mimetypes:
        refuse("not-acceptable", f"this comes as {CSV} or {XLSX}")
    form: Form = "xlsx" if best == XLSX else "csv"
    actor: Actor = session.current_actor()
    made = Response(write(actor, form=form), content_type=best or CSV)
    made.headers["Content-Disposition"] = f'attachment; filename="{name}.{form}"'
    made.headers["Vary"] = "Accept"
    made.add_etag()
    return made


@blueprint.route("/imports/kit-list")
class KitListImport(MethodView):
    @blueprint.doc(requestBody=_BODY)
    @blueprint.arguments(ImportQuery, location="query")
    @blueprint.response(200, ImportOut)
    def post(self, query: dict[str, Any]) -> Any:
        """Bring in a kit list: all of it or nothing. The same list again changes nothing."""
        return _bring_in(imports.import_kit_list, query["dry_run"])


@blueprint.route("/imports/shoot-days")
class ShootDaysImport(MethodView):
    @blueprint.doc(requestBody=_BODY)
    @blueprint.arguments(ImportQuery, location="query")
    @blueprint.response(200, ImportOut)
    def post(self, query: dict[str, Any]) -> Any:
        """Bring in shoot days: all of them or none. The same table again changes nothing."""
        return _bring_in(imports.import_shoot_days, query["dry_run"])


@blueprint.route("/exports/kit-list")
class KitListExport(MethodView):
    @blueprint.doc(responses={200: _FILE})
    def get(self) -> Response:
        """All kit as a table that can be brought in again."""
        return _give(exports.export_kit_list, "kit-list")


@blueprint.route("/exports/shoot-days")
class ShootDaysExport(MethodView):
    @blueprint.doc(responses={200: _FILE})
    def get(self) -> Response:
        """All shoot days as a table that can be brought in again."""
        return _give(exports.export_shoot_days, "shoot-days")
