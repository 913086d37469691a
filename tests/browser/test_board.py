"""The board: fresh by itself, honest about its age, reminders answered, decisions taken, the wall."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

from guests import DESK, PHONE

POLLS = 3
BIG = {"width": 1920, "height": 1080}


class Polls:
    """Counts a page's readings of the board from now on."""

    def __init__(self, page: Any):
        self.count = 0
        page.on("response", self._heard)

    def _heard(self, response: Any) -> None:
        if "/api/v1/board" in response.url:
            self.count += 1


def seen_within_polls(page: Any, write: Callable[[], Any], shown: Any) -> Any:
    """What was written by somebody else is on the page before it has asked for the fourth time."""
    polls = Polls(page)
    written = write()
    expect(shown).to_be_visible()
    assert polls.count <= POLLS
    return written


def unit_called(caller: Any, name: str) -> str:
    return next(unit["id"] for unit in caller.get("/session")["units"] if unit["name"] == name)


def kit_called(caller: Any, name: str) -> str:
    kits = caller.get("/kit-types?limit=500")["kit_types"]
    return next(kit["id"] for kit in kits if kit["name"] == name)


def test_what_others_write_is_seen_within_three_polls_and_leaves_as_soon(visit, service):
    page = visit("/", "ines", DESK)
    wyn = service.caller("tobin")
    row = page.get_by_role("region", name="Going out").get_by_text("Second · 1 line, 2 pieces")
    expect(page.get_by_text("Splinter · 10 lines")).to_be_visible()
    expect(row).to_have_count(0)
    body = {
        "unit_id": unit_called(wyn, "Second"),
        "purpose": "rain covers",
        "lines": [{"kit_type_id": kit_called(wyn, "Pouch, small"), "quantity": 2}],
    }
    made = seen_within_polls(page, lambda: wyn.post("/bookings", body), row)
    booking = made["booking"]
    polls = Polls(page)
    wyn.post(f"/bookings/{booking['id']}/undo", None, etag=f'"{booking["version"]}"')
    expect(row).to_have_count(0)
    assert polls.count <= POLLS


def test_a_reminder_is_seen_then_done_and_others_see_that(visit):
    page = visit("/", "ines", DESK)
    other = visit("/", "hale", DESK)

    def row(on: Any) -> Any:
        return on.get_by_role("listitem").filter(has_text="Prepare 28 pieces for Main")

    row(page).get_by_role("button", name="Seen").click()
    expect(row(page).locator(".frame")).to_have_text("seen")
    expect(row(other).locator(".frame")).to_have_text("seen")
    row(other).get_by_role("button", name="Done").click()
    expect(row(other).locator(".frame", has_text="due")).to_have_count(0)
    expect(row(page).get_by_role("button", name="Done")).to_have_count(0)


def decision(page: Any, text: str) -> Any:
    return page.locator(".decision").filter(has_text=text)


def test_a_decision_says_why_it_cannot_be_confirmed_and_what_the_booking_could_become(visit):
    page = visit("/", "ines", DESK)
    card = decision(page, "Splinter pencilled 3 × Long arm")
    expect(card).to_contain_text("it gets 2 of its 3. Second has a pencil on 2")
    card.get_by_role("button", name="Confirm 3").click()
    expect(card.get_by_role("alert")).to_have_text("Long arm: 2 free, 4 if pencils fall.")
    changes = card.get_by_role("button", name=re.compile("^Change to "))
    expect(changes.first).to_be_enabled()
    expect(changes.first).to_have_text("Change to 2 × Long arm + 1 × Short arm; the rest stays")
    expect(card.get_by_role("button", name=re.compile("outside Splinter's call"))).to_be_visible()


def bookings_of(caller: Any, unit: str) -> list[Any]:
    found = caller.get(f"/bookings?unit={unit_called(caller, unit)}&limit=500")["bookings"]
    return [each for each in found if each["state"] in ("confirmed", "pencilled")]


def held(booking: Any) -> dict[str, int]:
    live = (line for line in booking["lines"] if line["state"] == booking["state"])
    return {line["name"]: line["quantity"] for line in live}


def test_an_option_changes_the_pencil_that_the_card_is_about_and_the_card_goes(visit, service):
    ines = service.caller("ines")
    before = bookings_of(ines, "Splinter")
    page = visit("/?from=2026-11-27", "ines", DESK)
    card = decision(page, "Splinter pencilled 3 × Long arm")
    expect(page.get_by_role("heading", name="To decide · 1")).to_be_visible()
    card.get_by_role("button", name="Confirm 3").click()
    stand_in = re.compile("^Change to 2 × Long arm . 1 × Short arm")
    card.get_by_role("button", name=stand_in).click()
    expect(card).to_have_count(0)
    expect(page.get_by_role("heading", name="To decide", exact=True)).to_be_focused()
    after = bookings_of(ines, "Splinter")
    assert [each["id"] for each in after] == [each["id"] for each in before]
    (changed,) = (each for each in after if "Short arm" in held(each))
    assert changed["state"] == "confirmed"
    assert held(changed) == {"Long arm": 2, "Short arm": 1, "Low stand": 3}


