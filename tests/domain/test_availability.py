"""Figures at the first least-free instant of each cell, against a model that looks at every second."""

from datetime import date, datetime
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.availability import Kind, Spans, hours_of, measure
from crossload.domain.idle import ShootDays, classes_of, idle, used
from crossload.domain.window import Window
from crossload.domain.zones import day_window, load_zone

BOOKED, OUT, OVERDUE, PENCILLED, SERVICE = Kind

NAMES = ("at", "free", "if_pencils_fall", "booked", "out", "overdue", "pencilled", "out_of_service")


def figures_of(capacity, holds, cells, name):
    """One figure of the only kit type, cell by cell; a hold is (start, end, quantity, kind)."""
    spans = Spans.of((0, *hold) for hold in holds)
    return getattr(measure(np.array([capacity]), spans, cells), name)[0].tolist()


def cells_of(*edges):
    return [Window(start, end) for start, end in edges]


DAYS = cells_of((0, 100), (100, 200), (200, 300))


def test_what_holds_nothing_is_free_from_the_cells_beginning():
    assert figures_of(4, [], DAYS, "free") == [4, 4, 4]
    assert figures_of(4, [], DAYS, "at") == [0, 100, 200]


def test_windows_back_to_back_hold_a_piece_once():
    holds = [(10, 150, 1, BOOKED), (150, 250, 1, BOOKED)]
    assert figures_of(1, holds, DAYS, "free") == [0, 0, 0]


@pytest.mark.parametrize(
    ("start", "end", "free"),
    [
        pytest.param(100, 200, [2, 0, 2], id="just the day"),
        pytest.param(99, 201, [0, 0, 0], id="a second to either side"),
        pytest.param(101, 199, [2, 0, 2], id="within the day"),
        pytest.param(-50, 1000, [0, 0, 0], id="longer than all days"),
        pytest.param(-50, 0, [2, 2, 2], id="over as the first day begins"),
        pytest.param(300, 400, [2, 2, 2], id="begins as the last day ends"),
    ],
)
def test_a_hold_counts_on_each_day_that_it_touches(start, end, free):
    assert figures_of(2, [(start, end, 2, BOOKED)], DAYS, "free") == free


def test_the_figures_are_those_of_the_first_of_equally_scarce_instants():
    holds = [(20, 30, 2, PENCILLED), (60, 70, 2, BOOKED)]
    assert figures_of(5, holds, DAYS[:1], "at") == [20]
    assert figures_of(5, holds, DAYS[:1], "pencilled") == [2]
    assert figures_of(5, holds, DAYS[:1], "booked") == [0]


def test_a_day_that_is_scarcest_as_it_begins_says_so():
    holds = [(50, 120, 3, BOOKED), (150, 160, 2, BOOKED)]
    assert figures_of(5, holds, DAYS, "at") == [50, 100, 200]


def test_more_than_there_is_shows_as_less_than_none_free():
    assert figures_of(2, [(0, 50, 3, BOOKED), (10, 20, 1, SERVICE)], DAYS[:1], "free") == [-2]


def test_what_is_out_or_overdue_is_booked_and_counted_once():
    holds = [(0, 90, 1, BOOKED), (0, 90, 2, OUT), (0, 90, 4, OVERDUE), (0, 90, 8, PENCILLED)]
    figures = {name: figures_of(20, holds, DAYS[:1], name)[0] for name in NAMES}
    assert (figures["booked"], figures["out"], figures["overdue"]) == (7, 6, 4)
    assert (figures["free"], figures["if_pencils_fall"]) == (5, 13)


def test_kit_types_do_not_run_into_each_other():
    spans = Spans.of([(0, 250, 900, 5, BOOKED), (2, -9, 20, 3, BOOKED), (2, 90, 210, 1, SERVICE)])
    free = measure(np.array([9, 7, 5]), spans, DAYS).free
    assert free.tolist() == [[9, 9, 4], [7, 7, 7], [2, 4, 4]]


def test_kit_types_by_the_hundred_are_reckoned_in_parts_and_come_out_in_order():
    count = 150
    spans = Spans.of((row, 10, 20, row, BOOKED) for row in reversed(range(count)))
    free = measure(np.full(count, count), spans, DAYS[:2]).free
    assert free.T.tolist() == [[count - row for row in range(count)], [count] * count]


def test_no_kit_types_and_no_days_give_no_figures():
    assert measure(np.array([], np.int64), Spans.of(()), DAYS).free.shape == (0, 3)
    assert measure(np.array([3]), Spans.of([(0, 0, 9, 1, BOOKED)]), []).free.shape == (1, 0)


def test_quantities_past_32_bits_are_exact():
    holds = [(0, 50, 2**40, BOOKED), (0, 50, 1, BOOKED)]
    assert figures_of(2**40, holds, DAYS[:1], "free") == [-1]


# against a model that looks at every second

SECONDS = 24

