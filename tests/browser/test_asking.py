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
    booked = going_out.get_by_text(re.compile(r"Second · 7 lines, \d+ pieces"))
    expect(booked).to_have_count(0)

    phone.get_by_role("link", name="Ask").click()
    expect(phone.get_by_text("you have 4 radios, 4 ways")).to_be_visible()
    expect(phone.get_by_text("from your call to wrap, Thu 07:30 to 19:00")).to_be_visible()
    expect(phone.locator(".thumb .press-best")).to_have_count(1)
    press_quick(phone, 6)
    expect(phone.locator(".frame", has_text="2 short")).to_be_visible()
    answer = phone.locator(".answer")
    expect(answer).to_contain_text("Pack, 470 to 548 MHz: 2 free, 4 if pencils fall, still 2 short")
    expect(answer).to_contain_text("Splinter has a pencil on 2")
    expect(answer).to_contain_text(
        "From 09:30, as what Splinter has from 10:00 is prepared before."
    )
    answer.get_by_text("more hold some").click()
    expect(answer.get_by_text("You hold 4 until Fri 20:00.")).to_be_visible()
    expect(best(phone)).to_contain_text(
        "Book 6 radios: 2 of 470 to 548 MHz and 4 of 606 to 694 MHz"
    )
    expect(best(phone)).to_contain_text("another range · with 1 × Receiver, four-way")
    best(phone).click()

    expect(phone.get_by_role("heading", level=1)).to_have_text("Yes. 6 radios, D9.")
    pickup = phone.locator(".yes .row").first
    expect(pickup).to_contain_text("by Wed 20:00")
    expect(pickup).to_contain_text("Fernhill, counter 2")
    expect(pickup).to_contain_text("ask for Hale Quennel · today, open 07:00 to 20:00")
    expect(pickup.get_by_role("link")).to_have_attribute("href", "tel:01632960102")
    expect(phone.get_by_role("list", name="Frequencies").get_by_role("listitem")).to_have_text(
        [
            re.compile(r"^2 × Pack, 470 to 548 MHz: \d{3}\.\d{3} · \d{3}\.\d{3} MHz$"),
            re.compile(r"^4 × Pack, 606 to 694 MHz: (\d{3}\.\d{3} · ){3}\d{3}\.\d{3} MHz$"),
        ]
    )
    expect(booked).to_be_visible()

    undo(phone)
    expect(booked).to_have_count(0)


WHOLE = """(node) => {
  const box = node.getBoundingClientRect();
  const points = [0.02, 0.5, 0.98].map((part) => box.top + box.height * part);
  return points.every((y) => {
    const top = document.elementFromPoint(box.left + box.width / 2, y);
    return top !== null && (node.contains(top) || top.contains(node));
  });
}"""
"""Whether all of something that is on the screen is seen: nothing lies over it."""


def test_a_refusal_is_read_whole_and_no_option_lies_under_the_best(visit):
    phone = visit("/ask", "tobin", PHONE)
    press_quick(phone, 6)
    expect(phone.locator(".frame", has_text="2 short")).to_be_visible()
    reason = phone.locator("[data-key=frame]")
    expect(reason).to_contain_text("Thu 09:30 to 20:00.")
    assert reason.evaluate(WHOLE)
    desk = visit("/ask", "tobin", DESK)
    press_quick(desk, 6)
    expect(desk.locator(".frame", has_text="2 short")).to_be_visible()
    expect(best(desk)).to_be_in_viewport(ratio=1)
    options = desk.locator("[data-key=options] button").all()
    assert len(options) > 2
    for option in options:
        option.scroll_into_view_if_needed()
        assert option.evaluate(WHOLE)


def test_what_was_undone_is_not_what_is_proposed_next(visit):
    phone = visit("/ask", "tobin", PHONE)
    press_quick(phone, 6)
    phone.get_by_role("button", name="Book 6 radios of 606 to 694 MHz instead").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Yes. 6 radios, D9.")
    undo(phone)
    phone.get_by_role("link", name="Ask").click()
    packs = phone.get_by_role("group", name="Which packs")
    chosen = packs.get_by_role("button", name="470 to 548 MHz 2 free", exact=True)
    expect(chosen).to_have_attribute("aria-pressed", "true")
    expect(phone.get_by_role("button", name="as last time")).to_contain_text("Wed 2 Dec: 6 radios")


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


