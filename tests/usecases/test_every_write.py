"""Whatever is written names its actor and stands in the journal, under the number of its write."""

from dataclasses import replace

import pytest

from crossload.domain.booking import BookingState, Wanted
from crossload.domain.custody import Move
from crossload.domain.kit import Condition, Tracking
from crossload.domain.people import Role
from crossload.domain.shoot import UnitKind
from crossload.domain.window import Window
from crossload.usecases import (
    accounts,
    bookings,
    handing,
    imports,
    invitations,
    own_pool,
    reminders,
    sign_in,
    tokens,
)
from crossload.usecases.actor import Actor
from crossload.usecases.bookings import Changes
from crossload.usecases.boxes import BOXES
from crossload.usecases.items import ITEMS
from crossload.usecases.kit import KIT_TYPES
from crossload.usecases.moving import Event, Piece
from crossload.usecases.out_of_service import OUT_OF_SERVICE
from crossload.usecases.people import PEOPLE, PRODUCTIONS, UNITS
from crossload.usecases.shoot_days import SHOOT_DAYS
from crossload.usecases.transaction import read
from worlds import DAY, HOUR, NOW, World, an_ask

KIT_LIST = b"Kit type,Category,Quantity\nClamp,clamp,4\n"
PASSWORD = "four words in a row"


@pytest.fixture
def ines(world) -> Actor:
    """A coordinator with an account, so that the journal can name somebody."""
    account = accounts.add_account(
        world.coordinator, login="ines", name="Ines", role=Role.COORDINATOR, password=PASSWORD, now=NOW
    )  # fmt: skip
    return Actor(world.pool, Role.COORDINATOR, account.id)


def written(world: World, since: int):
    """The journal's entries of every write after a revision, and the revisions that have none."""
    with read(world.pool) as stores:
        revisions = range(since + 1, stores.header.revision + 1)
        entries = [one for one in stores.journal.page(limit=10_000) if one.seq > since]
    return entries, set(revisions) - {entry.seq for entry in entries}


def of_bookings(world, ines):
    kit = world.a_kit_type(count=8)
    since = world.revision

    def book(unit, quantity, **more):
        ask = an_ask(world, unit, (kit, quantity), **more)
        return bookings.book(ines, ask, now=NOW)

    first = book("main", 5).booking
    book("second", 9)  # refused, and the asking is kept
    pencil = book("second", 2, state=BookingState.PENCILLED).booking
    bookings.confirm(ines, pencil.id, version=None, now=NOW)
    longer = Changes(window=Window(NOW + HOUR, NOW + 6 * HOUR))
    bookings.change(ines, first.id, longer, version=None, now=NOW)
    lines = (Wanted(kit.id, 4, line=first.lines[0].id),)
    bookings.change(ines, first.id, Changes(lines=lines), version=None, now=NOW)
    bookings.release(ines, first.id, version=None, now=NOW, quantities={first.lines[0].id: 1})
    bookings.release(ines, first.id, version=None, now=NOW)
    undone = book("splinter", 1, start=DAY, end=2 * DAY).booking
    bookings.undo(ines, undone.id, version=None, now=NOW)
    return since


def of_custody(world, ines):
    kit, counted = world.a_kit_type(pieces=3), world.a_kit_type(count=5)
    used = world.a_kit_type(count=9, tracking=Tracking.CONSUMABLE)
    ask = an_ask(world, "main", (kit, 2), (counted, 3), (used, 2), start=0)
    mine = bookings.book(ines, ask, now=NOW).booking
    theirs = bookings.book(ines, an_ask(world, "second", (kit, 1), start=0), now=NOW).booking
    one, two, _ = (Piece(item.tag) for item in world.pieces(kit))
    since = world.revision

    def send(kind, *pieces, **more):
        key = f"{kind}{pieces}"
        handing.record(ines, Event(key, kind, NOW, pieces, **more), "digest", now=NOW)

    send(Move.OUT, one, two, booking=mine.id)
    send(Move.OUT, Piece("", counted.id, 3), booking=mine.id)
    send(Move.OUT, Piece("", used.id, 2), booking=mine.id)
    send(Move.PROMISE, one, promised_at=NOW + DAY)
    send(Move.HAND_OVER, two, booking=theirs.id)
    send(Move.BACK, one, condition=Condition.DAMAGED)
    send(Move.BACK, Piece("", counted.id, 1), booking=mine.id, condition=Condition.LOST)
    send(Move.BACK, two)
    return since


def of_reminders(world, ines):
    kit = world.a_kit_type(count=5)
    mine = bookings.book(ines, an_ask(world, "main", (kit, 3), start=0), now=NOW).booking
    event = Event("out", Move.OUT, NOW, (Piece("", kit.id, 3),), booking=mine.id)
    handing.record(ines, event, "digest", now=NOW)
    since = world.revision
    reminders.remind(world.pool, mine.window.end)
    with read(world.pool) as stores:
        (told, *_) = stores.reminders.open()
    reminders.seen(ines, told.id, mine.window.end)
    reminders.done(ines, told.id, mine.window.end)
    reminders.remind(world.pool, mine.window.end + 5 * HOUR)
    return since


