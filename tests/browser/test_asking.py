"""A mixer's phone: asked, refused with the reason, an option taken, told where and when, undone."""

import re

import pytest
from playwright.sync_api import expect

from guests import DESK, PHONE


def press_quick(page, number: int) -> None:
    page.get_by_role("group", name="How many radios").get_by_role(
        "button", name=str(number), exact=True
    ).click()


def best(page):
    """The one filled button at the thumb."""
    return page.locator(".thumb .press-best")


def undo(page) -> None:
    page.get_by_role("button", name=re.compile("^Undo")).click()
    expect(page.locator(".frame", has_text="undone")).to_be_visible()


def test_a_refusal_becomes_a_yes_in_five_presses_and_is_seen_on_the_board(visit):
    phone = visit("/", "tobin", PHONE)
    board = visit("/", "ines", DESK)
    going_out = board.get_by_role("region", name="Going out")
    expect(going_out.get_by_text("Splinter")).to_be_visible()
    expect(going_out.get_by_text("Second")).to_have_count(0)

    phone.get_by_role("link", name="Ask").click()
    expect(phone.get_by_text("you have 4 radios, 4 ways")).to_be_visible()
    expect(phone.get_by_text("from your call to wrap, Thu 07:30 to 19:00")).to_be_visible()
    expect(phone.locator(".thumb .press-best")).to_have_count(1)
    press_quick(phone, 6)
    expect(phone.locator(".frame", has_text="2 short")).to_be_visible()
    answer = phone.locator(".answer")
    expect(answer).to_contain_text("Pack, 470 to 548 MHz: 2 free, 4 if pencils fall, still 2 short")
    expect(answer).to_contain_text("Splinter has a pencil on 2")
    expect(best(phone)).to_contain_text("Book 6 radios: 2, and 4 × Pack, 606 to 694 MHz")
    best(phone).click()

    expect(phone.get_by_role("heading", level=1)).to_have_text("Yes. 6 radios, D9.")
    pickup = phone.locator(".yes .row").first
    expect(pickup).to_contain_text("Fernhill, counter 2")
    expect(pickup).to_contain_text("ask for Hale Quennel")
    expect(pickup.get_by_role("link")).to_have_attribute("href", "tel:01632960102")
    expect(phone.locator(".frequencies")).to_have_text(
        re.compile(r"^Frequencies: (\d{3}\.\d{3} · ){5}\d{3}\.\d{3}$")
    )
    expect(going_out.get_by_text(re.compile(r"Second · \d+ lines, \d+ pieces"))).to_be_visible()

    undo(phone)
    expect(going_out.get_by_text("Second")).to_have_count(0)


def test_the_list_for_the_truck_is_on_paper_alone(visit):
    phone = visit("/ask", "tobin", PHONE)
    expect(best(phone)).to_have_text("Book 2 radios")
    best(phone).click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Yes. 2 radios, D9.")
    listed = phone.get_by_role("table").filter(has_text="Pouch, small")
    expect(listed).to_be_hidden()
    phone.emulate_media(media="print")
    expect(listed).to_be_visible()
    expect(listed).to_contain_text("box")
    expect(phone.get_by_role("button", name="List for the truck")).to_be_hidden()
    phone.emulate_media(media="screen")
    undo(phone)


def test_what_is_pressed_last_is_what_is_judged(visit):
    phone = visit("/ask", "tobin", PHONE)
    for number in (8, 6, 4, 2):
        press_quick(phone, number)
    expect(phone.locator(".answer")).to_contain_text("2 radios free for the whole time")
    expect(best(phone)).to_have_text("Book 2 radios")


def test_times_and_parts_open_on_a_press_and_change_what_is_asked(visit):
    phone = visit("/ask", "tobin", PHONE)
    phone.get_by_text("with each: way, lavalier").click()
    phone.get_by_label("number, pouch").fill("0")
    phone.get_by_label("number, pouch").blur()
    expect(phone.get_by_text(re.compile("^with each: .*frequency$"))).not_to_contain_text("pouch")
    phone.get_by_text("from your call to wrap").click()
    phone.locator("[name=toTime]").fill("12:00")
    expect(phone.get_by_text("Thu 07:30 to 12:00, your own times")).to_be_visible()
    with phone.expect_request("**/judgements") as judged:
        press_quick(phone, 4)
    sent = judged.value.post_data_json
    assert sent["end"] == {"day": "2026-11-26", "time": "12:00"}


