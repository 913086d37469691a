"""`crossload serve` and `worker`: what goes on until it is told to end."""

from contextlib import ExitStack

from crossload import serving
from crossload import worker as scheduling
from crossload.clock import system_clock
from crossload.commands import Told, invitation_link, open_there
from crossload.demo_command import load_demo
from crossload.ground import (
    check_folder,
    check_port,
    hold_folder,
    note_address,
    prepare_database,
    start_afresh,
)
from crossload.settings import Settings
from crossload.usecases import pools
from crossload.usecases.actor import Actor


def serve(told: Told) -> int:
    settings: Settings = told.settings
    held = ExitStack()
    check_folder(settings)
    if settings.is_embedded:
        held.enter_context(hold_folder(settings))
    check_port(settings)
    if told.fresh:
        start_afresh(settings)
    prepare_database(settings)
    note_address(settings)
    serving.serve(settings, welcome=_welcome(settings, empty=told.empty), held=held)
    return 0


def _welcome(settings: Settings, *, empty: bool) -> str:
    """What is printed when the board answers: where it is, and how to get in."""
    board = f"The board: {settings.board}/"
    there = pools.all_pools()
    if not empty and (not there or any(pool.demo for pool in there)):
        load_demo(None)  # one that is there stays, one that was broken off is brought to its end
        there = pools.all_pools()
    if not there:
        there = [
            pools.make_pool(
                "Pool", zone=settings.zone, currency=settings.currency, now=system_clock()
            )
        ]
    if any(pool.demo for pool in there):
        return (
            f"{board}\nSign in there as one of the demo's people, on this machine without password."
        )
    if not any(pools.has_accounts(pool.id) for pool in there):
        link = invitation_link(settings.board, Actor.operator(there[0].id))
        return f"{board}\nFor its first coordinator, good once and for a week: {link}"
    return f"{board}\nSign in with your name and password."


def worker(told: Told) -> int:
    scheduling.run(open_there(told))
    return 0