def test_the_packs_that_are_asked_for_are_named_and_one_press_takes_others(visit):
    phone = visit("/ask", "tobin", PHONE)
    packs = phone.get_by_role("group", name="Which packs")
    low = packs.get_by_role("button", name="470 to 548 MHz 2 free", exact=True)
    expect(low).to_have_attribute("aria-pressed", "true")
    expect(phone.get_by_role("button", name="as last time")).to_have_text(
        "as last time, Wed 2 Dec: 6 radios, 470 to 548 MHz"
    )
    expect(phone.locator(".answer")).to_contain_text("2 radios free for the whole time")
    with phone.expect_request("**/judgements") as judged:
        packs.get_by_role("button", name="606 to 694 MHz 10 free", exact=True).click()
    expect(low).to_have_attribute("aria-pressed", "false")
    expect(best(phone)).to_have_text("Book 2 radios")
    asked = [line["kit_type_id"] for line in judged.value.post_data_json["lines"]]
    assert len(asked) == 6
    names = phone.evaluate(
        "fetch('/api/v1/kit-types?limit=200').then((a) => a.json())"
        ".then((found) => Object.fromEntries(found.kit_types.map((k) => [k.id, k.name])))"
    )
    assert not [names[kit] for kit in asked if "470" in names[kit]]


def test_the_parts_of_a_radio_have_names_of_their_own_and_say_first_how_many_are_free(visit):
    phone = visit("/ask", "tobin", PHONE)
    press_quick(phone, 6)
    phone.get_by_text("with each: way, lavalier").click()
    for name in ("way", "another way"):
        expect(phone.get_by_role("combobox", name=name, exact=True)).to_be_visible()
    expect(phone.get_by_role("combobox", name="pack").locator("option").first).to_have_text(
        re.compile(r"^\d+ free · Pack, ")
    )


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
    found = phone.get_by_role("button", name="Add Long arm")
    expect(found).to_have_text(re.compile(r"Long arm arm \d+ free$"))
    found.click()
    expect(best(phone)).to_have_text("Book 1 × Long arm")
    phone.get_by_label("Long arm", exact=True).fill("9")
    phone.get_by_label("Long arm", exact=True).blur()
    expect(phone.locator(".answer")).to_contain_text("Long arm: ")
    expect(phone.locator(".answer .frame-short")).to_be_visible()


def three_long_arms(phone) -> None:
    """As the refusal of day 10: 8 in all, 4 confirmed, and splinter's pencil on 3."""
    press_quick(phone, 2)
    for _ in range(2):
        phone.get_by_role("button", name="One fewer").first.click()
    phone.get_by_text("Other kit as well").click()
    phone.get_by_label("Find kit by name").fill("long arm")
    phone.get_by_role("button", name="Add Long arm").click()
    phone.get_by_label("Long arm", exact=True).fill("3")
    phone.get_by_label("Long arm", exact=True).blur()
    expect(phone.locator(".frame", has_text="behind a pencil")).to_be_visible()


def test_options_say_what_one_gets_and_what_it_costs_in_order(visit):
    phone = visit("/ask?from=2026-11-27", "tobin", PHONE)
    three_long_arms(phone)
    expect(best(phone)).to_have_text("Book 1 Long arm and 2 Short arm other kit")
    options = phone.locator(".answer [data-key=options] button")
    texts = [text.replace("\n", " ") for text in options.all_inner_texts()]
    assert texts[:4] == [
        "Book 3 Short arm instead of 3 Long arm other kit",
        "Book 1 Long arm, pencil 2 more a pencil holds no kit",
        "Book only 1 Long arm 2 fewer than asked",
        "Pencil 3 × Long arm, second in the queue a pencil holds no kit",
    ]
    moved = [text for text in texts if text.startswith("Book 3 × Long arm, ")]
    assert moved[-2:] == [
        # Second is called at 07:30 on Thursday and wraps at 19:00; on Saturday it does not work.
        "Book 3 × Long arm, Thu 07:00 to 20:00 another day · 1 h 30 min outside your call and wrap",
        "Book 3 × Long arm, Sat 07:00 to 20:00 another day · outside your call and wrap",
    ]


