"""Signing in: passwords, how long a session lasts, the throttle, and what ends what."""

import pytest

from asking import PASSWORD, an_account
from crossload.domain.people import Role
from crossload.storage import sign_ins
from crossload.usecases import accounts, identity, invitations, passwords, sign_in, throttle, tokens
from crossload.usecases.actor import Actor
from crossload.usecases.errors import (
    Conflict,
    Forbidden,
    Invalid,
    NotFound,
    NotSignedIn,
    Stale,
    TooManyTries,
)
from crossload.usecases.sign_in import Terms
from worlds import DAY, HOUR, NOW, a_world

TERMS = Terms()
HERE = "192.0.2.7"


@pytest.fixture(scope="module")
def kept() -> str:
    return passwords.make_hash(PASSWORD)


def opened(world, account, now=NOW):
    return sign_in.open_session(world.pool, account, terms=TERMS, now=now)


def lasts(world, account, now=NOW) -> int:
    signed, _ = opened(world, account, now)
    return signed.credential.expires_at - now


# How long a session lasts


def test_everybodys_session_lasts_a_week_and_a_mixers_while_no_days_are_known(world):
    assert lasts(world, an_account(world, "coordinator")) == 7 * DAY
    assert lasts(world, an_account(world, "mixer", "main")) == 7 * DAY


def test_a_mixers_session_lasts_to_the_end_of_the_shoots_last_day(world):
    """Of the whole production: a second unit's mixer may be called to the main unit's last day."""
    world.a_shoot_day("main", NOW + 20 * DAY, NOW + 20 * DAY + 12 * HOUR)
    mixer = an_account(world, "mixer", "second")
    # The wrap is 2026-12-15T22:00Z; the local day ends at midnight, two hours later.
    assert lasts(world, mixer) == 20 * DAY + 14 * HOUR
    assert lasts(world, an_account(world, "assistant", "second")) == 7 * DAY


def test_a_mixer_without_a_unit_has_no_shoot(world):
    world.a_shoot_day("main", NOW + 20 * DAY, NOW + 21 * DAY)
    assert lasts(world, an_account(world, "mixer")) == 7 * DAY


def test_a_shoot_that_is_over_still_gives_a_day(world):
    world.a_shoot_day("main", NOW - 9 * DAY, NOW - 9 * DAY + HOUR)
    assert lasts(world, an_account(world, "mixer", "main")) == DAY


def test_a_shoot_of_years_gives_no_more_than_the_terms(world):
    world.a_shoot_day("main", NOW + 1000 * DAY, NOW + 1000 * DAY + HOUR)
    assert lasts(world, an_account(world, "mixer", "main")) == TERMS.shoot_most_s


def test_another_pools_shoot_lengthens_nothing(world):
    a_world().a_shoot_day("main", NOW + 20 * DAY, NOW + 21 * DAY)
    assert lasts(world, an_account(world, "mixer", "main")) == 7 * DAY


def test_a_session_is_lengthened_once_the_shoot_is_a_day_longer(world):
    world.a_shoot_day("main", NOW + 10 * DAY, NOW + 10 * DAY + HOUR)
    signed, secret = opened(world, an_account(world, "mixer", "main"))
    assert sign_in.renew(signed, terms=TERMS, now=NOW) is None
    world.a_shoot_day("main", NOW + 11 * DAY, NOW + 11 * DAY + HOUR, number=2)
    until = sign_in.renew(signed, terms=TERMS, now=NOW)
    assert until == signed.credential.expires_at + DAY
    again = identity.identify(secret, ("session",), now=until - 1)
    assert again.credential.expires_at == until
    with pytest.raises(NotSignedIn, match="has run out"):
        identity.identify(secret, ("session",), now=until)


def test_a_coordinators_session_is_not_lengthened(world):
    world.a_shoot_day("main", NOW + 30 * DAY, NOW + 31 * DAY)
    signed, _ = opened(world, an_account(world, "coordinator"))
    assert sign_in.renew(signed, terms=TERMS, now=NOW) is None


# Passwords and the throttle


def try_in(login="maud", password="guess", address=HERE, now=NOW):
    return sign_in.sign_in(login, password, address=address, terms=TERMS, now=now)


@pytest.fixture
def maud(world, kept):
    return an_account(world, "mixer", login="maud", password_hash=kept)


def test_the_password_signs_in_and_another_does_not(world, maud):
    signed, secret = try_in(password=PASSWORD)
    assert signed.actor == Actor(world.pool, Role.MIXER, maud.id, (), signed.credential.id)
    assert identity.identify(secret, ("session",), now=NOW).actor == signed.actor
    with pytest.raises(NotSignedIn):
        try_in(password=PASSWORD + " ")


def test_letters_are_the_same_however_the_keyboard_composes_them(world):
    composed, apart = "vier wörter in reihe", "vier wo\u0308rter in reihe"
    an_account(world, "mixer", login="maud", password_hash=passwords.make_hash(composed))
    try_in(password=apart)


def test_without_a_password_nobody_comes_in_with_an_empty_one(world):
    an_account(world, "mixer", login="maud", password_hash="")
    for password in ("", "x"):
        with pytest.raises(NotSignedIn):
            try_in(password=password)