holds = st.lists(
    st.tuples(
        st.integers(0, 2),
        st.integers(-4, SECONDS),
        st.integers(1, SECONDS),
        st.integers(1, 4),
        st.sampled_from(Kind),
    ).map(lambda hold: (hold[0], hold[1], hold[1] + hold[2], *hold[3:])),
    max_size=10,
)
cells = st.lists(
    st.tuples(st.integers(0, SECONDS), st.integers(1, 9)).map(lambda c: Window(c[0], c[0] + c[1])),
    min_size=1,
    max_size=6,
)
"""In any order, with gaps, touching, overlapping."""


def levels_at(holds, row, second):
    """What is held of each kind at one second."""
    return {
        kind: sum(
            quantity
            for of, start, end, quantity, what in holds
            if of == row and what == kind and start <= second < end
        )
        for kind in Kind
    }


def slowly(capacity, holds, row, cell):
    """The figures of one cell, by looking at each of its seconds."""
    at = max(
        range(cell.start, cell.end),
        key=lambda second: (sum(levels_at(holds, row, second).values()), -second),
    )
    level = levels_at(holds, row, at)
    booked = level[BOOKED] + level[OUT] + level[OVERDUE]
    kept = capacity - booked - level[SERVICE]
    out = level[OUT] + level[OVERDUE]
    return (
        at, kept - level[PENCILLED], kept, booked, out, level[OVERDUE], level[PENCILLED],
        level[SERVICE],
    )  # fmt: skip


@given(holds, cells)
def test_every_figure_is_what_a_look_at_every_second_finds(holds, cells):
    capacity = np.array([3, 0, 7])
    figures = measure(capacity, Spans.of(holds), cells)
    for row in range(3):
        for column, cell in enumerate(cells):
            found = tuple(getattr(figures, name)[row, column] for name in NAMES)
            assert found == slowly(capacity[row], holds, row, cell)


@given(holds, cells)
def test_the_figures_of_a_cell_add_up_to_what_there_is(holds, cells):
    figures = measure(np.array([3, 0, 7]), Spans.of(holds), cells)
    total = figures.free + figures.pencilled + figures.booked + figures.out_of_service
    assert (total == figures.capacity[:, None]).all()
    assert (figures.overdue <= figures.out).all() and (figures.out <= figures.booked).all()


@given(holds.filter(bool), cells)
def test_taking_a_hold_away_never_makes_less_free(holds, cells):
    capacity = np.array([3, 0, 7])
    before = measure(capacity, Spans.of(holds), cells).free
    after = measure(capacity, Spans.of(holds[1:]), cells).free
    assert (after >= before).all()


# hours


def london(day):
    return hours_of(day, load_zone("Europe/London"))


# Lengths and offsets: IANA time zone database, release 2025b and later, by the tzdata package.
@pytest.mark.parametrize(
    ("zone", "day", "hours", "seconds"),
    [
        pytest.param("Europe/London", date(2026, 11, 26), 24, 86_400, id="a common day"),
        pytest.param("Europe/London", date(2026, 3, 29), 23, 82_800, id="set on"),
        pytest.param("Europe/London", date(2026, 10, 25), 25, 90_000, id="set back"),
        pytest.param("Australia/Lord_Howe", date(2026, 10, 4), 24, 84_600, id="set on by half"),
        pytest.param("Australia/Lord_Howe", date(2026, 4, 5), 25, 88_200, id="set back by half"),
        pytest.param("Asia/Kathmandu", date(2026, 11, 26), 24, 86_400, id="three quarters off"),
        pytest.param("Asia/Beirut", date(2026, 3, 29), 23, 82_800, id="no midnight"),
        pytest.param("America/St_Johns", date(2006, 4, 2), 24, 82_800, id="set on at 00:01"),
        pytest.param("America/St_Johns", date(2006, 10, 29), 26, 90_000, id="set back at 00:01"),
    ],
)
def test_the_hours_of_a_day_fill_it_and_begin_on_the_wall_clocks_hours(zone, day, hours, seconds):
    zone = load_zone(zone)
    cuts = hours_of(day, zone)
    assert len(cuts) == hours
    assert sum(cut.length_s for cut in cuts) == seconds
    assert [cut.start for cut in cuts[1:]] == [cut.end for cut in cuts[:-1]]
    window = day_window(day, zone)
    assert (cuts[0].start, cuts[-1].end) == (window.start, window.end)
    walls = [datetime.fromtimestamp(cut.start, zone) for cut in cuts]
    odd = [wall for wall in walls if wall.minute or wall.second]
    assert all(_offset(zone, wall, 0) != _offset(zone, wall, -1) for wall in odd)
    assert all(cut.length_s <= 3600 for cut in cuts)


def _offset(zone, wall, seconds):
    return datetime.fromtimestamp(wall.timestamp() + seconds, zone).utcoffset()


