"""What the commands share: the database that is there, who works at it, and how they speak."""

import argparse
import sys
from typing import Any

from crossload.clock import system_clock
from crossload.domain import ids
from crossload.domain.window import Id
from crossload.ground import CannotGoOn, prepare_database
from crossload.settings import Settings
from crossload.usecases import invitations, pools
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid

Told = argparse.Namespace


def say(*lines: str) -> None:
    sys.stdout.write("\n".join([*lines, ""]))
    sys.stdout.flush()


def open_there(told: Told) -> Settings:
    """Open the database, which must be there and of this program's schema."""
    settings: Settings = told.settings
    if settings.is_embedded:
        file = settings.database_file
        if not file.exists() and settings.database_url:
            raise CannotGoOn(f"there is no database {file}: make it with crossload migrate")
        if not file.exists():
            raise CannotGoOn(
                f"there is no database in {settings.data}: name its folder with --data,"
                " or begin with crossload serve"
            )
    prepare_database(settings)
    return settings


def operator(told: Told) -> Actor:
    open_there(told)
    return pools.operator(pool_id(told.pool) if told.pool else None)


def pool_id(text: str) -> Id:
    try:
        return ids.from_text(text)
    except ValueError as error:
        raise Invalid([("", f"{text} is no id: {error}")]) from error


def invitation_link(board: str, actor: Actor, **whom: Any) -> str:
    """A one-time link to the page of the board at this address."""
    _, secret = invitations.invite(actor, **whom, now=system_clock())
    return f"{board.rstrip('/')}/welcome#{secret}"