def test_what_stands_in_for_missing_kit_is_put_on_the_booking_that_lacks_it(visit, service):
    ines = service.caller("ines")
    before = bookings_of(ines, "Main")
    page = visit("/", "ines", DESK)
    card = decision(page, "Main lacks 1 × Long gun, outside")
    card.get_by_role("button", name="What would work").click()
    expect(card.get_by_role("button", name="Go without 1 × Long gun, outside")).to_be_visible()
    card.get_by_role("button", name=re.compile("^Change to 2 × Long gun, outside")).click()
    expect(card).to_have_count(0)
    after = bookings_of(ines, "Main")
    assert [each["id"] for each in after] == [each["id"] for each in before]
    (changed,) = (each for each in after if held(each).get("Long gun, outside") == 2)
    assert held(changed)["Short gun, outside"] == 1


def test_a_promise_is_shown_on_the_card_and_where_kit_comes_back(visit):
    page = visit("/", "ines", DESK)
    card = decision(page, "Long arm LA02")
    expect(card.locator(".frame")).to_have_text("late 18 h")
    expect(card).to_contain_text("Due Tue 24 19:30. Joss Pellamy has it.")
    expect(card.get_by_role("link", name="Call Joss")).to_have_attribute("href", "tel:07700900111")
    row = page.get_by_role("region", name="Coming back").get_by_role("listitem").first
    expect(row).to_contain_text("Tue 24 19:30")
    expect(row).to_contain_text("expected 19:30")
    card.get_by_role("button", name="They promise it for…").click()
    card.locator("[name=day]").fill("2026-11-25")
    card.locator("[name=time]").fill("21:00")
    card.get_by_role("button", name="Note it").click()
    expect(card).to_contain_text("Due Tue 24 19:30. Promised 21:00.")
    expect(row).to_contain_text("promised 21:00")


def test_a_chosen_day_shows_its_own_and_says_what_waits_on_others(visit):
    page = visit("/?from=2026-11-30", "ines", DESK)
    out = page.get_by_role("region", name="Going out")
    expect(out).to_contain_text("nights on the flats")
    expect(out).not_to_contain_text("market crowd")
    page.get_by_role("link", name=re.compile("on other days")).click()
    expect(out).to_contain_text("market crowd")


def test_everybody_sees_what_waits_and_only_some_can_press(visit):
    page = visit("/?from=2026-12-01", "tobin", PHONE)
    card = decision(page, "Splinter pencilled 2 × Wireless boom")
    expect(card).to_contain_text("Splinter or the coordinator decides.")
    expect(card.get_by_role("button")).to_have_count(0)
    strip = page.get_by_role("group", name="Days").get_by_role("button", pressed=True)
    expect(strip).to_contain_text("1 clash")


def test_without_signal_the_page_says_how_old_it_is_and_turns_muted(visit):
    page = visit("/", "dov", DESK)
    expect(page.get_by_role("heading", name="Going out")).to_be_visible()
    expect(page.locator("#age")).to_be_empty()
    page.context.set_offline(True)
    expect(page.locator("#age")).to_have_text(re.compile(r"^no signal · as of \d\d:\d\d$"))
    muted, ink = page.evaluate(
        "[getComputedStyle(document.querySelector('main')).color,"
        " getComputedStyle(document.body).color]"
    )
    assert muted != ink
    page.context.set_offline(False)
    expect(page.locator("#age")).to_be_empty()


def test_numbers_older_than_a_minute_say_so_while_the_service_is_slow(visit):
    page = visit("/", "dov", DESK)
    expect(page.get_by_role("heading", name="Going out")).to_be_visible()
    page.clock.install()
    page.reload()
    expect(page.get_by_role("heading", name="Going out")).to_be_visible()
    page.route("**/api/v1/board*", lambda route: None)
    page.clock.fast_forward(70_000)
    expect(page.locator("#age")).to_have_text(re.compile(r"as of \d\d:\d\d$"))


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_moves_when_the_days_come(visit, size):
    """A press made at once meets what stood there, and nothing that came under the thumb."""
    page = visit("/sign-in", "dov", size)
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    page.route("**/api/v1/board*", hold)
    page.goto("/scan")
    field = page.get_by_label("Tag, barcode or radio number")
    expect(field).to_be_focused()
    before = field.bounding_box()
    expect(page.get_by_role("group", name="Days")).to_have_count(0)
    for route in held:
        route.continue_()
    page.unroute("**/api/v1/board*")
    expect(page.get_by_role("group", name="Days").get_by_text("1 late")).to_be_visible()
    assert field.bounding_box() == before