def test_days_chosen_on_the_strip_are_the_days_asked_for(visit):
    phone = visit("/ask", "tobin", PHONE)
    expect(phone.get_by_text("from your call to wrap, Thu")).to_be_visible()
    for day in ("26", "27"):
        phone.get_by_role("group", name="Days").get_by_text(day, exact=True).click()
    expect(phone.get_by_text("from your call to wrap, Thu 07:30 to Fri 20:00")).to_be_visible()
    assert "from=2026-11-26&to=2026-11-27" in phone.url


def test_other_kit_is_found_by_name_and_refused_by_name(visit):
    phone = visit("/ask", "tobin", PHONE)
    phone.get_by_role("button", name="One fewer").click()
    phone.get_by_role("button", name="One fewer").click()
    expect(best(phone)).to_have_text("Choose how many")
    expect(best(phone)).to_be_disabled()
    phone.get_by_text("Other kit as well").click()
    phone.get_by_label("Find kit by name").fill("long arm")
    phone.get_by_role("button", name="Add Long arm").click()
    expect(best(phone)).to_have_text("Book 1 × Long arm")
    phone.get_by_label("Long arm", exact=True).fill("9")
    phone.get_by_label("Long arm", exact=True).blur()
    expect(phone.locator(".answer")).to_contain_text("Long arm: ")
    expect(phone.locator(".answer .frame-short")).to_be_visible()


def test_a_coordinator_asks_for_any_unit(visit):
    page = visit("/ask", "ines", DESK)
    page.locator("[data-key=unit] select").select_option("Splinter · Saltmarsh")
    expect(page.get_by_text("from Splinter's call to wrap, Thu 10:00 to 18:00")).to_be_visible()
    with page.expect_request("**/judgements") as judged:
        press_quick(page, 4)
    units = page.evaluate(
        "fetch('/api/v1/session').then((a) => a.json()).then((s) => s.units.map((u) => [u.name, u.id]))"
    )
    assert judged.value.post_data_json["unit_id"] == dict(units)["Splinter"]


def test_without_signal_an_ask_is_kept_not_promised_and_sent_once_when_asked_again(visit):
    phone = visit("/ask", "tobin", PHONE)
    expect(best(phone)).to_have_text("Book 2 radios")
    keys = []
    phone.on("request", lambda request: keys.append(request.headers.get("idempotency-key")))
    phone.context.set_offline(True)
    best(phone).click()
    expect(phone.locator(".answer")).to_contain_text("Kept on this phone, not asked yet.")
    ring = phone.get_by_role("link", name="Ring the coordinator · 01632 960100").first
    expect(ring).to_have_attribute("href", "tel:01632960100")
    assert "Yes" not in phone.locator("main").inner_text()
    phone.context.set_offline(False)
    phone.reload()
    phone.get_by_role("button", name="Ask now").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Yes. 2 radios, D9.")
    assert len({key for key in keys if key}) == 1
    undo(phone)
    phone.get_by_role("link", name="Ask").click()
    expect(phone.get_by_text("Waiting on this phone")).to_have_count(0)


def test_what_is_kept_is_counted_on_every_other_page_and_can_be_thrown_away(visit):
    phone = visit("/ask", "tobin", PHONE)
    expect(best(phone)).to_have_text("Book 2 radios")
    phone.context.set_offline(True)
    best(phone).click()
    expect(phone.locator(".answer")).to_contain_text("Kept on this phone, not asked yet.")
    phone.context.set_offline(False)
    phone.get_by_role("link", name="Mine").click()
    expect(phone.get_by_text("1 thing waits on this phone, not sent yet.")).to_be_visible()
    phone.get_by_role("link", name="See what waits").click()
    phone.get_by_role("button", name="Throw away").click()
    expect(phone.get_by_text("Waiting on this phone")).to_have_count(0)


@pytest.mark.parametrize("login", ["dov", "hale"])
def test_who_may_not_ask_is_told_so(visit, login):
    page = visit("/ask", login, DESK)
    expect(page.get_by_text("Your account asks for no unit.")).to_be_visible()
    expect(page.locator(".press-best")).to_have_count(0)
