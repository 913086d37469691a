"""The application over a database of the test's own, on both kinds, and people signed in to it."""

import pytest
from flask import Flask

from asking import Client, Clock, an_account
from crossload.api.session import COOKIE
from crossload.app import create_app
from crossload.settings import Settings, read_settings
from crossload.storage.database import close_database
from crossload.usecases import sign_in
from visitors import House, Visitor
from worlds import World, a_world


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def settings(migrated_url, tmp_path) -> Settings:
    return read_settings({"CROSSLOAD_DATABASE_URL": migrated_url}, data=tmp_path)


@pytest.fixture
def app(settings, clock) -> Flask:
    made = create_app(settings, clock)
    made.test_client_class = Client
    yield made
    close_database()


@pytest.fixture
def world(app) -> World:
    """A pool with a main, a second and a splinter unit; `worlds.py` says what else it can get."""
    return a_world()


@pytest.fixture
def client(app) -> Client:
    """Somebody who has not signed in."""
    return app.test_client()


@pytest.fixture
def signed_in(app, world, clock):
    """`signed_in("mixer", "second")` is a client whose account has this role and these units.

    Another world's with `of=`. Its account is `client.account`.
    """

    def sign(role: str, *units: str, of: World = world) -> Client:
        account = an_account(of, role, *units)
        _, secret = sign_in.open_session(of.pool, account, terms=sign_in.Terms(), now=clock.now)
        client = app.test_client()
        client.set_cookie(COOKIE, secret)
        client.account = account
        return client

    return sign


@pytest.fixture
def coordinator(signed_in) -> Client:
    return signed_in("coordinator")


@pytest.fixture
def house(app, world, clock) -> House:
    """The world, for visitors with tokens."""
    return House(world, app.test_client(), clock)


@pytest.fixture
def ines(house) -> Visitor:
    """The house's coordinator."""
    return house.coordinator