def test_a_pencil_says_its_place_who_is_before_it_and_is_no_yes(visit):
    phone = visit("/ask?from=2026-11-27", "tobin", PHONE)
    three_long_arms(phone)
    phone.get_by_role("button", name="Pencil 3 × Long arm").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text(
        "Pencilled, not booked. 3 × Long arm, D10."
    )
    expect(phone.locator(".frame")).to_have_text("second in the queue")
    expect(phone.locator("main")).to_contain_text(
        "Before it: Splinter's pencil on 3, which lapses Thu 18:00."
    )
    expect(phone.locator("main")).to_contain_text("When that pencil falls yours can be confirmed.")
    expect(phone.get_by_text("Fernhill, counter 2")).to_have_count(0)
    phone.get_by_role("link", name="Open the booking").click()
    expect(phone.get_by_role("button", name="Release all", exact=True)).to_be_visible()
    expect(phone.get_by_role("button", name="Confirm")).to_have_count(0)
    phone.get_by_role("button", name=re.compile("^Undo")).click()
    expect(phone.locator(".frame", has_text="undone")).to_be_visible()


def test_what_is_free_is_booked_and_the_rest_pencilled_in_one_press(visit, service):
    phone = visit("/ask?from=2026-11-27", "tobin", PHONE)
    three_long_arms(phone)
    phone.get_by_role("button", name="Book 1 Long arm, pencil 2 more").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Yes. 1 × Long arm, D10.")
    expect(phone.get_by_text("Pencilled as well: 2 Long arm.")).to_be_visible()
    tobin = service.caller("tobin")
    unit = tobin.get("/session")["account"]["unit_ids"][0]
    mine = tobin.get(f"/bookings?unit={unit}&state=pencilled&limit=200")["bookings"]
    pencil = max(mine, key=lambda each: each["created_at"])
    assert [(line["name"], line["quantity"]) for line in pencil["lines"]] == [("Long arm", 2)]
    tobin.post(f"/bookings/{pencil['id']}/undo", {}, f'"{pencil["version"]}"')
    undo(phone)


def test_what_another_unit_hands_on_is_taken_and_both_are_told(visit, service):
    boom = next(
        kit["id"]
        for kit in service.caller("ines").get("/kit-types?limit=200")["kit_types"]
        if kit["name"] == "Wireless boom, 470 to 548 MHz"
    )
    phone = visit(f"/ask?kit={boom}&from=2026-12-04&to=2026-12-04", "petra", PHONE)
    number = phone.get_by_role("textbox", name="Wireless boom, 470 to 548 MHz")
    number.fill("2")
    number.blur()
    expect(phone.locator(".frame", has_text="1 short")).to_be_visible()
    expect(best(phone)).to_contain_text("Book 2 × Wireless boom, 470 to 548 MHz")
    straight = (
        "1 × Wireless boom, 470 to 548 MHz straight from Second, Thu 3 Dec 22:30 at Marsh road"
    )
    expect(best(phone)).to_contain_text(straight)
    best(phone).click()
    yes = phone.locator(".yes")
    expect(yes.get_by_role("heading", level=1)).to_contain_text("Yes. 2 × Wireless boom")
    first, second = (yes.locator(".row").nth(number) for number in (0, 1))
    expect(first).to_contain_text("Marsh road")
    expect(first).to_contain_text("straight from Second: 1 × Wireless boom, 470 to 548 MHz")
    expect(first).to_contain_text("ask for Wyn Tarrock")
    expect(second).to_contain_text("Fernhill, counter 2")

    giver = next(
        booking["id"]
        for booking in service.caller("tobin").get("/bookings?limit=200")["bookings"]
        if booking["purpose"] == "marsh road, boom and listening"
    )
    desk = visit(f"/booking/{giver}", "tobin", DESK)
    onward = desk.get_by_role("region", name="To hand on")
    expect(onward).to_contain_text("1 × Wireless boom, 470 to 548 MHz straight to Splinter")
    expect(onward).to_contain_text("Marsh road · ask for Rafe Lindoe")
    undo(phone)


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
    expect(phone.locator(".answer")).to_contain_text(
        "Book 2 radios, 470 to 548 MHz, Thu 07:30 to 19:00. Kept on this phone, not asked yet."
    )
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


