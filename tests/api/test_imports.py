"""Tables over HTTP: shown, brought in, refused by row, and taken out again; on both databases."""

import pytest

from asking import problem
from tables import a_fixture, a_sample, a_table, everything

CSV = "text/csv"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
KIT = "/api/v1/imports/kit-list"
DAYS = "/api/v1/imports/shoot-days"
ONE = a_table("Kit type,Category,Tag,Price", "Slate,slate,SL01,120.00")


def send(client, path, content, content_type=CSV, **more):
    return client.post(path, data=content, content_type=content_type, **more)


def brought_in(client, path, content, **more):
    answer = send(client, path, content, **more)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return answer.get_json()


def same(counts) -> bool:
    return counts["new"] == counts["changed"] == 0 < counts["same"]


@pytest.mark.parametrize("name", ["kit-list.csv", "kit-list.xlsx"])
def test_a_kit_list_is_shown_then_brought_in_then_changes_nothing(coordinator, name):
    kind = XLSX if name.endswith("xlsx") else CSV
    before = everything()
    shown = brought_in(coordinator, f"{KIT}?dry_run=true", a_fixture(name), content_type=kind)
    assert everything() == before
    assert shown["dry_run"] is True
    assert shown["counts"] == {"new": 482, "changed": 0, "same": 0}
    done = brought_in(coordinator, KIT, a_fixture(name), content_type=kind)
    assert done["changes"] == shown["changes"]
    assert same(brought_in(coordinator, KIT, a_fixture(name), content_type=kind)["counts"])


def test_a_change_has_its_row_its_name_and_each_field_before_and_after(coordinator):
    brought_in(coordinator, KIT, ONE)
    done = brought_in(coordinator, f"{KIT}?dry_run=true", ONE.replace(b"120.00", b"130.00"))
    assert done["changes"] == [
        {
            "row": 2,
            "what": "kit type",
            "kind": "changed",
            "name": "Slate",
            "fields": {"price_minor": [12_000, 13_000]},
        },
        {"row": 2, "what": "item", "kind": "same", "name": "SL01", "fields": {}},
    ]
    assert done["problems"] == []
    assert done["left_out"] == []


def test_shoot_days_are_brought_in(coordinator):
    assert brought_in(coordinator, DAYS, a_fixture("shoot-days.csv"))["counts"]["new"] == 28
    assert same(brought_in(coordinator, DAYS, a_fixture("shoot-days.csv"))["counts"])


def test_bad_rows_are_a_problem_with_each_row_and_nothing_is_brought_in(coordinator):
    before = everything()
    body = problem(send(coordinator, KIT, a_sample("many-faults.csv")), 422, "invalid")
    assert everything() == before
    assert len(body["problems"]) > 10
    assert body["problems"][0].keys() == {"row", "column", "reason"}
    assert "nothing was brought in" in body["detail"]


def test_bad_rows_of_a_dry_run_are_an_answer(coordinator):
    done = brought_in(coordinator, f"{KIT}?dry_run=true", a_sample("many-faults.csv"))
    assert len(done["problems"]) > 10
    assert done["changes"]


@pytest.mark.parametrize(
    "content",
    [b"", b"\x00\x01", b"PK\x03\x04broken", b'{"kit": []}', "Kit,Group".encode("utf-16")],
    ids=["empty", "binary", "broken workbook", "JSON", "UTF-16"],
)
@pytest.mark.parametrize("path", [KIT, DAYS])
def test_what_is_no_table_is_refused_with_a_sentence(coordinator, path, content):
    before = everything()
    assert problem(send(coordinator, path, content), 422, "invalid")["detail"]
    assert everything() == before


@pytest.mark.parametrize("charset", ["iso-8859-1", "latin-1", "Windows-1252"])
def test_latin_1_is_read_when_the_content_type_says_so(coordinator, charset):
    problem(send(coordinator, KIT, a_sample("latin-1.csv")), 422, "invalid")
    brought_in(coordinator, KIT, a_sample("latin-1.csv"), content_type=f"{CSV}; charset={charset}")


