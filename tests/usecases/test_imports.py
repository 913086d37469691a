"""Kit lists brought in: shown first, then all or nothing, and once only; on both databases."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from crossload.domain.booking import Wanted
from crossload.domain.custody import Custody
from crossload.domain.kit import Condition, OwnerKind, Tracking
from crossload.domain.lists.merged import Kind
from crossload.domain.tags import check_tag
from crossload.domain.window import FOREVER
from crossload.storage.ids import new_id
from crossload.usecases import bookings, tagging
from crossload.usecases.errors import Forbidden, Invalid
from crossload.usecases.granting import Granted, Refused
from crossload.usecases.imports import import_kit_list
from crossload.usecases.transaction import read, write
from tables import a_fixture, a_sample, a_table, everything
from worlds import DAY, NOW, a_world, an_ask

HEAD = "Kit type,Category,Tracking,Tag,Barcode,Serial number,Quantity,Box"


def bring_in(world, content, **more):
    """Bring in a list that must be without fault."""
    done = import_kit_list(world.coordinator, content, **{"dry_run": False, "now": NOW} | more)
    assert done.problems == (), done.problems
    return done


def refused(world, content, **more) -> list[tuple[int, str]]:
    """Row and reason of each problem of a list that must change nothing."""
    before = everything()
    done = import_kit_list(world.coordinator, content, **{"dry_run": False, "now": NOW} | more)
    assert done.problems
    assert not done.is_done
    assert everything() == before
    return [(problem.row, problem.reason) for problem in done.problems]


def kit(world) -> dict:
    with read(world.pool) as stores:
        return {each.name: each for each in stores.kit_types.all()}


def items(world) -> dict:
    with read(world.pool) as stores:
        return {each.tag: each for each in stores.items.all()}


def boxes(world) -> dict:
    with read(world.pool) as stores:
        return {each.number: each for each in stores.boxes.with_counts(stores.boxes.all())}


def journal(world) -> list:
    with read(world.pool) as stores:
        return stores.journal.page(limit=10_000)


def changed(done) -> dict:
    """What has changed, by kind of thing and name, with its fields."""
    found = [each for each in done.changes if each.kind is Kind.CHANGED]
    return {(each.what, each.name): each.fields for each in found}


# --- the whole list


def test_a_dry_run_of_a_house_s_own_list_says_what_is_new_and_writes_nothing(world):
    before = everything()
    done = bring_in(world, a_fixture("kit-list.csv"), dry_run=True)
    assert everything() == before
    assert done.counts == {"new": 482, "changed": 0, "same": 0}
    assert {each.what for each in done.changes} == {"box", "kit type", "item"}
    first = next(each for each in done.changes if each.what == "item")
    assert (first.row, first.name, first.kind) == (2, "PL01", Kind.NEW)
    assert first.fields["kit_type"] == (None, "Pack, 470 to 548 MHz")
    assert first.fields["home_box"] == (None, "1")


def test_what_a_dry_run_said_is_what_then_happens(world):
    said = bring_in(world, a_fixture("kit-list.csv"), dry_run=True)
    done = bring_in(world, a_fixture("kit-list.csv"))
    assert done.changes == said.changes
    assert len(items(world)) == 372
    pack = kit(world)["Pack, 470 to 548 MHz"]
    assert (pack.tracking, pack.price_minor, pack.mass_g) == (Tracking.SERIAL, 148_000, 142)
    assert (pack.prep_s, pack.check_in_s) == (1800, 3600)
    assert pack.traits == {
        "range": "470 to 548",
        "mode": "digital",
        "plug": "4-pin",
        "battery": "AA",
        "pouch": "small",
    }
    names = {each.id: name for name, each in kit(world).items()}
    assert [names[id] for id in pack.substitutes] == [
        "Pack, 606 to 694 MHz",
        "Pack, analogue, 470 to 548 MHz",
    ]


@pytest.mark.parametrize("again", ["kit-list.csv", "kit-list.xlsx"])
def test_the_same_list_again_changes_nothing_and_writes_nothing(world, again):
    bring_in(world, a_fixture("kit-list.csv"))
    before = everything()
    done = bring_in(world, a_fixture(again), now=NOW + DAY)
    assert done.counts == {"new": 0, "changed": 0, "same": 482}
    assert everything() == before


def test_every_thing_that_is_made_is_in_the_journal_once_with_who_and_when(world):
    bring_in(world, a_fixture("kit-list.csv"))
    made = [entry for entry in journal(world) if entry.verb == "made"]
    kinds = [entry.subject_kind for entry in made]
    assert (kinds.count("item"), kinds.count("kit_type")) == (372, 80)
    assert len({entry.subject for entry in made}) == len(made)
    assert {(entry.at, entry.account) for entry in made} == {(NOW, None)}


def test_a_list_goes_into_its_own_pool_alone(world):
    other = a_world()
    bring_in(world, a_fixture("kit-list.csv"))
    assert items(other) == {}
    bring_in(other, a_fixture("kit-list.csv"))
    assert items(other).keys() >= {"PL01", "LA02"}
    assert items(other)["PL01"].id != items(world)["PL01"].id


def test_only_a_coordinator_brings_lists_in(world):
    with pytest.raises(Forbidden):
        import_kit_list(world.mixer("main"), a_fixture("kit-list.csv"), dry_run=True, now=NOW)


# --- all or nothing


def test_one_bad_row_among_many_keeps_all_of_them_out(world):
    good = a_fixture("kit-list.csv")
    bad = good.rstrip() + b'\r\n"Jaw clamp",,,-4\r\n'
    ((row, reason),) = refused(world, bad)[:1]
    assert row == good.rstrip().count(b"\n") + 2
    assert "-4" in reason


def test_a_list_full_of_faults_names_each_row_and_reason(world):
    rows = {row for row, _ in refused(world, a_sample("many-faults.csv"))}
    assert len(rows) > 10


def test_a_dry_run_shows_faults_and_changes_side_by_side(world):
    done = import_kit_list(world.coordinator, a_sample("many-faults.csv"), dry_run=True, now=NOW)
    assert done.problems
    assert any(change.kind is Kind.NEW for change in done.changes)
    assert items(world) == {}


@pytest.mark.parametrize(
    ("sample", "part"),
    [
        ("latin-1.csv", "not UTF-8"),
        ("wrong-headers.csv", "no column has one of the headers"),
        ("formula-without-value.xlsx", "formula"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_with_a_sentence(world, sample, part):
    before = everything()
    try:
        done = import_kit_list(world.coordinator, a_sample(sample), dry_run=False, now=NOW)
        said = " ".join(problem.reason for problem in done.problems)
    except Invalid as error:
        said = str(error)
    assert part in said
    assert everything() == before


@pytest.mark.parametrize(
    "content",
    [b"", b"\x00\x01\x02", b"PK\x03\x04 no workbook", "Kit;Gruppe".encode("utf-16"), b'Kit,"open'],
    ids=["empty", "binary", "broken workbook", "UTF-16", "open quotation mark"],
)
def test_bytes_that_are_no_table_change_nothing(world, content):
    before = everything()
    with pytest.raises(Invalid, match=r"\w+ \w+"):
        import_kit_list(world.coordinator, content, dry_run=False, now=NOW)
    assert everything() == before


def test_more_rows_than_are_read_are_refused_whole(world):
    many = a_table("Kit type,Category,Quantity", *["Jaw clamp,clamp,1"] * 50_001)
    with pytest.raises(Invalid, match="50,000"):
        import_kit_list(world.coordinator, many, dry_run=False, now=NOW)
    assert kit(world) == {}


# --- files as they arrive


def test_latin_1_is_read_when_the_sender_says_so(world):
    bring_in(world, a_sample("latin-1.csv"), encoding="latin-1")
    assert kit(world)["Étui, small"].notes == {"Remarks": "façon à la main"}


def test_a_list_with_semicolons_local_prices_and_kilograms(world):
    ((row, reason),) = refused(world, a_sample("semicolons.csv"))
    assert row == 5
    assert "EUR" in reason
    with write(world.pool, NOW) as stores:
        stores.own_pool.change(None, currency="EUR")
    bring_in(world, a_sample("semicolons.csv"))
    pack = kit(world)["Pack, 470 to 548 MHz"]
    assert (pack.price_minor, pack.mass_g, pack.prep_s, pack.check_in_s) == (
        148_000,
        142,
        1800,
        3600,
    )
    assert set(items(world)) == {"KX-0001", "KX-0002", "KX-0003", "KX-0104"}
    assert items(world)["KX-0003"].notes == {"Bought on": "17.11.2022"}


def test_formulas_in_text_are_text_and_in_a_number_s_place_are_a_fault(world):
    reasons = refused(world, a_sample("formulas.csv"))
    assert [row for row, _ in reasons] == [2]
    bare = a_sample("formulas.csv").replace(b"=10+20", b"30")
    bring_in(world, bare)
    assert kit(world)["Pole cradle"].notes == {"Remarks": '=HYPERLINK("x")'}
    assert items(world)["=SL02"].notes == {"Remarks": "+ kept apart"}


def test_sql_and_script_in_every_field_is_kept_as_the_text_it_is(world):
    bring_in(world, a_sample("script-and-sql.csv"))
    (slate,) = kit(world).values()
    assert slate.name == "Slate'); DROP TABLE item;--"
    assert items(world)["x' OR '1'='1"].owner == "<b>Fernhill</b>"
    assert items(world)["x' OR '1'='1"].notes == {"Remarks": "<script>alert(1)</script>"}
    assert items(world)["{{7*7}}"].notes == {"Remarks": '<img src=x onerror="alert(1)">'}
    assert bring_in(world, a_sample("script-and-sql.csv")).counts["same"] == 3


def test_a_workbook_s_other_sheets_are_named(world):
    done = import_kit_list(world.coordinator, a_sample("sheets.xlsx"), dry_run=True, now=NOW)
    assert done.left_out


# --- tags


def test_a_piece_without_a_code_is_given_a_tag_and_keeps_it_when_the_list_comes_again(world):
    listed = a_table(
        HEAD,
        "Recorder,recorder,serial,,,R-1,,",
        "Slate,slate,serial,,,,,4",
        "Slate,,,,,,,4",
        "Slate,,,,,,,5",
    )
    bring_in(world, listed)
    made = items(world)
    assert len(made) == 4
    assert all(check_tag(tag) == tag for tag in made)
    assert bring_in(world, listed, now=NOW + DAY).counts["same"] == 8  # pieces, kit types, boxes
    assert items(world) == made


def test_one_more_row_that_nothing_tells_apart_is_one_more_piece(world):
    bring_in(world, a_table(HEAD, "Slate,slate,serial,,,,,4"))
    done = bring_in(world, a_table(HEAD, "Slate,slate,serial,,,,,4", "Slate,,,,,,,5"))
    assert done.counts["new"] == 2  # a piece, and box 5
    assert len(items(world)) == 2


def test_a_barcode_serves_as_the_tag_where_there_is_no_other(world):
    bring_in(world, a_table(HEAD, "Slate,slate,serial,,2000000003116,,,"))
    assert items(world)["2000000003116"].barcode == "2000000003116"


def test_no_tag_is_made_that_the_pool_or_the_list_already_has_as_a_code(world):
    with write(world.pool, NOW) as stores:
        first, second, third = tagging.take_tags(stores, 3)
        tagging.note_serial(stores, 0)
    a_pool_s = a_table(HEAD, f"Boom pole,stand,serial,{first},,,,")
    bring_in(world, a_pool_s)
    listed = a_table(
        HEAD, f"Slate,slate,serial,,{second.lower()},,,", "Recorder,recorder,serial,,,,,"
    )
    bring_in(world, listed)
    assert {item.tag for item in items(world).values()} == {first, second.lower(), third}


def test_tags_made_by_a_list_are_not_made_again_elsewhere(world):
    bring_in(world, a_table(HEAD, "Slate,slate,serial,,,,,", "Slate,,,,,,,"))
    with write(world.pool, NOW) as stores:
        assert not {*tagging.take_tags(stores, 2)} & items_in(stores)


def items_in(stores) -> set[str]:
    return {item.tag for item in stores.items.all()}


def test_a_piece_that_gets_the_owner_s_own_tag_is_the_same_piece(world):
    bring_in(world, a_table(HEAD, "Slate,slate,serial,,,LS-1,,"))
    (before,) = items(world).values()
    done = bring_in(world, a_table(HEAD, "Slate,slate,serial,SL01,,LS-1,,"))
    assert changed(done) == {("item", "SL01"): {"tag": (before.tag, "SL01")}}
    assert items(world)["SL01"].id == before.id


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("Slate,slate,serial,SL09,PL01,,,", "Barcode"),
        ("Slate,slate,serial,2000000003116,,,,", "Tag"),
    ],
    ids=["a barcode that is a tag", "a tag that is a barcode"],
)
def test_a_code_that_another_piece_of_the_pool_is_scanned_by_is_refused(world, row, column):
    bring_in(world, a_table(HEAD, "Pack,pack,serial,PL01,2000000003116,,,"))
    before = everything()
    done = import_kit_list(world.coordinator, a_table(HEAD, row), dry_run=False, now=NOW)
    assert [problem.column for problem in done.problems] == [column]
    assert "PL01" in done.problems[0].reason
    assert everything() == before


def test_duplicate_tags_within_a_list_are_named_with_their_rows(world):
    assert {row for row, _ in refused(world, a_sample("duplicate-tags.csv"))} == {4, 5}


def test_one_spoken_number_for_two_pieces_of_a_category_is_refused(world):
    head = "Kit type,Category,Tag,Radio number"
    bring_in(world, a_table(head, "Pack low,pack,PL01,1"))
    ((_, reason),) = refused(world, a_table(head, "Pack high,pack,PH01,1"))
    assert "PL01" in reason
    bring_in(world, a_table(head, "Slate,slate,SL01,1"))


def test_one_frequency_for_two_pieces_is_refused_unless_one_is_retired(world):
    head = "Kit type,Category,Tag,MHz,Condition"
    bring_in(world, a_table(head, "Low,frequency,F1,502.5,", "Low,,F2,503.5,retired"))
    ((_, reason),) = refused(world, a_table(head, "High,frequency,F3,502.5,"))
    assert "F1" in reason
    bring_in(world, a_table(head, "High,frequency,F3,503.5,"))


# --- what changes, and what stays


def test_a_changed_cell_shows_before_and_after_and_changes_that_alone(world):
    bring_in(world, a_fixture("kit-list.csv"))
    listed = a_fixture("kit-list.csv").replace(b'"1,480.00"', b'"1,525.00"', 1)
    done = bring_in(world, listed)
    assert changed(done) == {
        ("kit type", "Pack, 470 to 548 MHz"): {"price_minor": (148_000, 152_500)}
    }
    assert done.counts["changed"] == 1
    entry = journal(world)[-1]
    assert (entry.verb, entry.subject_kind) == ("changed", "kit_type")
    assert (entry.before, entry.after) == ({"price_minor": 148_000}, {"price_minor": 152_500})


def test_a_field_without_a_column_stays_as_it_is(world):
    bring_in(world, a_fixture("kit-list.csv"))
    before = everything()
    done = bring_in(world, a_table("Kit,Group,Asset no", '"Pack, 470 to 548 MHz",pack,PL01'))
    assert done.counts == {"new": 0, "changed": 0, "same": 2}
    assert everything() == before


def test_pieces_that_a_list_does_not_name_stay(world):
    bring_in(world, a_fixture("kit-list.csv"))
    bring_in(world, a_table(HEAD, "Slate,slate,serial,SX01,,,,"))
    assert len(items(world)) == 373


def test_notes_of_other_columns_stay_and_an_emptied_one_goes(world):
    bring_in(world, a_table("Kit,Group,Tag,Bought,Insured", "Slate,slate,SL01,2019,yes"))
    bring_in(world, a_table("Kit,Group,Tag,Bought,Colour", "Slate,slate,SL01,,red"))
    assert items(world)["SL01"].notes == {"Insured": "yes", "Colour": "red"}


def test_how_kit_is_kept_cannot_be_changed_by_a_list(world):
    bring_in(world, a_table(HEAD, "Jaw clamp,clamp,count,,,,30,"))
    ((row, reason),) = refused(world, a_table(HEAD, "Jaw clamp,clamp,serial,JC01,,,,"))
    assert row == 2
    assert "by count" in reason


def test_a_piece_does_not_become_another_kind_of_kit(world):
    bring_in(world, a_table(HEAD, "Slate,slate,serial,SL01,,,,"))
    ((_, reason),) = refused(world, a_table(HEAD, "Recorder,recorder,serial,SL01,,,,"))
    assert "Slate" in reason


def test_an_owner_s_name_is_kept_and_is_not_in_the_journal(world):
    head = "Kit type,Category,Tag,Owner,Consent"
    bring_in(world, a_table(head, "Slate,slate,SL01,Nell Orchover,yes"))
    item = items(world)["SL01"]
    assert (item.owner, item.owner_kind, item.consent_required) == (
        "Nell Orchover",
        OwnerKind.PERSON,
        True,
    )
    assert "Orchover" not in str(journal(world))


def test_the_kind_of_an_owner_that_stays_is_not_guessed_anew(world):
    head = "Kit type,Category,Tag,Owner,Owner kind"
    bring_in(world, a_table(head, "Slate,slate,SL01,Saltmarsh,production"))
    done = bring_in(world, a_table("Kit type,Category,Tag,Owner", "Slate,slate,SL01,Saltmarsh"))
    assert changed(done) == {}


# --- boxes and counts


def test_boxes_stand_in_boxes_and_in_no_circle_with_those_of_the_pool(world):
    head = "Kit type,Category,Quantity,Box,Inside box"
    bring_in(world, a_table(head, "Clamp,clamp,5,3,2", ",,,2,1"))
    found = boxes(world)
    assert found["3"].inside == found["2"].id
    assert found["2"].inside == found["1"].id
    assert found["3"].counts == {kit(world)["Clamp"].id: 5}
    ((row, reason),) = refused(world, a_table(head, "Stand,stand,1,1,3"))
    assert row == 2
    assert "in itself" in reason


def test_a_box_that_is_only_named_as_another_s_place_keeps_its_own_name(world):
    bring_in(world, a_table("Kit,Group,Box,Box name", ",,1,Truck shelf"))
    bring_in(world, a_table("Kit,Group,Box,Box name,Inside box", ",,2,Clamps,1"))
    assert boxes(world)["1"].name == "Truck shelf"


def test_counted_kit_that_moves_to_another_box_is_not_there_twice(world):
    bring_in(world, a_table(HEAD, "Clamp,clamp,count,,,,20,3", "Clamp,,,,,,10,"))
    clamp = kit(world)["Clamp"]
    assert clamp.count == 30
    done = bring_in(world, a_table(HEAD, "Clamp,clamp,count,,,,20,4", "Clamp,,,,,,10,"))
    places = {"box 3": 20, "loose": 10}, {"box 4": 20, "loose": 10}
    assert changed(done) == {("kit type", "Clamp"): {"places": places}}
    assert kit(world)["Clamp"].count == 30
    assert {n: box.counts.get(clamp.id, 0) for n, box in boxes(world).items()} == {"3": 0, "4": 20}


def test_fewer_counted_pieces_are_accepted_though_a_booking_then_lacks_some(world):
    bring_in(world, a_table(HEAD, "Clamp,clamp,count,,,,30,"))
    ask = an_ask(world, "main", (kit(world)["Clamp"], 30))
    assert isinstance(bookings.book(world.coordinator, ask, now=NOW), Granted)
    done = bring_in(world, a_table(HEAD, "Clamp,clamp,count,,,,28,"))
    assert changed(done)["kit type", "Clamp"]["count"] == (30, 28)


def test_a_list_without_boxes_leaves_what_lies_in_them(world):
    bring_in(world, a_table(HEAD, "Clamp,clamp,count,,,,20,3", "Clamp,,,,,,10,"))
    bring_in(world, a_table("Kit,Group,Qty", "Clamp,clamp,32"))
    assert kit(world)["Clamp"].count == 32
    assert list(boxes(world)["3"].counts.values()) == [20]


# --- what follows from a list


def services(world, tag):
    with read(world.pool) as stores:
        found = stores.out_of_service.all(item=items_by_tag(stores)[tag].id)
    return [(window.condition, window.start_s, window.end_s) for window in found]


def items_by_tag(stores) -> dict:
    return {item.tag: item for item in stores.items.all()}


CONDITION = "Kit type,Category,Tag,Condition"


def test_a_piece_that_a_list_says_is_not_fit_is_out_of_service_until_further_notice(world):
    bring_in(world, a_table(CONDITION, "Slate,slate,SL01,ok"))
    bring_in(world, a_table(CONDITION, "Slate,slate,SL01,broken"), now=NOW + DAY)
    assert services(world, "SL01") == [(Condition.DAMAGED, NOW + DAY, FOREVER)]
    bring_in(world, a_table(CONDITION, "Slate,slate,SL01,repair"), now=NOW + 2 * DAY)
    assert services(world, "SL01") == [
        (Condition.DAMAGED, NOW + DAY, NOW + 2 * DAY),
        (Condition.IN_REPAIR, NOW + 2 * DAY, FOREVER),
    ]


@pytest.mark.parametrize("said", ["broken", "sold"])
def test_an_old_list_that_says_ok_brings_nothing_back_into_service(world, said):
    bring_in(world, a_table(CONDITION, "Slate,slate,SL01,ok"))
    bring_in(world, a_table(CONDITION, f"Slate,slate,SL01,{said}"))
    before = everything()
    bring_in(world, a_table(CONDITION, "Slate,slate,SL01,ok"), now=NOW + DAY)
    bring_in(world, a_table(CONDITION, "Slate,slate,SL01,"), now=NOW + DAY)
    assert everything() == before


def test_a_retired_piece_is_in_no_stock(world):
    bring_in(world, a_table(CONDITION, "Slate,slate,SL01,", "Slate,,SL02,sold"))
    assert services(world, "SL02") == []
    slate = kit(world)["Slate"]
    answer = bookings.book(world.coordinator, an_ask(world, "main", (slate, 2)), now=NOW)
    assert isinstance(answer, Refused)


def test_a_piece_that_is_out_or_named_by_a_booking_is_not_retired_by_a_list(world):
    bring_in(world, a_table(CONDITION, "Slate,slate,SL01,", "Slate,,SL02,"))
    found = items(world)
    with write(world.pool, NOW) as stores:
        stores.custodies.add(
            Custody(
                new_id(), found["SL01"].kit_type, 1, world.units["main"], NOW, NOW + DAY,
                found["SL01"].id,
            )
        )  # fmt: skip
    bookings.book(world.coordinator, an_ask(world, "main", found["SL02"]), now=NOW)
    reasons = refused(world, a_table(CONDITION, "Slate,slate,SL01,retired", "Slate,,SL02,retired"))
    assert [row for row, _ in reasons] == [2, 3]
    assert "is out" in reasons[0][1]
    assert "main" in reasons[1][1]


def test_a_longer_check_in_counts_for_bookings_that_were_made_before(world):
    head = "Kit type,Category,Quantity,Check-in (min)"
    bring_in(world, a_table(head, "Clamp,clamp,30,0"))
    answer = bookings.book(
        world.coordinator, an_ask(world, "main", (kit(world)["Clamp"], 1)), now=NOW
    )
    (line,) = answer.booking.lines
    assert line.occupied == line.window
    bring_in(world, a_table(head, "Clamp,clamp,30,90"))
    with read(world.pool) as stores:
        (line,) = stores.bookings.get(answer.booking.id).lines
    assert line.occupied.end == line.window.end + 90 * 60


def test_what_shows_a_piece_has_a_new_version_when_the_piece_comes_or_moves(world):
    bring_in(world, a_table(HEAD, "Slate,slate,serial,SL01,,,,4", ",,,,,,,5"))
    before = kit(world)["Slate"].version, boxes(world)["4"].version, boxes(world)["5"].version
    bring_in(world, a_table(HEAD, "Slate,slate,serial,SL01,,,,5", "Slate,,,SL02,,,,5"))
    after = kit(world)["Slate"].version, boxes(world)["4"].version, boxes(world)["5"].version
    assert all(new > old for new, old in zip(after, before, strict=True))


def test_what_a_list_brought_in_can_be_booked_at_once(world):
    bring_in(world, a_fixture("kit-list.csv"))
    pack = kit(world)["Pack, 470 to 548 MHz"]
    named = Wanted(pack.id, 1, items(world)["PL01"].id)
    ask = an_ask(world, "main", (pack, 23))
    ask = type(ask)(ask.unit, ask.window, (*ask.lines, named))
    answer = bookings.book(world.coordinator, ask, now=NOW)
    assert isinstance(answer, Granted)


class ReadMeanwhile(bytes):
    """A list that somebody else's list overtakes while it is read."""

    def startswith(self, *args):
        if self.overtaken_by is not None:
            overtake, self.overtaken_by = self.overtaken_by, None
            with ThreadPoolExecutor(1) as elsewhere:
                elsewhere.submit(overtake).result()
        return super().startswith(*args)


def test_two_lists_at_once_make_one_kit_type_of_one_name(world):
    content = a_table(HEAD, "Clamp,clamp,count,,,,4,")
    slow = ReadMeanwhile(content)
    slow.overtaken_by = lambda: bring_in(world, content)
    done = bring_in(world, slow)
    assert [change.kind for change in done.changes] == [Kind.SAME]
    assert [each.name for each in kit(world).values()] == ["Clamp"]
    with read(world.pool) as stores:
        assert len(stores.kit_types.all()) == 1
