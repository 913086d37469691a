"""`crossload user`: accounts, passwords and one-time links, from the machine of the database."""

import os
import pty
import re
import subprocess
from contextlib import contextmanager

import pytest

from crossload.clock import system_clock
from crossload.domain.people import Role
from crossload.storage import database
from crossload.usecases import invitations
from crossload.usecases.accounts import add_account
from crossload.usecases.errors import NotFound, NotSignedIn
from crossload.usecases.sign_in import Terms, sign_in
from program import GIVE_UP_S, PROGRAM, environment, run, sentence
from worlds import a_world

WORDS = "four words in a row"
OLD_WORDS = "what was typed before"


@pytest.fixture
def pool(migrated_sqlite, tmp_path):
    """The data folder of a pool with three units and one coordinator, ines."""
    (tmp_path / "crossload.db").write_bytes(migrated_sqlite.read_bytes())
    with opened(tmp_path):
        add_account(
            a_world().coordinator, login="ines", name="Ines", role=Role.COORDINATOR,
            password=OLD_WORDS, now=system_clock(),
        )  # fmt: skip
    return tmp_path


@contextmanager
def opened(folder):
    database.open_database(f"sqlite:///{folder / 'crossload.db'}")
    yield
    database.close_database()


def user(pool, *words, given=WORDS):
    return run("user", *words, "--data", pool, cwd=pool, given=given.encode())


def signs_in(pool, login, password):
    with opened(pool):
        try:
            terms = Terms()
            sign_in(login, password, address="here", terms=terms, now=system_clock())
        except NotSignedIn:
            return False
        return True


def test_an_account_is_made_gets_a_new_password_and_ends(pool):
    added = user(pool, "add", "Maud", "--role", "mixer", "--unit", "Second", "--name", "Maud F")
    assert (added.returncode, added.stdout) == (0, "maud can sign in as mixer\n"), added.stderr
    assert signs_in(pool, "maud", WORDS)
    changed = user(pool, "password", "maud", given="five other words in line\n")
    assert changed.stdout == "maud has a new password and is signed out everywhere\n"
    assert not signs_in(pool, "maud", WORDS)
    assert signs_in(pool, "maud", "five other words in line")
    assert user(pool, "end", "maud").stdout == "maud can no longer sign in\n"
    assert not signs_in(pool, "maud", "five other words in line")
    listed = user(pool, "list").stdout
    assert re.fullmatch(r"ines +coordinator +Ines\nmaud +mixer +Maud F \(ended\)\n", listed)


def test_a_coordinators_link_works_once(pool):
    done = user(pool, "invite", "--role", "coordinator", "--name", "Hale")
    link = re.fullmatch(r"http://127\.0\.0\.1:8080/welcome#(\S+)\n", done.stdout)
    account = redeem(pool, link[1], "hale")
    assert (account.role, account.login) == ("coordinator", "hale")
    assert signs_in(pool, "hale", WORDS)
    with pytest.raises(NotFound):
        redeem(pool, link[1], "maud")


def redeem(pool, token, login):
    with opened(pool):
        signed, _ = invitations.redeem(
            token, login=login, name="Hale", password=WORDS, address="here", terms=Terms(),
            now=system_clock(),
        )  # fmt: skip
        return signed.account


def test_what_cannot_be_done_for_somebody_is_one_sentence(pool):
    refused = {
        ("add", "INES", "--role", "mixer"): "this sign-in name is taken: choose another",
        ("add", "maud", "--role", "mixer", "--unit", "third"): (
            "there is no unit third: the units are main, second, splinter"
        ),
        ("password", "nobody"): "this pool has nobody who signs in as nobody",
    }
    for words, says in refused.items():
        assert sentence(user(pool, *words)) == says
    assert sentence(user(pool, "password", "ines", given="short\n")).startswith(
        "a password has 15 characters at least"
    )
    odd = run("user", "password", "ines", "--data", pool, cwd=pool, given=b"\xff" + WORDS.encode())
    assert sentence(odd) == "the password is not UTF-8: give it in UTF-8"
    assert signs_in(pool, "ines", OLD_WORDS)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (f"{WORDS}\n{WORDS}\n", "ines has a new password and is signed out everywhere"),
        (f"{WORDS}\n{WORDS}s\n", "crossload: the two are not the same: begin again"),
        ("\x04", "crossload: no password was typed: begin again"),
    ],
    ids=["the same twice", "not the same", "nothing"],
)
def test_at_a_terminal_a_password_is_typed_twice_and_not_shown(typed, says, pool):
    above, terminal = pty.openpty()
    with subprocess.Popen(
        [PROGRAM, "user", "password", "ines", "--data", pool], env=environment(), stdin=terminal,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
    ) as process:  # fmt: skip
        os.close(terminal)
        shown = ""
        for part in re.findall(r".+\n|\x04", typed):
            while not shown.endswith(": "):
                shown += process.stdout.read(1)
            os.write(above, part.encode())
            shown += "\n"
        shown += process.communicate(timeout=GIVE_UP_S)[0]
    os.close(above)
    assert shown.splitlines()[-1] == says
    assert WORDS not in shown
