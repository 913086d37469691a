"""What goes with what: a pack with ways, microphones, batteries and pouches that fit it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain import outfit
from crossload.domain.booking import Wanted
from crossload.domain.kit import KitType, Need, Tracking
from crossload.domain.window import Id

NEEDS = (
    Need("receiver", 1, ("range", "mode")),
    Need("lavalier", 1, ("plug",)),
    Need("battery", 2, ("battery",)),
    Need("pouch", 1),
)


def a_kit(id, category, *, ways=0, needs=(), rechargeable=False, **traits):
    return KitType(
        Id(id), f"{category} {id}", category, Tracking.COUNT, ways=ways, goes_with=tuple(needs),
        rechargeable=rechargeable, traits=traits,
    )  # fmt: skip


PACK = a_kit(1, "pack", needs=NEEDS, range="low", mode="digital", plug="3-pin", battery="aa")
FOUR, TWO = (
    a_kit(id, "receiver", ways=n, range="low", mode="digital") for id, n in ((2, 4), (3, 2))
)
OTHER_RANGE = a_kit(4, "receiver", ways=4, range="high", mode="digital")
OTHER_MODE = a_kit(5, "receiver", ways=4, range="low", mode="analogue")
LAVALIER, OTHER_PLUG = (
    a_kit(id, "lavalier", plug=plug) for id, plug in ((6, "3-pin"), (7, "4-pin"))
)
SINGLE = a_kit(8, "battery", battery="aa")
CELL = a_kit(9, "battery", battery="aa", rechargeable=True)
FLAT = a_kit(10, "battery", battery="flat")
POUCH = a_kit(11, "pouch")
KIT = {
    kit.id: kit
    for kit in (PACK, FOUR, TWO, OTHER_RANGE, OTHER_MODE, LAVALIER, OTHER_PLUG, SINGLE, CELL, FLAT, POUCH)
}  # fmt: skip
PLENTY = dict.fromkeys(KIT, 100)


def counted(parts):
    return {part.kit.id: part.quantity for part in parts}


def radio(quantity, free=PLENTY, spare=0):
    return counted(outfit.parts(PACK, quantity, KIT, free, spare))


def test_six_radios_are_six_packs_worth_of_what_fits_them_and_of_nothing_else():
    assert radio(6) == {FOUR.id: 1, TWO.id: 1, LAVALIER.id: 6, CELL.id: 12, POUCH.id: 6}


@pytest.mark.parametrize(
    ("quantity", "spare", "receivers"),
    [
        pytest.param(4, 0, {FOUR.id: 1}, id="one that is full"),
        pytest.param(3, 0, {TWO.id: 2}, id="small ones, which leave the large one to others"),
        pytest.param(2, 0, {TWO.id: 1}, id="the small one where it does"),
        pytest.param(5, 0, {FOUR.id: 1, TWO.id: 1}, id="the rest with the smallest that does"),
        pytest.param(5, 1, {FOUR.id: 1}, id="a way that the unit has over"),
        pytest.param(2, 2, {}, id="ways enough already"),
        pytest.param(2, 9, {}, id="more ways than are needed"),
    ],
)
def test_receivers_give_the_ways_large_ones_full_and_the_rest_with_small_ones(
    quantity, spare, receivers
):
    found = radio(quantity, spare=spare)
    assert {id: n for id, n in found.items() if KIT[id].category == "receiver"} == receivers


def test_a_receiver_that_is_not_free_gives_way_to_those_that_are():
    assert radio(4, PLENTY | {FOUR.id: 0})[TWO.id] == 2
    assert radio(6, PLENTY | {TWO.id: 0})[FOUR.id] == 2


def test_a_small_receiver_is_left_where_a_large_one_serves_all():
    found = radio(3, PLENTY | {TWO.id: 1})
    assert (found[FOUR.id], TWO.id in found) == (1, False)


def test_what_is_not_to_be_had_is_named_all_the_same_so_that_a_refusal_can_say_it():
    nothing = dict.fromkeys(KIT, 0)
    assert radio(4, nothing)[FOUR.id] == 1
    assert radio(4, nothing)[LAVALIER.id] == 4


def test_batteries_that_recharge_come_first_and_a_number_is_of_one_kind_where_one_has_enough():
    assert radio(3)[CELL.id] == 6
    assert SINGLE.id not in radio(3)
    assert radio(3, PLENTY | {CELL.id: 5})[SINGLE.id] == 6
    few = radio(3, PLENTY | {CELL.id: 4, SINGLE.id: 2})
    assert (few[CELL.id], few[SINGLE.id]) == (4, 2)


def test_each_part_has_the_kit_types_that_would_do_as_well():
    choices = {
        part.kit.category: {kit.id for kit in part.choices}
        for part in outfit.parts(PACK, 4, KIT, PLENTY)
    }
    assert choices["receiver"] == {FOUR.id, TWO.id}
    assert choices["lavalier"] == {LAVALIER.id}
    assert choices["battery"] == {CELL.id, SINGLE.id}


def test_a_trait_that_one_of_them_does_not_have_never_agrees():
    bare = a_kit(20, "lavalier")
    assert not outfit.agrees(PACK, bare, ("plug",))
    assert not outfit.agrees(bare, a_kit(21, "pack"), ("plug",))
    assert outfit.agrees(PACK, bare, ())


@pytest.mark.parametrize(
    ("held", "spare"),
    [
        ({}, 0),
        ({FOUR.id: 1}, 4),
        ({FOUR.id: 1, PACK.id: 3}, 1),
        ({FOUR.id: 1, PACK.id: 4}, 0),
        ({FOUR.id: 1, PACK.id: 7}, 0),
        ({OTHER_RANGE.id: 1, OTHER_MODE.id: 1}, 0),
        ({TWO.id: 2, OTHER_RANGE.id: 2, PACK.id: 1}, 3),
    ],
    ids=["nothing", "all free", "one over", "all used", "too few", "ways that do not fit", "mixed"],
)
def test_spare_ways_are_those_that_fit_less_the_packs_that_use_them(held, spare):
    assert outfit.spare_ways(PACK, held, KIT) == spare


def test_what_lines_have_over_is_not_asked_for_again():
    lines = (Wanted(PACK.id, 2), Wanted(LAVALIER.id, 5), Wanted(CELL.id, 4), Wanted(POUCH.id, 2))
    more = counted(outfit.still_needed(PACK, 3, lines, {FOUR.id: 2}, KIT, PLENTY))
    # Five lavaliers less the two that the two packs use leave three; the four cells are used.
    assert more == {CELL.id: 6, POUCH.id: 3}


def test_a_line_of_another_pack_uses_what_it_goes_with():
    other = a_kit(30, "pack", needs=NEEDS, range="high", mode="digital", plug="3-pin", battery="aa")
    kit = KIT | {other.id: other}
    lines = (Wanted(other.id, 2), Wanted(LAVALIER.id, 3))
    more = counted(outfit.still_needed(PACK, 2, lines, {FOUR.id: 1}, kit, PLENTY | {other.id: 9}))
    assert more[LAVALIER.id] == 1


def test_fewer_of_a_pack_take_what_goes_with_it_along_in_proportion():
    lines = (
        Wanted(PACK.id, 6), Wanted(FOUR.id, 1), Wanted(TWO.id, 1), Wanted(LAVALIER.id, 6),
        Wanted(CELL.id, 12), Wanted(POUCH.id, 6), Wanted(OTHER_PLUG.id, 2),
    )  # fmt: skip
    kept = {line.kit_type: line.quantity for line in outfit.without(lines, PACK.id, 2, KIT)}
    assert kept == {
        PACK.id: 4, FOUR.id: 1, LAVALIER.id: 4, CELL.id: 8, POUCH.id: 4, OTHER_PLUG.id: 2,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("lavaliers", "fewer", "kept"),
    [(2, 1, 2), (2, 4, 2), (2, 5, 1), (2, 6, 0), (6, 1, 5), (8, 1, 7)],
    ids=[
        "fewer than packs",
        "as many as are left",
        "one too many",
        "no pack left",
        "even",
        "spare",
    ],
)
def test_only_what_the_packs_that_stay_have_no_use_for_goes(lavaliers, fewer, kept):
    lines = (Wanted(PACK.id, 6), Wanted(LAVALIER.id, lavaliers))
    assert outfit.total(outfit.without(lines, PACK.id, fewer, KIT), LAVALIER.id) == kept


def test_of_what_is_swapped_all_that_goes_with_it_leaves():
    lines = (Wanted(PACK.id, 6), Wanted(LAVALIER.id, 2))
    assert outfit.without(lines, PACK.id, 2, KIT, swapped=True) == (Wanted(PACK.id, 4),)


def test_a_named_piece_is_never_taken_away_in_place_of_a_number():
    lines = (Wanted(PACK.id, 1, Id(77)), Wanted(PACK.id, 2))
    kept = outfit.without(lines, PACK.id, 2, KIT)
    assert kept == (Wanted(PACK.id, 1, Id(77)),)


def test_what_is_short_belongs_to_the_kit_that_it_goes_with():
    lines = (Wanted(PACK.id, 2), Wanted(LAVALIER.id, 2), Wanted(OTHER_PLUG.id, 2))
    assert outfit.main_of(lines, KIT, LAVALIER.id) == PACK.id
    assert outfit.main_of(lines, KIT, PACK.id) == PACK.id
    assert outfit.main_of(lines, KIT, OTHER_PLUG.id) is None


@given(
    st.integers(1, 14), st.integers(0, 5), st.integers(0, 4), st.integers(0, 4), st.integers(0, 4)
)
def test_whenever_what_is_free_has_the_ways_it_gives_them_without_one_too_many(
    packs, spare, fours, twos, ones
):
    one = a_kit(40, "receiver", ways=1, range="low", mode="digital")
    kit = KIT | {one.id: one}
    free = PLENTY | {FOUR.id: fours, TWO.id: twos, one.id: ones}
    found = counted(outfit.parts(PACK, packs, kit, free, spare))
    taken = {each: found.get(each, 0) for each in (FOUR.id, TWO.id, one.id)}
    ways = sum(kit[each].ways * n for each, n in taken.items())
    wanted = max(0, packs - spare)
    assert ways >= wanted
    if 4 * fours + 2 * twos + ones >= wanted:
        assert all(n <= free[each] for each, n in taken.items())
        assert not any(n and ways - kit[each].ways >= wanted for each, n in taken.items())
