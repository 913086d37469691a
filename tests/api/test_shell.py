"""The page as it is served: the shell, its files, and the headers that keep other sites out."""

import gzip
import re
from pathlib import Path

import pytest

from asking import Client, problem
from crossload.api.page_files import digest_of, lay_out, read_shell
from crossload.api.problem_kinds import KINDS
from crossload.api.shell import HEADERS, PAGES
from crossload.app import create_app
from crossload.settings import read_settings
from crossload.storage.database import close_database

WEB = Path(__file__).parents[2] / "web"
ADDRESSES = [page.replace("<text>", "0000000000001") for page in PAGES]


@pytest.fixture
def migrated_url(migrated_sqlite, tmp_path):
    """No page asks the database, so one kind will do."""
    copy = tmp_path / "crossload.db"
    copy.write_bytes(migrated_sqlite.read_bytes())
    return f"sqlite:///{copy}"


def linked(text: str) -> list[str]:
    return re.findall(r'(?:href|src)="(/web/[^"]+)"', text)


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_address_of_the_page_is_the_shell(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer.mimetype == "text/html"
    assert "<noscript>" in answer.get_data(as_text=True)


def test_the_shell_is_asked_for_each_time_and_costs_a_304(client):
    answer = client.get("/")
    assert answer.headers["Cache-Control"] == "no-cache"
    again = client.get("/days", headers={"If-None-Match": answer.headers["ETag"]})
    assert (again.status_code, again.get_data()) == (304, b"")


def test_the_shell_is_compressed_for_who_can_read_it(client):
    plain = client.get("/")
    small = client.get("/", headers={"Accept-Encoding": "br, gzip"})
    assert small.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(small.get_data()) == plain.get_data()
    assert small.headers["ETag"] != plain.headers["ETag"]
    assert small.headers["Vary"] == plain.headers["Vary"] == "Accept-Encoding"
    refused = client.get("/", headers={"Accept-Encoding": "gzip;q=0"})
    assert "Content-Encoding" not in refused.headers


def test_every_file_that_the_shell_names_is_served_for_ever(client):
    names = linked(client.get("/").get_data(as_text=True))
    assert len(names) > 10
    for name in names:
        answer = client.get(name)
        assert answer.status_code == 200, name
        source = WEB / name.split("/", 3)[3]
        assert answer.get_data() == source.read_bytes()
        assert answer.cache_control.max_age >= 31_536_000
        assert answer.cache_control.immutable


TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}


def test_every_file_is_served_as_what_it_is(client):
    for name in linked(client.get("/").get_data(as_text=True)):
        assert client.get(name).mimetype == TYPES[Path(name).suffix]


def test_files_are_compressed_beforehand(client):
    name = next(
        name for name in linked(client.get("/").get_data(as_text=True)) if name.endswith("main.js")
    )
    small = client.get(name, headers={"Accept-Encoding": "gzip"})
    assert small.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(small.get_data()) == (WEB / "js/main.js").read_bytes()
    assert small.content_length < len((WEB / "js/main.js").read_bytes())


@pytest.mark.parametrize(
    "path",
    ["/web/index.html", "/web/000000000000/js/main.js", "/web/../service/crossload/app.py"],
)
def test_no_other_address_serves_a_file(client, path):
    problem(client.get(path), 404, "not-found")


@pytest.mark.parametrize("address", ["/", "/api/v1/health", "/api/v1/session", "/problems/stale"])
def test_every_answer_carries_the_headers(client, address):
    answer = client.get(address)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value


def test_files_carry_the_headers_too(client):
    name = linked(client.get("/").get_data(as_text=True))[0]
    answer = client.get(name)
    for header, value in HEADERS.items():
        assert answer.headers[header] == value


def test_the_policy_lets_in_no_script_style_or_frame_from_elsewhere():
    told = dict(
        part.strip().partition(" ")[::2] for part in HEADERS["Content-Security-Policy"].split(";")
    )
    assert told["default-src"] == "'self'"
    assert told["object-src"] == told["base-uri"] == told["frame-ancestors"] == "'none'"
    assert "unsafe" not in HEADERS["Content-Security-Policy"]
    assert "script-src" not in told  # default-src is as strict


