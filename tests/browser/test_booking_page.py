"""A booking's own page: how far its kit is, changing it, a pencil's place, the list for the truck."""

import re

from playwright.sync_api import expect

from guests import DESK, PHONE


def booking_of(service, purpose: str) -> dict:
    bookings = service.caller("ines").get("/bookings")["bookings"]
    return next(one for one in bookings if one["purpose"] == purpose)


def opened(visit, service, purpose: str, login: str, size=PHONE, query: str = ""):
    page = visit(f"/booking/{booking_of(service, purpose)['id']}{query}", login, size)
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    return page


def line(page, name: str):
    return page.get_by_role("row").filter(has=page.get_by_role("rowheader", name=name))


def state(page):
    return page.locator(".page-head .frame")


def quantities(service, purpose: str) -> dict[str, int]:
    return {
        one["name"]: one["quantity"]
        for one in booking_of(service, purpose)["lines"]
        if one["state"] == "confirmed"
    }


def test_counted_kit_goes_out_and_back_from_its_line(visit, service):
    hale = opened(visit, service, "market crowd", "hale")
    cells = line(hale, "AA, rechargeable")
    expect(cells).to_contain_text("0 of 18 out")
    moves = hale.get_by_role("group", name="Out and back: AA, rechargeable")
    moves.get_by_role("button", name="One fewer").click()
    moves.get_by_role("button", name="Out 17").click()
    expect(cells).to_contain_text("17 of 18 out")
    expect(state(hale)).to_have_text(["confirmed", "part out"])
    expect(moves).to_contain_text("17 × AA, rechargeable, out.")
    moves.get_by_role("textbox").fill("17")
    moves.get_by_role("button", name="Back 17").click()
    expect(cells).to_contain_text("0 of 18 out, 17 back")
    expect(state(hale)).to_have_text(["confirmed", "part back"])
    moves.get_by_role("button", name="Undo").click()
    expect(cells).to_contain_text("17 of 18 out")
    moves.get_by_role("textbox").fill("17")
    moves.get_by_role("button", name="Back 17").click()
    expect(cells).to_contain_text("0 of 18 out, 17 back")


def test_what_went_out_by_mistake_is_undone_at_its_line(visit, service):
    hale = opened(visit, service, "inserts, radios and boom", "hale")
    pouches = line(hale, "Pouch, small")
    moves = hale.get_by_role("group", name="Out and back: Pouch, small")
    moves.get_by_role("button", name="Out 2").click()
    expect(pouches).to_contain_text("all 2 out")
    moves.get_by_role("button", name="Undo").click()
    expect(pouches).to_contain_text("0 of 2 out")
    expect(state(hale)).to_have_text(["confirmed"])


def test_what_is_sent_twice_under_its_own_key_goes_out_once(visit, service):
    hale = opened(visit, service, "market crowd", "hale")
    sent = []
    hale.on("request", lambda one: "custody-events" in one.url and sent.append(one))
    moves = hale.get_by_role("group", name="Out and back: Pouch, small")
    moves.get_by_role("textbox").fill("1")
    moves.get_by_role("button", name="Out 1").click()
    expect(line(hale, "Pouch, small")).to_contain_text("1 of 3 out")
    (event,) = sent
    booking = booking_of(service, "market crowd")
    assert event.post_data_json["booking_id"] == booking["id"]
    headers = {"Content-Type": "application/json"}
    again = hale.request.post(event.url, data=event.post_data, headers=headers)
    assert again.status == 201
    standing = service.caller("ines").get(f"/bookings/{booking['id']}/standing")["lines"]
    ids = {one["id"]: one["name"] for one in booking["lines"]}
    assert [one["out"] for one in standing if ids[one["id"]] == "Pouch, small"] == [1]
    moves.get_by_role("button", name="Undo").click()
    expect(line(hale, "Pouch, small")).to_contain_text("0 of 3 out")


def test_one_radio_fewer_is_two_presses_and_takes_its_parts_along(visit, service):
    tobin = opened(visit, service, "marsh road", "tobin")
    before = quantities(service, "marsh road")
    tobin.get_by_text("Change times or numbers").click()
    tobin.get_by_role("button", name="One radio fewer").click()
    tobin.get_by_role("button", name="Change to 5 radios").click()
    expect(line(tobin, "Pack, 470 to 548 MHz").locator(".figure")).to_have_text("5")
    assert quantities(service, "marsh road") == before | {
        "Pack, 470 to 548 MHz": 5,
        "Lavalier, black, 4-pin": 5,
        "AA, rechargeable": 30,
        "Pouch, small": 5,
        "Frequency, 470 to 548 MHz": 6,
    }
    tobin.get_by_role("button", name="One radio more").click()
    tobin.get_by_role("button", name="Change to 6 radios").click()
    expect(line(tobin, "Pack, 470 to 548 MHz").locator(".figure")).to_have_text("6")
    assert quantities(service, "marsh road") == before


