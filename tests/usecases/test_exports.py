"""What is taken out can be brought in again and is the same file, on both databases."""

import dataclasses

import pytest

from crossload.domain.kit import Box, Condition, Item, KitType, Need, OwnerKind, Tracking
from crossload.domain.people import Role
from crossload.domain.shoot import ShootDay
from crossload.domain.zones import load_zone, local_day
from crossload.formats.kit_list import read_kit_list, write_kit_list
from crossload.formats.shoot_days import read_shoot_days
from crossload.storage.ids import new_id
from crossload.usecases import exports, imports
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Forbidden
from crossload.usecases.transaction import read, write
from tables import a_fixture, a_sample, everything
from worlds import HOUR, NOW, a_world

FORMS = pytest.mark.parametrize("form", ["csv", "xlsx"])


def bring_in(world, content, read_it=imports.import_kit_list):
    done = read_it(world.coordinator, content, dry_run=False, now=NOW)
    assert done.problems == (), done.problems
    return done


def changes_nothing(world, content, read_it=imports.import_kit_list) -> None:
    before = everything()
    done = bring_in(world, content, read_it)
    assert [change for change in done.changes if change.kind != "same"] == []
    assert everything() == before


@FORMS
def test_bringing_in_what_was_taken_out_changes_nothing(world, form):
    bring_in(world, a_fixture("kit-list.csv"))
    changes_nothing(world, exports.export_kit_list(world.coordinator, form=form))


@FORMS
def test_taking_out_what_was_brought_in_gives_the_same_file(world, form):
    bring_in(world, a_fixture("kit-list.csv"))
    first = exports.export_kit_list(world.coordinator, form=form)
    other = a_world()
    bring_in(other, first)
    assert exports.export_kit_list(other.coordinator, form=form) == first


def test_the_owner_s_own_list_comes_out_row_by_row_as_it_went_in_but_for_tags_that_were_made(world):
    bring_in(world, a_fixture("kit-list.csv"))
    listed = read_kit_list(a_fixture("kit-list.csv"), currency_exponent=2)
    taken_out = read_kit_list(exports.export_kit_list(world.coordinator), currency_exponent=2)
    assert len(taken_out.rows) == len(listed.rows)
    for before, after in zip(listed.rows, taken_out.rows, strict=True):
        if before.piece and not before.piece.tag:
            piece = dataclasses.replace(before.piece, tag=after.piece.tag)
            assert after == dataclasses.replace(before, piece=piece)
        else:
            assert after == before


def test_a_list_under_the_service_s_own_headers_comes_out_byte_for_byte(world):
    rows = [
        row
        for row in read_kit_list(a_fixture("kit-list.csv"), currency_exponent=2).rows
        if not row.piece or row.piece.tag
    ]
    own = write_kit_list(rows, currency_exponent=2)
    bring_in(world, own)
    assert exports.export_kit_list(world.coordinator) == own


def test_samples_with_markup_and_formulas_come_out_as_they_are_kept(world):
    bring_in(world, a_sample("script-and-sql.csv"))
    bring_in(world, a_sample("formulas.csv").replace(b"=10+20", b"30"))
    content = exports.export_kit_list(world.coordinator)
    assert b"\"'=HYPERLINK(" in content
    assert b"<script>alert(1)</script>" in content
    changes_nothing(world, content)