def test_the_secret_is_not_kept(world, maud):
    _, secret = try_in(password=PASSWORD)
    found = sign_ins.find(identity.digest(secret))
    assert found is not None
    assert secret not in repr(found)


def use_up(login="maud", address=HERE, tries=throttle.MOST_OF_A_LOGIN, now=NOW):
    for _ in range(tries):
        with pytest.raises(NotSignedIn):
            try_in(login, address=address, now=now)


def test_the_eleventh_try_waits_even_with_the_right_password_and_from_elsewhere(world, maud):
    use_up()
    with pytest.raises(TooManyTries) as refused:
        try_in(password=PASSWORD, address="198.51.100.1", now=NOW + 100)
    assert refused.value.retry_after_s == throttle.WINDOW_S - 100
    try_in(password=PASSWORD, now=NOW + throttle.WINDOW_S)


def test_tries_while_waiting_do_not_lengthen_the_wait(world, maud):
    use_up()
    for second in (1, 300, throttle.WINDOW_S - 1):
        with pytest.raises(TooManyTries) as refused:
            try_in(now=NOW + second)
        assert refused.value.retry_after_s == throttle.WINDOW_S - second


def test_a_good_try_gives_the_name_its_tries_back(world, maud):
    use_up(tries=throttle.MOST_OF_A_LOGIN - 1)
    try_in(password=PASSWORD)
    use_up(tries=throttle.MOST_OF_A_LOGIN)


def test_a_name_that_nobody_has_is_throttled_as_well(world):
    use_up("nobody")
    with pytest.raises(TooManyTries):
        try_in("nobody")


def test_one_address_cannot_try_many_names(world, maud):
    for number in range(throttle.MOST_OF_AN_ADDRESS):
        with pytest.raises(NotSignedIn):
            try_in(f"name-{number}")
    with pytest.raises(TooManyTries):
        try_in(password=PASSWORD)
    try_in(password=PASSWORD, address="198.51.100.1")


SAME_CUSTOMER = {
    "one network of 64 bits": ("2001:db8:1:2::1", "2001:db8:1:2:ffff::2", True),
    "two networks": ("2001:db8:1:2::1", "2001:db8:1:3::1", False),
    "version 4 in version 6": ("192.0.2.7", "::ffff:192.0.2.7", True),
    "two of version 4": ("192.0.2.7", "192.0.2.8", False),
    "two of version 4 in version 6": ("::ffff:192.0.2.7", "::ffff:192.0.2.8", False),
}


@pytest.mark.parametrize(("one", "other", "same"), SAME_CUSTOMER.values(), ids=SAME_CUSTOMER)
def test_whose_address_is_whose(one, other, same):
    assert (throttle._of_address(one) == throttle._of_address(other)) is same


WEAK = {
    # NIST SP 800-63B-4 section 3.1.1.2: 15 at least where a password stands alone.
    "fourteen characters": ("x7#kq 2vw!pzd4", "a password has 15 characters at least"),
    "129 characters": ("four words " * 12, "a password has 128 characters at most"),
    "one character": ("a" * 20, "this password repeats too few characters"),
    "two characters": ("ab" * 10, "this password repeats too few characters"),
    "counting": ("123456789012345", "this password runs along the keyboard or counts on"),
    "the alphabet": ("abcdefghijklmnop", "this password runs along the keyboard or counts on"),
    "a row of keys": ("qwertyuiopasdfgh", "this password runs along the keyboard or counts on"),
    "the name again": ("maud-of-mainmaud-of-main", "this password is the sign-in name"),
}


@pytest.mark.parametrize(("password", "said"), WEAK.values(), ids=WEAK)
def test_a_password_that_is_easily_found_is_refused_with_the_mend(password, said):
    with pytest.raises(Invalid) as refused:
        passwords.check_password(password, "maud-of-main")
    ((pointer, sentence),) = refused.value.wrong
    assert pointer == "/password"
    assert sentence.startswith(said)


@pytest.mark.parametrize(
    "password",
    # NIST SP 800-63B-4 section 3.1.1.2: 64 allowed at least, no rule of composition, spaces taken.
    [
        PASSWORD,
        "x" * 40 + "correct horse battery st",
        "ein satz mit zwölf wörtern",
        "🎧🎬🎤🎚🎙📻 und vier wörter",
    ],
    ids=["four words", "64 characters", "letters beyond ASCII", "pictures"],
)
def test_a_long_password_is_taken_without_a_rule_of_composition(password):
    passwords.check_password(password, "maud")


# What ends what


def test_an_actor_of_an_ended_session_is_nobody(world, maud):
    signed, secret = opened(world, maud)
    sign_in.sign_out(signed, now=NOW)
    with pytest.raises(NotSignedIn, match="was ended"):
        identity.identify(secret, ("session",), now=NOW)
    sign_in.sign_out(signed, now=NOW)