@pytest.mark.parametrize(
    "kind", ["application/json", "multipart/form-data", f"{CSV}; charset=ibm437", ""]
)
def test_other_types_and_charsets_are_refused(coordinator, kind):
    problem(send(coordinator, KIT, ONE, content_type=kind or None), 415, "wrong-media-type")


def test_a_file_past_the_bound_is_too_large(coordinator, app):
    most = app.extensions["settings"].most_import_bytes
    assert most > app.extensions["settings"].most_body_bytes
    problem(send(coordinator, KIT, b"x" * (most + 1)), 413, "too-large")


def test_a_file_larger_than_other_bodies_may_be_is_read(coordinator, app):
    most = app.extensions["settings"].most_body_bytes
    content = a_table(
        "Kit,Group,Qty,Remarks", *[f"kit {n},clamp,1,{'x' * 30_000}" for n in range(40)]
    )
    assert len(content) > most
    done = brought_in(coordinator, f"{KIT}?dry_run=true", content)
    assert done["counts"]["new"] == 40


@pytest.mark.parametrize("query", ["dry_run=perhaps", "dryrun=true"])
def test_a_query_that_is_not_known_changes_nothing(coordinator, query):
    before = everything()
    problem(send(coordinator, f"{KIT}?{query}", ONE), 422, "invalid")
    assert everything() == before


@pytest.mark.parametrize("role", ["mixer", "assistant", "supervisor"])
def test_only_a_coordinator_brings_tables_in(signed_in, role):
    client = signed_in(role, "main")
    problem(send(client, KIT, ONE), 403, "forbidden")
    problem(send(client, f"{KIT}?dry_run=true", ONE), 403, "forbidden")
    assert client.get("/api/v1/exports/kit-list").status_code == 200


def test_nobody_who_is_not_signed_in_sees_or_sends_a_table(client):
    problem(send(client, KIT, ONE), 401, "not-signed-in")
    problem(client.get("/api/v1/exports/kit-list"), 401, "not-signed-in")


@pytest.mark.parametrize(
    ("path", "fixture"), [("kit-list", "kit-list.csv"), ("shoot-days", "shoot-days.csv")]
)
@pytest.mark.parametrize("kind", [CSV, XLSX])
def test_what_is_taken_out_goes_in_again_unchanged(coordinator, path, fixture, kind):
    brought_in(coordinator, f"/api/v1/imports/{path}", a_fixture(fixture))
    answer = coordinator.get(f"/api/v1/exports/{path}", headers={"Accept": kind})
    assert answer.status_code == 200
    assert answer.mimetype == kind
    ending = "xlsx" if kind == XLSX else "csv"
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{path}.{ending}"'
    done = brought_in(coordinator, f"/api/v1/imports/{path}", answer.data, content_type=kind)
    assert same(done["counts"])


def test_an_export_is_csv_unless_something_else_is_asked_for(coordinator):
    assert coordinator.get("/api/v1/exports/kit-list").mimetype == CSV
    any_will_do = coordinator.get("/api/v1/exports/kit-list", headers={"Accept": "*/*"})
    assert any_will_do.mimetype == CSV
    refused = coordinator.get("/api/v1/exports/kit-list", headers={"Accept": "image/png"})
    problem(refused, 406, "not-acceptable")


def test_an_export_that_has_not_changed_is_not_sent_again(coordinator):
    brought_in(coordinator, KIT, ONE)
    tag = coordinator.get("/api/v1/exports/kit-list").headers["ETag"]
    again = coordinator.get("/api/v1/exports/kit-list", headers={"If-None-Match": tag})
    assert again.status_code == 304
    brought_in(coordinator, KIT, ONE.replace(b"SL01", b"SL02"))
    again = coordinator.get("/api/v1/exports/kit-list", headers={"If-None-Match": tag})
    assert again.status_code == 200


def test_markup_comes_out_of_the_interface_as_text_and_never_as_a_page(coordinator):
    done = brought_in(coordinator, KIT, a_sample("script-and-sql.csv"))
    assert "Slate'); DROP TABLE item;--" in {change["name"] for change in done["changes"]}
    answer = coordinator.get("/api/v1/exports/kit-list")
    assert b"<script>alert(1)</script>" in answer.data
    assert answer.mimetype == CSV
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert answer.headers.get("X-Content-Type-Options") == "nosniff"