def of_kit_and_people(world, ines):
    since = world.revision

    def add(register, **values):
        return register.add(ines, values, now=NOW)

    def change(register, id, **values):
        register.change(ines, id, values, version=None, now=NOW)

    kit = add(KIT_TYPES, name="Pack", category="pack", tracking=Tracking.SERIAL)["id"]
    change(KIT_TYPES, kit, prep_s=600)
    box = add(BOXES, number="1")["id"]
    change(BOXES, box, place="bay 2")
    item = add(ITEMS, kit_type=kit)["id"]
    change(ITEMS, item, home_box=box)
    change(ITEMS, item, condition=Condition.SUSPECT)
    window = add(OUT_OF_SERVICE, item=item, start_s=NOW + DAY, end_s=NOW + 2 * DAY).id
    change(OUT_OF_SERVICE, window, end_s=NOW + 3 * DAY)
    production = add(PRODUCTIONS, name="Another").id
    unit = add(UNITS, production=production, name="main", kind=UnitKind.MAIN).id
    change(UNITS, unit, base="Marsh Lane")
    person = add(PEOPLE, name="Hand", phone="07700 900111").id
    change(PEOPLE, person, phone="07700 900112")
    day = add(SHOOT_DAYS, unit=unit, number=1, call_s=NOW + DAY, wrap_s=NOW + DAY + HOUR).id
    change(SHOOT_DAYS, day, radios=4)
    own_pool.change_pool(ines, {"place": "Old Maltings"}, version=None, now=NOW)
    done = imports.import_kit_list(ines, KIT_LIST, dry_run=False, now=NOW)
    assert done.is_done
    return since


def of_sign_in(world, ines):
    since = world.revision
    made = accounts.add_account(
        ines, login="joss", name="Joss", role=Role.ASSISTANT, password=PASSWORD, now=NOW
    )
    accounts.change_account(
        ines, made.id, accounts.Changes(role=Role.SUPERVISOR), version=None, now=NOW
    )
    signed, _ = sign_in.sign_in(
        "joss", PASSWORD, address="192.0.2.1", terms=sign_in.Terms(), now=NOW
    )
    sign_in.sign_out(signed, now=NOW)
    accounts.give_password(ines, made.id, "another row of words", now=NOW)
    accounts.end_sessions(ines, made.id, now=NOW)
    token, _ = tokens.make_token(ines, "script", now=NOW)
    tokens.end_credential(ines, token.id, "token", now=NOW)
    tokens.make_wall_link(ines, "truck", now=NOW)
    _, secret = invitations.invite(ines, role=Role.MIXER, now=NOW)
    invitations.redeem(
        secret, login="tobin", name="Tobin", password=PASSWORD, address="192.0.2.1",
        terms=sign_in.Terms(), now=NOW,
    )  # fmt: skip
    return since


@pytest.mark.parametrize(
    "act",
    [of_bookings, of_custody, of_reminders, of_kit_and_people, of_sign_in],
    ids=lambda act: act.__name__,
)
def test_every_write_is_in_the_journal(world, ines, act):
    since = act(world, ines)
    entries, silent = written(world, since)
    assert entries
    assert silent == set()


@pytest.mark.parametrize("act", [of_bookings, of_custody, of_kit_and_people])
def test_what_somebody_does_is_under_their_name(world, ines, act):
    since = act(world, ines)
    entries, _ = written(world, since)
    assert {entry.account for entry in entries} == {ines.account}


def test_what_falls_due_by_itself_is_under_nobodys_name(world, ines):
    kit = world.a_kit_type(count=1)
    ask = an_ask(world, "main", (kit, 1), state=BookingState.PENCILLED)
    bookings.book(ines, replace(ask, pencil_expires_at=NOW + HOUR), now=NOW)
    since = world.revision
    reminders.remind(world.pool, NOW + HOUR)
    (entry,), silent = written(world, since)
    assert (entry.verb, entry.account, silent) == ("lapsed", None, set())
    assert (entry.before, entry.after) == ({"state": "pencilled"}, {"state": "lapsed"})


def test_entries_say_what_was_and_what_is(world, ines):
    kit = world.a_kit_type(count=8)
    booking = bookings.book(ines, an_ask(world, "main", (kit, 5)), now=NOW).booking
    since = world.revision
    bookings.change(
        ines, booking.id, Changes(lines=(Wanted(kit.id, 7, line=booking.lines[0].id),)),
        version=None, now=NOW + 1,
    )  # fmt: skip
    (entry,), _ = written(world, since)
    assert (entry.at, entry.subject_kind, entry.subject) == (NOW + 1, "booking", booking.id)
    assert [line[1] for line in entry.before["lines"]] == [5]
    assert [line[1] for line in entry.after["lines"]] == [7]


def test_a_piece_that_is_fit_again_ends_its_window_in_the_journal_too(world, ines):
    kit = world.a_kit_type(pieces=1)
    (item,) = world.pieces(kit)
    ITEMS.change(ines, item.id, {"condition": Condition.SUSPECT}, version=None, now=NOW)
    since = world.revision
    ITEMS.change(ines, item.id, {"condition": Condition.FIT}, version=None, now=NOW + HOUR)
    entries, _ = written(world, since)
    (ended,) = (entry for entry in entries if entry.subject_kind == "out_of_service")
    assert (ended.verb, ended.after) == ("ended", {"end_s": NOW + HOUR})