def test_what_is_kept_without_signal_is_what_the_button_said(visit, service):
    """Opened on 2, pressed for 4 with no signal: 4 are booked, with all that goes with 4."""
    phone = visit("/ask", "tobin", PHONE)
    expect(best(phone)).to_have_text("Book 2 radios")
    phone.context.set_offline(True)
    phone.get_by_role("group", name="Which packs").get_by_role(
        "button", name=re.compile("^606 to 694 MHz")
    ).click()
    press_quick(phone, 4)
    expect(phone.get_by_text(re.compile("^with each:"))).to_have_text(
        "with each: way, lavalier, 2 batteries, pouch, frequency"
    )
    best(phone).click()
    expect(phone.locator(".answer")).to_contain_text("Book 4 radios, 606 to 694 MHz, Thu")
    expect(phone.locator(".press-best")).to_have_count(0)
    kept = phone.locator(".thumb button")
    expect(kept).to_contain_text("Kept, not asked: Book 4 radios")
    expect(kept).to_be_disabled()
    phone.context.set_offline(False)
    expect(phone.get_by_text("See what waits")).to_be_hidden()
    expect(phone.get_by_text("There is signal, and this is not asked yet")).to_be_visible()
    expect(best(phone)).to_contain_text("Ask now: Book 4 radios, 606 to 694 MHz")
    best(phone).click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Yes. 4 radios, D9.")
    booking = service.caller("tobin").get(f"/bookings/{phone.url.split('/')[-1].split('?')[0]}")
    packs = [line for line in booking["lines"] if line["category"] == "pack"]
    assert [(line["name"], line["quantity"]) for line in packs] == [("Pack, 606 to 694 MHz", 4)]
    lavaliers = [line["quantity"] for line in booking["lines"] if line["category"] == "lavalier"]
    assert lavaliers == [4]
    assert [line["name"] for line in booking["lines"] if "470" in line["name"]] == []
    undo(phone)


def test_a_button_that_is_pressed_before_its_kit_is_proposed_books_what_it_says(visit, service):
    """Another number and other packs, and at once the button: ways and frequencies are theirs."""
    phone = visit("/ask", "tobin", PHONE)
    expect(best(phone)).to_have_text("Book 2 radios")
    phone.evaluate(
        """() => {
          document.querySelector("[data-key=quick-4]").click();
          document.querySelector(".packs [aria-pressed=false]").click();
          document.querySelector("[data-key=book]").click();
        }"""
    )
    expect(phone.get_by_role("heading", level=1)).to_have_text("Yes. 4 radios, D9.")
    booking = service.caller("tobin").get(f"/bookings/{phone.url.split('/')[-1].split('?')[0]}")
    assert booking["lines"][0]["quantity"] == 4
    assert [line["name"] for line in booking["lines"] if "470" in line["name"]] == []
    undo(phone)


def test_a_service_that_is_down_is_not_called_no_signal(visit):
    phone = visit("/ask", "tobin", PHONE)
    expect(best(phone)).to_have_text("Book 2 radios")
    phone.route("**/api/v1/**", lambda route: route.abort("internetdisconnected"))
    press_quick(phone, 4)
    expect(phone.locator(".answer")).to_contain_text("The service does not answer")
    expect(phone.locator("#age")).to_have_text(re.compile("^no answer"))
    best(phone).click()
    expect(phone.locator(".answer")).to_contain_text("Book 4 radios")
    expect(phone.locator("body")).not_to_contain_text("No signal")
    phone.unroute("**/api/v1/**")
    phone.get_by_role("button", name="Throw away").click()
    expect(phone.get_by_text("Waiting on this phone")).to_have_count(0)


@pytest.mark.parametrize(
    ("login", "sentence"),
    [
        ("dov", "This account looks, and does not ask. A unit's mixer asks, or the coordinator."),
        (
            "hale",
            "An assistant hands out and takes back, and does not ask. "
            "A unit's mixer asks, or the coordinator.",
        ),
        (
            "wyn",
            "An assistant hands out and takes back, and does not ask. "
            "Second unit's mixer asks, or the coordinator.",
        ),
    ],
    ids=["supervisor", "assistant", "unit's assistant"],
)
def test_who_may_not_ask_has_no_such_place_and_is_told_who_can(visit, login, sentence):
    page = visit("/ask", login, DESK)
    expect(page.get_by_text(sentence)).to_be_visible()
    expect(page.get_by_role("link", name="Ring the coordinator · 01632 960100")).to_be_visible()
    places = page.get_by_role("navigation", name="Places")
    expect(places.get_by_role("link", name="Scan")).to_be_visible()
    expect(places.get_by_role("link", name="Ask")).to_have_count(0)
    expect(page.locator(".press-best")).to_have_count(0)
