"""`crossload demo`: loads the demo, or plays its day against a service that runs."""

import sys
from datetime import date

import requests

from crossload import walk
from crossload.clock import system_clock
from crossload.commands import Told, say
from crossload.domain.instants import parse_day
from crossload.domain.shoot import Pool
from crossload.ground import CannotGoOn, check_folder, fixtures_folder, prepare_database
from crossload.settings import Settings
from crossload.usecases import demo as demos
from crossload.usecases.errors import Invalid


def load_demo(today: date | None) -> Pool:
    return demos.load_demo(fixtures_folder(), today=today, now=system_clock())


def demo(told: Told) -> int:
    if told.walk:
        return _walk(told.url)
    settings: Settings = told.settings
    try:
        today = parse_day(told.date) if told.date else None
    except ValueError as error:
        raise Invalid([("", str(error))]) from error
    if settings.is_embedded:
        check_folder(settings)
    prepare_database(settings)
    if demos.is_loaded():
        say("the demo is there already")
        return 0
    say(f"loaded {load_demo(today).name}")
    return 0


def _walk(url: str) -> int:
    try:
        walk.walk(url, say)
    except walk.WalkFailed as error:
        sys.stderr.write(f"{error}\n")
        return 1
    except requests.RequestException as error:
        raise CannotGoOn(f"no service answers at {url}: start one with crossload serve") from error
    return 0