def test_the_hour_that_comes_twice_is_two_cells():
    first, second = london(date(2026, 10, 25))[1:3]
    assert second.start - first.start == 3600
    walls = [datetime.fromtimestamp(c.start, load_zone("Europe/London")) for c in (first, second)]
    assert [wall.hour for wall in walls] == [1, 1]


# idle


def shoot_day(unit, day, call, wrap, radios=0, booms=0, listeners=0):
    return unit, day, call, wrap, radios, booms, listeners


def idle_of(category, held, shoot_days, cells=DAYS, dates=(1, 2, 3)):
    """What is idle of one kit type; held by unit 7 or 8 as (unit, start, end, quantity)."""
    units = np.array([7, 8])
    spans = Spans.of((0, start, end, quantity, unit - 7) for unit, start, end, quantity in held)
    dates = [date.fromordinal(day) for day in dates]
    needs = used(ShootDays.of(shoot_days), units, cells, dates)
    at = np.array([[cell.start for cell in cells]])
    return idle(at, spans, needs, classes_of([category]), cells)[0].tolist()


def test_a_unit_without_a_shoot_day_has_all_that_it_holds_idle():
    days = [shoot_day(7, 2, 110, 190)]
    assert idle_of("stand", [(7, 0, 300, 6)], days) == [6, 0, 6]


@pytest.mark.parametrize(
    ("category", "unused"),
    [("pack", 2), ("wireless boom", 7), ("listening receiver", 0), ("receiver", 0)],
)
def test_a_shoot_day_leaves_idle_what_it_does_not_use(category, unused):
    days = [shoot_day(7, 1, 10, 90, radios=6, booms=1, listeners=9)]
    assert idle_of(category, [(7, 0, 300, 8)], days)[0] == unused


def test_each_unit_uses_of_its_own_alone():
    days = [shoot_day(7, 1, 10, 90, radios=9), shoot_day(8, 1, 10, 90, radios=1)]
    assert idle_of("pack", [(7, 0, 300, 4), (8, 0, 300, 4)], days)[0] == 3


def test_two_lines_of_a_unit_are_used_together():
    days = [shoot_day(7, 1, 10, 90, radios=5)]
    assert idle_of("pack", [(7, 0, 300, 4), (7, 0, 300, 4)], days)[0] == 3


def test_what_a_night_uses_after_midnight_is_not_idle_the_day_after():
    days = [shoot_day(7, 1, 60, 130, radios=5)]
    assert idle_of("pack", [(7, 0, 300, 6)], days) == [1, 1, 6]


def test_of_two_shoot_days_that_meet_in_a_day_the_larger_need_holds():
    days = [shoot_day(7, 1, 60, 130, radios=5), shoot_day(7, 2, 150, 190, radios=3)]
    assert idle_of("pack", [(7, 0, 300, 6)], days)[1] == 1


def test_shoot_days_of_units_that_hold_nothing_do_not_matter():
    assert idle_of("pack", [(7, 0, 300, 6)], [shoot_day(9, 1, 10, 90)]) == [6, 6, 6]


unit_holds = st.lists(
    st.tuples(
        st.integers(0, 1), st.integers(-4, 30), st.integers(1, 30), st.integers(1, 5),
        st.integers(0, 2),
    ).map(lambda hold: (hold[0], hold[1], hold[1] + hold[2], *hold[3:])),
    max_size=12,
)  # fmt: skip
some_days = st.lists(
    st.tuples(
        st.integers(0, 3), st.integers(1, 5), st.integers(0, 29), st.integers(1, 9),
        st.integers(0, 4), st.integers(0, 4), st.integers(0, 4),
    ).map(lambda day: (*day[:3], day[2] + day[3], *day[4:])),
    max_size=8,
)  # fmt: skip


@given(unit_holds, some_days, st.lists(st.integers(1, 9), min_size=3, max_size=3), st.data())
def test_idle_is_what_a_plain_look_at_each_unit_finds(holds, days, lengths, data):
    edges = np.cumsum([0, *lengths]).tolist()
    cells = cells_of(*pairwise(edges))
    dates = [1, 2, 3]
    at = np.array(
        [[data.draw(st.integers(c.start, c.end - 1)) for c in cells] for _ in range(2)], np.int64
    )
    categories = ["pack", "stand"]
    units = np.arange(3)
    needs = used(ShootDays.of(days), units, cells, [date.fromordinal(day) for day in dates])
    found = idle(at, Spans.of(holds), needs, classes_of(categories), cells)
    for row, category in enumerate(categories):
        for column, cell in enumerate(cells):
            instant = at[row, column]
            expected = 0
            for unit in units:
                has = sum(
                    q for r, s, e, q, u in holds if (r, u) == (row, unit) and s <= instant < e
                )
                work = [
                    radios
                    for u, day, call, wrap, radios, _, _ in days
                    if u == unit
                    and (day == dates[column] or (call < cell.end and cell.start < wrap))
                ]
                in_use = (max(work) if category == "pack" else has) if work else 0
                expected += max(0, has - in_use)
            assert found[row, column] == expected
