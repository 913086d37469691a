"""`crossload user invite` links to where the board is: as last served, as set, or as told."""

import pytest

from program import interrupt, run, running, sentence
from services import free_port


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """A folder that was served once, on a port of its own, and the board's address then."""
    folder = tmp_path_factory.mktemp("served")
    port = str(free_port())
    with running("serve", "--empty", "--port", port, "--data", folder, cwd=folder) as process:
        assert any("coordinator" in line for line in process.stdout)
        interrupt(process)
    return folder, f"http://127.0.0.1:{port}"


def invited(folder, *more, **settings):
    done = run("user", "invite", "--data", folder, *more, cwd=folder, **settings)
    assert (done.returncode, done.stderr) == (0, "")
    address, token = done.stdout.strip().split("/welcome#")
    assert len(token) > 20
    return address


def test_an_invitation_links_to_where_its_folder_was_last_served(served):
    folder, address = served
    assert invited(folder) == address


def test_an_address_that_is_set_or_told_wins(served):
    folder, _ = served
    board = "https://kit.example"
    assert invited(folder, CROSSLOAD_ADDRESS=f"{board}/") == board
    other = "http://192.0.2.7:81"
    assert invited(folder, "--url", f"{other}/", CROSSLOAD_ADDRESS=board) == other


def test_a_folder_that_was_never_served_has_the_address_of_the_settings(demo):
    assert invited(demo, CROSSLOAD_PORT="8123") == "http://127.0.0.1:8123"


def test_what_is_no_address_is_not_taken(demo):
    done = run("user", "invite", "--data", demo, "--url", "kit.example", cwd=demo)
    assert done.returncode == 2
    assert "kit.example is no address: begin with http:// or https://" in done.stderr


def test_an_address_that_cannot_be_noted_is_said(tmp_path):
    (tmp_path / "address").mkdir()
    words = ("serve", "--empty", "--port", str(free_port()), "--data", tmp_path)
    assert (
        sentence(run(*words, cwd=tmp_path)) == f"{tmp_path}/address cannot be used: Is a directory"
    )
