"""`crossload user`: accounts, passwords and invitations, from the machine of the database."""

import getpass
import sys

from crossload.clock import system_clock
from crossload.commands import Told, invitation_link, operator, say
from crossload.domain.people import Account, Role
from crossload.domain.window import Id
from crossload.ground import noted_address
from crossload.usecases.accounts import Changes, add_account, change_account, give_password
from crossload.usecases.accounts import accounts as everybody
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid, NotFound
from crossload.usecases.whereabouts import around


def _units(actor: Actor, names: list[str]) -> tuple[Id, ...]:
    units = around(actor).units
    known = {unit.name.casefold(): unit.id for unit in units}
    for name in names:
        if name.casefold() not in known:
            there = ", ".join(sorted(unit.name for unit in units)) or "none yet"
            raise Invalid([("", f"there is no unit {name}: the units are {there}")])
    return tuple(known[name.casefold()] for name in names)


def _account(actor: Actor, login: str) -> Account:
    for account in everybody(actor):
        if account.login == login.casefold():
            return account
    raise NotFound("account", f"this pool has nobody who signs in as {login}")


def _password() -> str:
    """Typed twice without showing, or one line of standard input."""
    if not sys.stdin.isatty():
        try:
            return sys.stdin.buffer.readline().decode().rstrip("\r\n")
        except UnicodeDecodeError as error:
            raise Invalid([("", "the password is not UTF-8: give it in UTF-8")]) from error
    try:
        password = getpass.getpass("Password: ")
        again = getpass.getpass("The same again: ")
    except EOFError as error:
        raise Invalid([("", "no password was typed: begin again")]) from error
    if again != password:
        raise Invalid([("", "the two are not the same: begin again")])
    return password


def add(told: Told) -> int:
    actor = operator(told)
    units = _units(actor, told.unit)
    account = add_account(
        actor,
        login=told.login,
        name=told.name,
        role=Role(told.role),
        units=units,
        password=_password(),
        now=system_clock(),
    )
    say(f"{account.login} can sign in as {account.role}")
    return 0


def password(told: Told) -> int:
    actor = operator(told)
    account = _account(actor, told.login)
    give_password(actor, account.id, _password(), now=system_clock())
    say(f"{account.login} has a new password and is signed out everywhere")
    return 0


def show(told: Told) -> int:
    for account in everybody(operator(told)):
        ended = " (ended)" if account.ended_at else ""
        say(f"{account.login:20} {account.role:12} {account.name}{ended}")
    return 0


def invite(told: Told) -> int:
    actor = operator(told)
    account = _account(actor, told.login) if told.login else None
    role = account.role if account else Role(told.role)
    link = invitation_link(
        told.url or noted_address(told.settings),
        actor,
        role=role,
        units=_units(actor, told.unit),
        name=told.name or (account.name if account else ""),
        account=account.id if account else None,
    )
    say(link)
    return 0


def end(told: Told) -> int:
    actor = operator(told)
    account = _account(actor, told.login)
    ended = Changes(ended=True)
    change_account(actor, account.id, ended, version=None, now=system_clock())
    say(f"{account.login} can no longer sign in")
    return 0
