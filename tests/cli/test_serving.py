"""`crossload serve` and `worker`, from their start to Ctrl-C, on both databases."""

import json
import os
import re
import signal
import urllib.error
import urllib.request

import pytest

from program import GIVE_UP_S, interrupt, run_together, running, sentence
from services import free_port
from waiting import until


def call(address, path, **body):
    """The status and the JSON of one request; a POST where there is a body."""
    content = json.dumps(body).encode() if body else None
    headers = {"Content-Type": "application/json", "Idempotency-Key": os.urandom(16).hex()}
    request = urllib.request.Request(f"{address}/api/v1{path}", content, headers)
    try:
        with urllib.request.urlopen(request, timeout=GIVE_UP_S) as answer:
            return answer.status, json.loads(answer.read())
    except urllib.error.HTTPError as error:
        with error:
            return error.code, json.loads(error.read())


def words_until(process, end):
    """What a process says up to the line that has `end` in it."""
    said = []
    for line in process.stdout:
        said.append(line)
        if end in line:
            return "".join(said)
    raise AssertionError(f"it ended without {end!r}: {''.join(said)}")


def test_an_empty_service_lets_its_first_coordinator_in_once_and_ends_with_ctrl_c(
    migrated_url, tmp_path
):
    port = free_port()
    words = ("serve", "--empty", "--port", str(port), "--data", tmp_path)
    with running(*words, cwd=tmp_path, CROSSLOAD_DATABASE_URL=migrated_url) as served:
        address = f"http://127.0.0.1:{port}"
        said = words_until(served, "coordinator")
        assert said.startswith(f"The board: {address}/\n")
        link = re.fullmatch(rf".* week: {address}/welcome#(\S+)", said.splitlines()[1])
        until(lambda: call(address, "/health")[0] == 200, "the service is well")
        whom = {"login": "ines", "name": "Ines", "password": "four words in a row"}
        status, session = call(address, "/invitations/redeem", token=link[1], **whom)
        assert (status, session["account"]["role"]) == (201, "coordinator")
        again = {"token": link[1], **whom, "login": "hale"}
        assert call(address, "/invitations/redeem", **again)[0] == 404
        status, last_words = interrupt(served)
    assert (status, "Traceback" in last_words) == (0, False), last_words


@pytest.fixture(scope="module")
def served(tmp_path_factory, migrated_sqlite):
    """A served folder, and its port."""
    folder = tmp_path_factory.mktemp("served")
    port = str(free_port())
    with running("serve", "--empty", "--port", port, "--data", folder, cwd=folder) as process:
        words_until(process, "coordinator")
        yield folder, port
        interrupt(process)


def test_a_served_folder_and_a_taken_port_are_left_alone(served, migrated_sqlite, tmp_path):
    folder, port = served
    commands = {
        ("serve", "--port", str(free_port()), "--data", folder): "folder",
        ("serve", "--fresh", "--data", folder): "folder",
        ("restore", "--replace", migrated_sqlite, "--data", folder): "folder",
        ("serve", "--port", port, "--data", tmp_path / "a"): "port",
        # 192.0.2.0/24 is kept for documentation (RFC 5737) and so is nobody's.
        ("serve", "--host", "192.0.2.1", "--data", tmp_path / "b"): "address",
    }
    says = {
        "folder": rf"another crossload \(process \d+\) serves the folder {folder}: end that one,"
        " or name another folder with --data",
        "port": f"port {port} is taken: end what uses it, or name another with --port",
        "address": "192.0.2.1 is no address of this machine: see --host",
    }
    for done, what in zip(run_together(commands, tmp_path), commands.values(), strict=True):
        assert re.fullmatch(says[what], sentence(done))
    assert call(f"http://127.0.0.1:{port}", "/health")[0] == 200


def test_a_worker_takes_its_turn_and_ends_when_told(migrated_sqlite, tmp_path):
    (tmp_path / "crossload.db").write_bytes(migrated_sqlite.read_bytes())
    with running("worker", "--data", tmp_path, cwd=tmp_path) as process:
        words_until(process, "lease taken")
        process.send_signal(signal.SIGTERM)
        words, _ = process.communicate(timeout=GIVE_UP_S)
    assert (process.returncode, "Traceback" in words) == (0, False), words
    assert not (tmp_path / "crossload.db-wal").exists()


def test_on_postgres_a_second_worker_takes_the_place_of_the_first(migrated_postgres_url, tmp_path):
    settings = {"CROSSLOAD_DATABASE_URL": migrated_postgres_url, "CROSSLOAD_LEASE_S": "0.5"}
    with running("worker", cwd=tmp_path, **settings) as first:
        words_until(first, "lease taken")
        with running("worker", cwd=tmp_path, **settings) as second:
            assert interrupt(first)[0] == 0
            words_until(second, "lease taken")
            assert interrupt(second)[0] == 0
