"""Leases on both databases: one holder at a time, and a fence that grows with each."""

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest

from crossload.storage import leases
from waiting import until

LONG_MS, SHORT_MS = 60_000, 200


pytestmark = pytest.mark.usefixtures("opened")


def take(holder: str, lease_ms: int = LONG_MS, name: str = "work") -> int | None:
    return leases.take(name, holder, lease_ms)


def renew(holder: str, fence: int, lease_ms: int = LONG_MS) -> bool:
    return leases.renew("work", holder, fence, lease_ms)


def test_a_free_lease_is_taken_and_held_against_others():
    assert take("one") == 1
    assert take("two") is None
    assert renew("one", 1)
    assert take("two") is None


def test_the_holder_does_not_take_what_it_has():
    assert take("one") == 1
    assert take("one") is None


def test_leases_of_other_names_are_others():
    assert (take("one", name="work"), take("two", name="post")) == (1, 1)


def test_what_is_given_up_goes_to_the_next_with_a_higher_fence():
    assert take("one") == 1
    leases.give_up("work", "one", 1)
    assert take("two") == 2
    assert not renew("one", 1)


def test_who_lost_it_gives_nothing_up():
    take("one")
    leases.give_up("work", "one", 1)
    take("two")
    leases.give_up("work", "one", 1)
    leases.give_up("work", "two", 1)
    assert take("three") is None
    assert renew("two", 2)


def test_a_lease_runs_out_and_not_before_its_time():
    began = time.monotonic()
    assert take("one", SHORT_MS) == 1
    assert until(lambda: take("two"), "the lease runs out", 5) == 2
    # The database counts whole milliseconds.
    assert time.monotonic() - began >= (SHORT_MS - 1) / 1000
    assert not renew("one", 1)


def test_one_that_ran_out_and_that_nobody_took_is_still_its_holders_to_renew():
    take("one", -1000)
    assert renew("one", 1)
    assert take("two") is None


def test_the_same_holder_with_an_old_fence_has_lost_it():
    take("one", -1000)
    assert take("one") == 2
    assert not renew("one", 1)
    assert renew("one", 2)


@pytest.mark.parametrize("lease_ms", [None, -1000], ids=["never taken", "run out"])
def test_of_many_at_once_one_gets_it(lease_ms):
    if lease_ms is not None:
        take("before", lease_ms)
    fences = at_once(8, lambda number: take(f"holder {number}"))
    assert sorted(fence for fence in fences if fence) == [1 if lease_ms is None else 2]


def at_once(threads: int, work: Callable[[int], int | None]) -> list[int | None]:
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(work, range(threads)))