@pytest.mark.parametrize(
    ("login", "path"),
    [
        ("tobin", "/ask"),
        ("tobin", "/mine"),
        ("ines", "/days"),
        ("ines", "/office/units"),
        ("wyn", "/scan?mode=out"),
    ],
)
def test_a_page_reads_nothing_twice_as_it_opens(visit, login, path):
    page = visit("/sign-in", login, DESK)
    asked: list[str] = []
    boards: list[str] = []
    page.on("request", lambda sent: asked.append(sent.url) if "/api/v1/" in sent.url else None)
    page.on("response", lambda had: boards.append(had.url) if _is_new_board(had) else None)
    page.goto(path)
    expect(page.get_by_role("group", name="Days").get_by_text("1 late")).to_be_visible()
    for _ in range(3):  # a second reading would begin with the first board, and end before these
        page.wait_for_event("response", lambda answer: "/board" in answer.url)
    # A reminder that falls due meanwhile is a new board, and what was read may be another by then.
    again = {url for url in asked if asked.count(url) > len(boards) and "/board" not in url}
    assert again == set()


def _is_new_board(had) -> bool:
    return "/board" in had.url and had.status == 200


def test_a_wrong_turn_leads_back_to_the_board(visit):
    page = visit("/nowhere/at/all", "dov", PHONE)
    expect(page.get_by_role("heading", level=1)).to_have_text("There is no such thing")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_role("link", name="To the board").click()
    expect(page.get_by_role("heading", name="Going out")).to_be_visible()


@pytest.mark.parametrize(
    ("login", "places"),
    [("dov", ["Now", "Days", "Scan", "Bookings"]), ("tobin", ["Now", "Ask", "Scan", "Mine"])],
)
def test_who_does_not_ask_has_the_days_at_the_thumb(visit, login, places):
    page = visit("/", login, PHONE)
    expect(page.get_by_role("navigation", name="Places").get_by_role("link")).to_have_text(places)


def test_a_table_says_that_it_goes_on_only_while_it_is_wider_than_the_page(visit):
    page = visit("/days", "dov", PHONE)
    told = page.get_by_text("Later days stand to the right.")
    expect(told).to_be_visible()
    page.set_viewport_size(DESK)
    expect(told).to_be_hidden()
    page.set_viewport_size(PHONE)
    expect(told).to_be_visible()
    page.goto("/office/units")
    table = page.get_by_role("region", name="Shoot days of Main unit, as a table")
    expect(page.get_by_text("The table goes on to the right.")).to_be_visible()
    faded = "(node) => getComputedStyle(node).maskImage !== 'none'"
    assert table.evaluate(faded)
    table.evaluate("(node) => { node.scrollLeft = node.scrollWidth }")
    page.wait_for_function(
        "(node) => getComputedStyle(node).maskImage === 'none'", arg=table.element_handle()
    )


def test_days_are_chosen_with_the_arrow_keys_and_stand_in_the_address(visit):
    page = visit("/", "ines", DESK)
    page.get_by_role("group", name="Days").get_by_role("button").nth(2).focus()
    page.keyboard.press("ArrowRight")
    assert page.url.endswith("?from=2026-11-26")
    page.keyboard.press("Shift+ArrowRight")
    assert page.url.endswith("?from=2026-11-26&to=2026-11-27")
    chosen = page.locator(".strip [aria-pressed=true] .day-date")
    expect(chosen).to_have_text(["26", "27"])
    expect(page.locator(":focus .day-date")).to_have_text("27")
    page.get_by_role("link", name="Days", exact=True).focus()
    page.reload()
    expect(chosen).to_have_text(["26", "27"])


def link_for(page: Any, name: str, kind: str) -> str:
    """Makes a read-only link in the Office; `kind` is the label of the one that is wanted."""
    page.get_by_label("Name of the screen").fill(name)
    page.get_by_role("button", name="Make a link").click()
    expect(page.get_by_role("textbox", name=f"Link for {name}, shown once")).to_be_visible()
    link = page.get_by_role("textbox", name=kind).input_value()
    return "/" + link.split("/", 3)[3]