@pytest.mark.parametrize("slug", ["stale", "short"])
def test_a_problems_page_has_no_script_or_style_of_its_own(client, slug):
    text = client.get(f"/problems/{slug}").get_data(as_text=True)
    assert re.findall(r"<script|<style|\sstyle=|\son[a-z]+=", text) == []


@pytest.mark.parametrize("slug", KINDS)
def test_a_problems_page_looks_like_the_board_and_leads_back_to_it(client, slug):
    text = client.get(f"/problems/{slug}").get_data(as_text=True)
    assert "`" not in text
    assert '<a class="press" href="/">To the board</a>' in text
    styles = linked(text)
    assert {Path(name).name for name in styles} == {"mark.svg", "ground.css", "elements.css"}
    assert all(client.get(name).status_code == 200 for name in styles)


BROWSER = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}


def test_a_browser_that_took_a_wrong_turn_gets_a_page_with_a_way_back(client):
    for address in ("/nowhere", "/problems/nothing", "/kit"):
        answer = client.get(address, headers=BROWSER)
        assert (answer.status_code, answer.mimetype) == (404, "text/html")
        text = answer.get_data(as_text=True)
        assert "<h1>There is no such thing</h1>" in text
        assert "<p>There is nothing at this address.</p>" in text
        assert '<a class="press" href="/">To the board</a>' in text
        assert "Accept" in answer.headers["Vary"]


def test_a_program_that_took_a_wrong_turn_gets_a_problem(client):
    problem(client.get("/nowhere"), 404, "not-found")
    problem(client.get("/nowhere", headers={"Accept": "application/json"}), 404, "not-found")
    problem(client.get("/api/v1/nowhere", headers=BROWSER), 404, "not-found")


def test_data_is_kept_by_no_shared_cache_and_for_no_other_person(client):
    answer = client.get("/api/v1/health")
    assert answer.headers["Cache-Control"] == "no-cache, private"
    assert {part.strip() for part in answer.headers["Vary"].split(",")} >= {
        "Cookie",
        "Authorization",
    }


def test_a_change_of_any_file_is_another_address(tmp_path):
    web = tmp_path / "page"
    web.mkdir()
    (web / "index.html").write_text('<script src="/web/a.js"></script>')
    (web / "a.js").write_text("1")
    before = digest_of(web)
    (web / "a.js").write_text("2")
    after = digest_of(web)
    assert before != after
    assert read_shell(web, after).plain == f'<script src="/web/{after}/a.js"></script>'.encode()


def test_files_that_were_laid_out_before_give_way(tmp_path):
    web, cache = tmp_path / "page", tmp_path / "cache"
    web.mkdir()
    (web / "a.js").write_text("x" * 1000)
    first = lay_out(web, "one", cache)
    assert sorted(path.name for path in first.iterdir()) == ["a.js", "a.js.gz"]
    assert lay_out(web, "one", cache) == first
    lay_out(web, "two", cache)
    assert [path.name for path in cache.iterdir()] == ["two"]


def test_while_somebody_changes_the_page_its_files_are_read_each_time(migrated_url, tmp_path):
    web = tmp_path / "page"
    web.mkdir()
    (web / "index.html").write_text('<script src="/web/a.js"></script>')
    (web / "a.js").write_text("1")
    given = {"CROSSLOAD_DATABASE_URL": migrated_url, "CROSSLOAD_PAGE_CACHE": "no"}
    app = create_app(read_settings(given, data=tmp_path), web=web)
    app.test_client_class = Client
    client = app.test_client()
    assert client.get("/web/now/a.js").get_data() == b"1"
    (web / "a.js").write_text("2!")
    answer = client.get("/web/now/a.js")
    assert answer.get_data() == b"2!"
    assert "immutable" not in answer.headers["Cache-Control"]
    close_database()