def test_a_change_that_cannot_be_is_refused_at_its_press_and_keeps_what_was_typed(visit, service):
    maud = opened(visit, service, "market crowd", "maud")
    maud.get_by_text("Change times or numbers").click()
    number = maud.get_by_role("textbox", name="Number: Pack, 470 to 548 MHz")
    for wanted in ("4", "5", "6"):
        maud.get_by_role("button", name="One radio more").click()
        expect(number).to_have_value(wanted)
    maud.get_by_role("button", name="Change to 6 radios").click()
    form = maud.locator("details[data-key=change]")
    refusal = form.get_by_role("alert")
    expect(refusal).to_contain_text("Not changed: the booking stays as it is.")
    expect(refusal).to_contain_text("Pack, 470 to 548 MHz:")
    expect(refusal).to_be_in_viewport()
    expect(maud.locator(".frame-short")).to_have_count(0)
    expect(number).to_have_value("6")
    expect(state(maud).first).to_have_text("confirmed")
    refusal.get_by_role("button", name="Change to only 5 radios").click()
    expect(line(maud, "Pack, 470 to 548 MHz").locator(".figure")).to_have_text("5")
    for wanted in ("4", "3"):
        maud.get_by_role("button", name="One radio fewer").click()
        expect(number).to_have_value(wanted)
    maud.get_by_role("button", name="Change to 3 radios").click()
    expect(line(maud, "Pack, 470 to 548 MHz").locator(".figure")).to_have_text("3")


def test_a_pencil_says_its_place_and_is_confirmed_at_once_only_where_that_is_granted(
    visit, service
):
    petra = opened(visit, service, "the twins, if they come", "petra")
    expect(petra.get_by_text("No pencil is before it.")).to_be_visible()
    expect(petra.get_by_role("button", name="Confirm")).to_have_class("press press-best")
    expect(petra.get_by_role("heading", name="Hand-over")).to_have_count(0)
    expect(petra.get_by_role("link", name="List for the truck")).to_have_count(0)
    ines = opened(visit, service, "arms on the stage", "ines", DESK)
    expect(ines.get_by_text("Before it: Second's pencil on 2, which lapses")).to_be_visible()
    expect(ines.get_by_text("It lapses Thu 18:00.")).to_be_visible()
    confirm = ines.get_by_role("button", name="Confirm", exact=True)
    expect(confirm).to_have_class("press")
    confirm.click()
    refusal = ines.get_by_role("alert")
    expect(refusal).to_contain_text("Not confirmed: it stays a pencil.")
    expect(refusal.get_by_role("button", name="Confirm over the pencil")).to_be_visible()


def test_the_list_for_the_truck_is_on_the_page_first_and_the_same_on_paper(visit, service):
    maud = opened(visit, service, "market crowd", "maud")
    maud.get_by_role("link", name="List for the truck").click()
    expect(maud.get_by_role("heading", level=1)).to_have_text("List for the truck")
    tables = maud.get_by_role("table")
    expect(tables.first).to_contain_text("Boxes 1 and 2")
    boxes = [tables.nth(n).locator("caption").inner_text() for n in range(tables.count())]
    assert boxes == ["Boxes 1 and 2", "Box 5", "Box 7", "Boxes 23 and 24", "Box 28"]
    expect(maud.get_by_role("region", name="Fetch")).to_contain_text(
        "Fernhill, counter 2 · by Wed 14:50"
    )
    expect(maud.get_by_role("region", name="Frequencies")).to_contain_text(
        re.compile(r"\d{3}\.\d{3} MHz")
    )
    expect(maud.locator(".page-head")).to_contain_text("As of Wednesday 25 November, 14:")
    maud.evaluate("window.print = () => { window.printed = true; }")
    maud.get_by_role("button", name="Print").click()
    assert maud.evaluate("window.printed")
    shown = maud.locator(".truck tbody").all_inner_texts()
    maud.emulate_media(media="print")
    assert maud.locator(".truck tbody").all_inner_texts() == shown
    expect(maud.get_by_role("button", name="Print")).to_be_hidden()