def test_a_secret_is_of_one_kind(world, maud):
    signed, secret = opened(world, maud)
    with pytest.raises(NotSignedIn):
        identity.identify(secret, ("token", "wall"), now=NOW)
    forged = identity.PREFIX["token"] + secret.removeprefix(identity.PREFIX["session"])
    with pytest.raises(NotSignedIn):
        identity.identify(forged, ("token", "wall"), now=NOW)
    assert signed.credential.kind == "session"


def test_who_may_only_make_tokens_ends_only_their_own(world):
    one = an_account(world, "mixer")
    other = an_account(world, "mixer")
    first, _ = tokens.make_token(opened(world, one)[0].actor, "one", now=NOW)
    actor = opened(world, other)[0].actor
    with pytest.raises(NotFound):
        tokens.end_credential(actor, first.id, "token", now=NOW)
    assert tokens.tokens(actor, now=NOW) == []
    assert [token.id for token in tokens.tokens(world.coordinator, now=NOW)] == [first.id]
    tokens.end_credential(world.coordinator, first.id, "token", now=NOW)
    assert tokens.tokens(world.coordinator, now=NOW) == []


def test_a_link_is_not_ended_as_a_token(world):
    made, _ = tokens.make_wall_link(world.coordinator, "truck", now=NOW)
    with pytest.raises(NotFound):
        tokens.end_credential(world.coordinator, made.id, "token", now=NOW)
    tokens.end_credential(world.coordinator, made.id, "wall", now=NOW)
    assert tokens.wall_links(world.coordinator, now=NOW) == []


def test_a_pool_has_a_hundred_links_in_force_at_most(world, monkeypatch):
    for number in range(tokens.MOST_IN_FORCE):
        made, _ = tokens.make_wall_link(world.coordinator, str(number), now=NOW)
    with pytest.raises(Conflict):
        tokens.make_wall_link(world.coordinator, "one more", now=NOW)
    tokens.end_credential(world.coordinator, made.id, "wall", now=NOW)
    tokens.make_wall_link(world.coordinator, "one more", now=NOW)


@pytest.mark.parametrize("role", [Role.MIXER, Role.ASSISTANT, Role.SUPERVISOR, Role.WALL])
def test_only_the_coordinator_lets_people_in(world, role):
    actor = Actor(world.pool, role, None, tuple(world.units.values()))
    with pytest.raises(Forbidden):
        accounts.add_account(actor, login="tobin", name="", role=Role.MIXER, now=NOW)
    with pytest.raises(Forbidden):
        invitations.invite(actor, now=NOW)
    with pytest.raises(Forbidden):
        tokens.make_wall_link(actor, "a", now=NOW)
    with pytest.raises(Forbidden):
        accounts.accounts(actor)


def test_somebody_may_change_their_own_name_and_no_more(world):
    account = an_account(world, "mixer", "main")
    actor = opened(world, account)[0].actor
    rename = accounts.Changes(name="Tobin A")
    assert accounts.change_account(actor, account.id, rename, version=1, now=NOW).name == "Tobin A"
    for change in (accounts.Changes(role=Role.COORDINATOR), accounts.Changes(units=())):
        with pytest.raises(Forbidden):
            accounts.change_account(actor, account.id, change, version=None, now=NOW)


def test_a_change_on_an_older_version_is_stale(world):
    account = an_account(world, "mixer")
    rename = accounts.Changes(name="Tobin A")
    accounts.change_account(world.coordinator, account.id, rename, version=1, now=NOW)
    with pytest.raises(Stale):
        accounts.change_account(world.coordinator, account.id, rename, version=1, now=NOW)


def redeem(secret, login="tobin", password=PASSWORD, now=NOW):
    return invitations.redeem(
        secret, login=login, name="", password=password, address=HERE, terms=TERMS, now=now
    )


def test_an_invitation_for_a_forgotten_password_ends_what_was_open(world, maud):
    _, old = opened(world, maud)
    _, link = invitations.invite(world.coordinator, account=maud.id, now=NOW)
    with pytest.raises(Invalid, match="another sign-in name"):
        redeem(link, "tobin")
    signed, _ = redeem(link, "maud", "another four words")
    assert signed.actor.account == maud.id
    with pytest.raises(NotSignedIn):
        identity.identify(old, ("session",), now=NOW)
    try_in(password="another four words")
    with pytest.raises(NotSignedIn):
        try_in(password=PASSWORD)
    with pytest.raises(NotFound):
        redeem(link, "maud")


def test_an_invitation_that_was_taken_back_is_over(world):
    made, link = invitations.invite(world.coordinator, now=NOW)
    tokens.end_credential(world.coordinator, made.id, "invitation", now=NOW)
    with pytest.raises(NotFound, match="has been used or is over"):
        redeem(link)
    assert invitations.invitations(world.coordinator, now=NOW) == []


def test_the_first_coordinator_comes_in_by_an_invitation(world):
    _, link = invitations.invite(Actor.operator(world.pool), now=NOW)
    signed, _ = redeem(link)
    assert signed.actor.role is Role.COORDINATOR


def test_links_cannot_be_guessed_at_leisure(world):
    for number in range(throttle.MOST_OF_A_LOGIN):
        with pytest.raises(NotFound):
            redeem(f"cli_{number}")
    with pytest.raises(TooManyTries):
        redeem("cli_more")
