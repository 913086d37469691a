"""The board is drawn once for all who look at it, and each is told it as of now."""

from threading import Event, Thread

from crossload.api.drawn import MOST, Drawn
from crossload.domain.instants import format_instant
from crossload.domain.zones import load_zone
from crossload.usecases.freshness import Tag
from worlds import HOUR, NOW, book

BOARD = "/api/v1/board"


def told(client, query=""):
    answer = client.get(BOARD + query)
    assert answer.status_code == 200
    return answer.json


def test_who_looks_later_is_told_the_time_and_how_late_kit_is_by_then(coordinator, world, clock):
    world.has_out("main", world.a_kit_type(count=1), due=NOW - HOUR)
    before = told(coordinator)
    clock.later(60)
    after = told(coordinator)
    assert after["as_of"] == format_instant(NOW + 60, load_zone("Europe/London"))
    assert [one["late_s"] for one in before["decide"]] == [HOUR]
    assert [one["late_s"] for one in after["decide"]] == [HOUR + 60]
    assert {**after, "as_of": 0, "decide": 0} == {**before, "as_of": 0, "decide": 0}


def test_a_board_is_drawn_once_until_something_is_written(signed_in, world, app):
    kit = world.a_kit_type(count=3)
    mixer, supervisor = signed_in("mixer", "main"), signed_in("supervisor")
    told(mixer)
    (drawn,) = app.extensions["drawn"].answers.values()
    told(supervisor)
    (again,) = app.extensions["drawn"].answers.values()
    assert again is drawn
    book(world, "main", (kit, 1))
    assert told(supervisor)["going_out"][0]["pieces"] == 1


def test_other_days_and_other_pools_have_boards_of_their_own(coordinator, house):
    nine = told(coordinator)["strip"]
    assert len(told(coordinator, "?days=3")["strip"]) == 3
    assert told(coordinator, "?from=2026-12-01")["strip"][0]["date"] == "2026-12-01"
    other = house.another().coordinator.read("/board")["strip"]
    mine = {unit["unit_id"] for unit in nine[0]["units"]}
    assert mine.isdisjoint(unit["unit_id"] for unit in other[0]["units"])
    assert told(coordinator)["strip"] == nine


def test_few_boards_are_kept(coordinator, app):
    for days in range(1, 30):
        told(coordinator, f"?days={days}")
    assert len(app.extensions["drawn"].answers) == 16
    assert len(told(coordinator, "?days=1")["strip"]) == 1


def test_the_board_that_was_drawn_last_is_the_last_to_go(world):
    drawn = Drawn()

    def ask(key):
        return drawn.answer(
            key, world.coordinator, NOW, lambda: (key, Tag(world.revision, NOW + HOUR))
        )

    for key in range(MOST):
        ask(key)
    world.a_kit_type(count=1)
    ask(0)
    ask(MOST)
    assert list(drawn.answers)[-2:] == [0, MOST]


def test_one_draws_for_all_who_ask_meanwhile(world):
    drawn, go, begun, count = Drawn(), Event(), Event(), []

    class Watched(dict):
        def get(self, key):
            if begun.is_set():
                go.set()
            return super().get(key)

    drawn.answers = Watched()

    def draw():
        count.append(1)
        begun.set()
        assert go.wait(10)
        return "told", Tag(world.revision, NOW + HOUR)

    def ask():
        drawn.answer("a", world.coordinator, NOW, draw)

    first = Thread(target=ask)
    first.start()
    assert begun.wait(10)
    second = Thread(target=ask)
    second.start()
    first.join()
    second.join()
    assert len(count) == 1