def odd_kit(world) -> None:
    """Kit as other ways into the service can leave it, with all that a table finds hard."""
    with write(world.pool, NOW) as stores:
        outer, inner = Box(new_id(), "A  1", "Outer  box"), Box(new_id(), "7")
        stores.boxes.add(outer, dataclasses.replace(inner, inside=outer.id, place=" by the door"))
        stores.boxes.add(Box(new_id(), "empty; but named", 'the "spare"'))
        pack = KitType(
            new_id(), 'Pack  "low", 470; 548', "pack", Tracking.SERIAL,
            price_minor=7, mass_g=0, prep_s=61, check_in_s=3599, ways=2,
            traits={"range": "470  to 548"}, goes_with=(Need("radio mast", 3, ("range",)),),
            notes={"Kit type": "two\nlines", "note: of old": "x", "Bought": "=1+1"},
        )  # fmt: skip
        mast = KitType(
            new_id(), "Mast", "radio mast", Tracking.COUNT, count=7, substitutes=(pack.id,),
            notes={"Bought": "-5"},
        )  # fmt: skip
        tape = KitType(new_id(), "Tape", "tape", Tracking.CONSUMABLE, count=3, reorder_level=0)
        bare = KitType(new_id(), "Nothing yet", "slate", Tracking.SERIAL)
        gone = KitType(new_id(), "All gone", "tape", Tracking.CONSUMABLE)
        tone = KitType(new_id(), "Frequency", "frequency", Tracking.FREQUENCY)
        stores.kit_types.add(pack, mast, tape, bare, gone, tone)
        stores.boxes.set_counts(inner.id, {mast.id: 5, tape.id: 10})
        stores.items.add(
            Item(new_id(), pack.id, "0042", "'=1", "  s  1", "7", "Oona  Brisk", OwnerKind.PERSON,
                 consent_required=True, condition=Condition.LOST, home_box=inner.id,
                 notes={"Bought": "1e5", "Kit type": "y"}),
            Item(new_id(), pack.id, "1.50", owner="Saltmarsh", owner_kind=OwnerKind.PRODUCTION),
            Item(new_id(), pack.id, "@home", condition=Condition.RETIRED),
            Item(new_id(), tone.id, "F1", frequency_hz=502_512_345),
        )  # fmt: skip


@FORMS
def test_whatever_the_pool_holds_comes_back_unchanged(world, form):
    odd_kit(world)
    changes_nothing(world, exports.export_kit_list(world.coordinator, form=form))


@FORMS
@pytest.mark.parametrize(("currency", "shown"), [("JPY", 1480), ("KWD", 1.48), ("GBP", 14.8)])
def test_prices_come_back_in_a_currency_of_any_number_of_decimals(world, form, currency, shown):
    with write(world.pool, NOW) as stores:
        stores.own_pool.change(None, currency=currency)
    kit = world.a_kit_type(count=1, price_minor=1480)
    content = exports.export_kit_list(world.coordinator, form=form)
    changes_nothing(world, content)
    if form == "csv":
        assert f",{shown}" in content.decode()
    with read(world.pool) as stores:
        assert stores.kit_types.get(kit.id).price_minor == 1480


@FORMS
def test_an_empty_pool_comes_out_as_a_header_and_goes_in_again(world, form):
    changes_nothing(world, exports.export_kit_list(world.coordinator, form=form))
    content = exports.export_shoot_days(world.coordinator, form=form)
    changes_nothing(world, content, imports.import_shoot_days)


@FORMS
def test_shoot_days_come_back_unchanged_and_come_out_the_same(world, form):
    bring_in(world, a_fixture("shoot-days.csv"), imports.import_shoot_days)
    first = exports.export_shoot_days(world.coordinator, form=form)
    changes_nothing(world, first, imports.import_shoot_days)
    other = a_world()
    bring_in(other, first, imports.import_shoot_days)
    assert exports.export_shoot_days(other.coordinator, form=form) == first


def test_the_production_s_own_days_come_out_row_by_row_as_they_went_in(world):
    bring_in(world, a_fixture("shoot-days.csv"), imports.import_shoot_days)
    listed = read_shoot_days(a_fixture("shoot-days.csv")).rows
    taken_out = read_shoot_days(exports.export_shoot_days(world.coordinator)).rows
    assert [dataclasses.replace(row, unit=row.unit.casefold()) for row in listed] == list(taken_out)


def test_the_second_01_30_of_a_night_stays_the_second(world):
    # 25 October 2026, Europe/London: 01:30 is 00:30Z and again 01:30Z.
    call = 1_792_891_800
    zone = load_zone("Europe/London")
    for number, start in ((1, call), (2, call - 86_400 * 2)):
        day = ShootDay(
            new_id(), world.units["main"], local_day(start, zone), number, start, start + 9 * HOUR,
            notes="two\nlines  and spaces ",
        )  # fmt: skip
        with write(world.pool, NOW) as stores:
            stores.shoot_days.add(day)
    changes_nothing(world, exports.export_shoot_days(world.coordinator), imports.import_shoot_days)


def test_a_wall_takes_nothing_out_and_an_assistant_does(world):
    bring_in(world, a_fixture("kit-list.csv"))
    with pytest.raises(Forbidden):
        exports.export_kit_list(Actor(world.pool, Role.WALL))
    assert exports.export_kit_list(Actor(world.pool, Role.ASSISTANT))