def test_a_wall_screen_shows_today_and_tomorrow_large_until_its_link_is_ended(visit):
    page = visit("/office/links", "ines", DESK)
    wall = visit(link_for(page, "truck", "Link for truck, shown once"), None, BIG)
    expect(wall.get_by_role("heading", level=1)).to_have_text("Wednesday 25 November")
    expect(wall.get_by_text("Main · 5 lines, 29 pieces")).to_be_visible()
    expect(wall.get_by_text("Thursday 26 November").first).to_be_visible()
    expect(wall.get_by_text("Splinter · 10 lines, 26 pieces")).to_be_visible()
    tops = "(nodes) => nodes.map((node) => node.getBoundingClientRect().bottom)"
    title, clock = wall.locator(".wall h1, .wall-clock").evaluate_all(tops)
    assert abs(title - clock) < 3, "the clock stands beside the day"
    size = "(node) => parseFloat(getComputedStyle(node).fontSize)"
    assert wall.get_by_role("heading", level=1).evaluate(size) >= 40
    assert wall.locator(".row small").first.evaluate(size) >= 24
    page.get_by_role("button", name="End: truck").click()
    expect(wall.get_by_text("This link no longer opens.")).to_be_visible()


def test_a_wall_screen_does_not_call_a_service_that_is_down_no_signal(visit):
    page = visit("/office/links", "ines", DESK)
    wall = visit(link_for(page, "house", "Link for house, shown once"), None, BIG)
    expect(wall.get_by_text("Going out")).to_be_visible()
    wall.clock.install()
    wall.reload()
    expect(wall.get_by_text("Going out")).to_be_visible()
    wall.route("**/api/v1/**", lambda route: route.abort("internetdisconnected"))
    wall.clock.fast_forward(70_000)
    expect(wall.locator(".wall-clock")).to_have_text(re.compile(r"^no answer · as of \d\d:\d\d$"))
    page.get_by_role("button", name="End: house").click()
    expect(page.get_by_role("button", name="End: house")).to_have_count(0)


def test_a_read_only_link_opens_days_without_an_account_and_ends_with_it(visit):
    page = visit("/office/links", "ines", DESK)
    reader = visit(link_for(page, "post", "The same for a laptop: Days"), None, DESK)
    expect(reader.get_by_role("heading", name="Free, day by day")).to_be_visible()
    expect(reader.get_by_role("link", name="Long arm", exact=True)).to_be_visible()
    expect(reader.get_by_role("navigation", name="Places").get_by_role("link")).to_have_text(
        ["Now", "Days"]
    )
    reader.get_by_role("link", name="Now", exact=True).click()
    expect(reader.get_by_role("heading", name="Going out")).to_be_visible()
    expect(reader.get_by_role("button", name="Seen")).to_have_count(0)
    page.get_by_role("button", name="End: post").click()
    expect(reader.get_by_role("heading", level=1)).to_have_text("Sign in")


def test_nine_days_fit_a_desk_and_the_chosen_day_is_seen_on_a_phone(visit, service):
    page = visit("/days", "dov", DESK)
    expect(page.get_by_role("link", name="Long arm", exact=True)).to_be_visible()
    wide = "(node) => node.scrollWidth - node.clientWidth"
    assert page.locator(".scroll-days").evaluate(wide) <= 1
    expect(page.get_by_text("Later days stand to the right.")).to_be_hidden()
    kit = kit_called(service.caller("ines"), "Long arm")
    phone = visit(f"/kit/{kit}?from=2026-11-29", "tobin", PHONE)
    chosen = phone.locator(".cell-chosen")
    expect(chosen).to_be_visible()
    box, head = chosen.bounding_box(), phone.locator(".free-days th").first.bounding_box()
    assert head["x"] + head["width"] <= box["x"] + 1
    assert box["x"] + box["width"] <= PHONE["width"]


def test_days_are_printed_across_the_sheet_with_their_age(visit):
    page = visit("/days", "dov", DESK)
    expect(page.get_by_role("link", name="Long arm", exact=True)).to_be_visible()
    page.emulate_media(media="print")
    expect(page.get_by_text("As of Wednesday 25 November, 14:")).to_be_visible()
    paper = page.pdf(prefer_css_page_size=True)
    _, _, width, height = re.search(rb"MediaBox \[([^\]]+)\]", paper)[1].split()
    assert float(width) > float(height)


def test_the_houses_people_see_all_bookings_and_sign_out_without_scrolling(visit):
    page = visit("/mine", "ines", DESK)
    expect(page.get_by_role("heading", level=1)).to_have_text("Bookings of all units")
    rows = page.get_by_role("region", name="Bookings").get_by_role("listitem")
    expect(rows.first).to_have_text("Now")
    expect(rows.nth(1)).to_contain_text("Main · radios, the whole shoot")
    for name in ("Sign out", "Wall screens and tokens"):
        shown = page.get_by_role("button", name=name).or_(page.get_by_role("link", name=name))
        expect(shown).to_be_in_viewport()
    page.get_by_role("combobox", name="Unit").select_option("Second")
    expect(page.get_by_role("heading", level=1)).to_have_text("Second unit")
