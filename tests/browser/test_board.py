"""The board: fresh by itself, honest about its age, reminders answered, decisions taken, the wall."""

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import expect

from guests import DESK, PHONE

POLLS = 3


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


def test_a_decision_says_why_it_cannot_be_confirmed_and_what_else_there_is(visit):
    page = visit("/", "ines", DESK)
    decision = page.locator(".decision").filter(has_text="Splinter pencilled 3 × Long arm")
    expect(decision).to_contain_text("Second has a pencil on 2")
    decision.get_by_role("button", name="Confirm 3").click()
    expect(decision.get_by_role("alert")).to_contain_text("Long arm")
    expect(decision.get_by_role("button").first).to_be_enabled()


def test_a_promise_is_noted_where_kit_is_late(visit):
    page = visit("/", "ines", DESK)
    decision = page.locator(".decision").filter(has_text="Long arm LA02")
    expect(decision.locator(".frame")).to_have_text("late 18 h")
    expect(decision.get_by_role("link", name="Call Joss")).to_have_attribute(
        "href", "tel:07700900111"
    )
    decision.get_by_role("button", name="They promise it for…").click()
    decision.locator("[name=day]").fill("2026-11-25")
    decision.locator("[name=time]").fill("21:00")
    decision.get_by_role("button", name="Note it").click()
    expect(page.get_by_role("region", name="Coming back").get_by_text("21:00")).to_be_visible()


def test_a_mixer_sees_only_what_they_can_decide(visit):
    page = visit("/", "tobin", PHONE)
    expect(page.get_by_role("region", name="Going out")).to_contain_text("Main")
    decisions = page.get_by_role("region", name=re.compile("^To decide"))
    expect(decisions).not_to_contain_text("Splinter pencilled")


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


def test_a_wall_screen_shows_today_large_until_its_link_is_ended(visit):
    page = visit("/mine", "ines", DESK)
    page.get_by_label("Name of the screen").fill("truck")
    page.get_by_role("button", name="Make a link").click()
    link = page.get_by_label("Link for truck, shown once").input_value()
    wall = visit("/wall" + link.split("/wall")[1], None, DESK)
    expect(wall.get_by_role("heading", level=1)).to_have_text("Wednesday 25 November")
    expect(wall.get_by_text("Main · 5 lines, 29 pieces")).to_be_visible()
    size = wall.get_by_role("heading", level=1).evaluate("(h) => getComputedStyle(h).fontSize")
    assert float(size.removesuffix("px")) >= 40
    page.get_by_role("button", name="End: truck").click()
    expect(wall.get_by_text("This link no longer opens.")).to_be_visible()
