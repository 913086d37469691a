"""The Office: lists looked at and brought in, kit out of service, days, people, what others may see."""

import re
from typing import Any

import pytest
from playwright.sync_api import expect

from guests import DESK, PHONE
from program import running
from services import free_port

BAD = "Kit type,Category,Tag\nReel of line,line,RL01\nReel of line,,RL02\nReel of line,,rl01\n"
GOOD = "Kit type,Category,Quantity,Shade\nReel of line,line,6,grey\nJaw clamp,clamp,31,\n"
WORDS = "nine herons wade"


def choose(page: Any, folder: Any, name: str, text: str) -> None:
    (folder / name).write_text(text)
    page.get_by_label("File", exact=True).set_input_files(folder / name)


def unit_called(caller: Any, name: str) -> str:
    return next(unit["id"] for unit in caller.get("/session")["units"] if unit["name"] == name)


def kit_called(caller: Any, name: str) -> dict[str, Any]:
    kits = caller.get("/kit-types?limit=500")["kit_types"]
    return next(kit for kit in kits if kit["name"] == name)


def day_of(caller: Any, unit: str, number: int) -> dict[str, Any]:
    days = caller.get(f"/shoot-days?unit={unit_called(caller, unit)}&limit=500")["shoot_days"]
    return next(day for day in days if day["number"] == number)


def test_a_list_with_a_bad_row_is_named_and_a_good_one_is_brought_in(visit, service, tmp_path):
    ines = service.caller("ines")
    page = visit("/", "ines", DESK)
    page.get_by_role("link", name="Office").click()
    page.get_by_role("link", name="Lists").click()
    page.get_by_role("button", name="Look first").click()
    expect(page.get_by_role("alert")).to_have_text("Choose a file.")
    choose(page, tmp_path, "bad.csv", BAD)
    page.get_by_role("button", name="Look first").click()
    expect(page.get_by_text("1 row cannot be brought in")).to_be_visible()
    row = page.get_by_role("region", name="Rows to mend").get_by_role("row").nth(1)
    expect(row).to_contain_text(re.compile("^4Tag"))
    expect(row).to_contain_text("the tag rl01 stands on row 2 already")
    expect(page.get_by_role("button", name="Bring it in")).to_have_count(0)

    choose(page, tmp_path, "good.csv", GOOD)
    expect(page.get_by_text("cannot be brought in")).to_have_count(0)
    page.get_by_role("button", name="Look first").click()
    expect(page.locator("#list-answer")).to_have_text("This would bring in 1 new and 1 changed.")
    expect(page.locator("#list-answer")).to_be_focused()
    page.locator("summary", has_text="Changed").click()
    expect(page.get_by_text("count: 30 → 31")).to_be_visible()
    assert "Reel of line" not in {kit["name"] for kit in all_kit(ines)}
    page.get_by_role("button", name="Bring it in").click()
    expect(page.locator("#list-answer")).to_have_text("Brought in: 1 new and 1 changed.")
    assert kit_called(ines, "Reel of line")["count"] == 6
    assert kit_called(ines, "Jaw clamp")["count"] == 31

    with page.expect_download() as taken:
        page.get_by_role("button", name="Kit list as CSV").click()
    assert taken.value.suggested_filename == "kit-list.csv"
    assert "Reel of line" in taken.value.path().read_text("utf-8-sig")


def all_kit(caller: Any) -> list[dict[str, Any]]:
    return caller.get("/kit-types?limit=500")["kit_types"]


def test_what_changed_since_the_look_is_found_and_nothing_is_brought_in(visit, service, tmp_path):
    """Between the look and the press somebody gives another piece a tag that the list wants."""
    ines = service.caller("ines")
    page = visit("/office/lists", "ines", DESK)
    choose(page, tmp_path, "arms.csv", "Kit type,Category,Tag,Box no\nFloor arm,arm,FA01,1\n")
    page.get_by_role("button", name="Look first").click()
    expect(page.locator("#list-answer")).to_contain_text("2 new")
    arm = kit_called(ines, "Long arm")["id"]
    ines.post("/items", {"kit_type_id": arm, "tag": "FA01"})
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_role("alert")).to_contain_text("Nothing was brought in.")
    expect(page.get_by_role("region", name="Rows to mend")).to_contain_text("Long arm")
    assert "Floor arm" not in {kit["name"] for kit in all_kit(ines)}


def test_kit_out_of_service_endangers_a_booking_on_the_board_until_it_is_back(visit, service):
    kit = kit_called(service.caller("ines"), "Jaw clamp")
    board = visit("/", "ines", DESK)
    at_risk = board.locator(".decision").filter(has_text="Second lacks 4 × Jaw clamp")
    expect(board.get_by_role("heading", name=re.compile("^To decide"))).to_be_visible()
    expect(at_risk).to_have_count(0)
    page = visit(f"/kit/{kit['id']}", "ines", PHONE)
    page.get_by_role("button", name="Take out of service").click()
    expect(page.get_by_label("How many")).to_be_focused()
    page.get_by_label("How many").fill("400")
    page.get_by_role("button", name="Take it out").click()
    expect(page.get_by_label("How many")).to_have_attribute("aria-invalid", "true")
    page.get_by_label("How many").fill(str(kit["capacity"] - 6))
    page.get_by_label("What is wrong, or why").fill("jaws bent")
    page.get_by_role("button", name="Take it out").click()
    expect(page.get_by_role("main").get_by_text("It puts 1 booking at risk:")).to_be_visible()
    expect(page.locator("#service-told")).to_be_focused()
    expect(page.get_by_role("link", name=re.compile("Second lacks 4 × Jaw clamp"))).to_be_visible()
    expect(at_risk.first).to_be_visible()
    page.get_by_role("button", name=re.compile("^End it now")).click()
    expect(page.get_by_role("main").get_by_text("is back in service.")).to_be_visible()
    expect(at_risk).to_have_count(0)


def test_one_piece_is_taken_out_until_a_day_from_the_list_of_pieces(visit, service):
    kit = kit_called(service.caller("ines"), "Listening receiver")
    page = visit(f"/kit/{kit['id']}", "hale", DESK)
    page.locator("summary", has_text="The pieces").click()
    page.get_by_role("button", name="Take out of service: ER18").click()
    page.get_by_label("Until, day").fill("2026-11-24")
    page.get_by_label("Until, time").fill("10:00")
    page.get_by_role("button", name="Take it out").click()
    expect(page.get_by_text("The end is not after the start")).to_be_visible()
    expect(page.get_by_label("Until, day")).to_be_focused()
    page.get_by_label("Until, day").fill("2026-11-28")
    page.get_by_label("Condition").select_option("suspect")
    page.get_by_role("button", name="Take it out").click()
    window = page.get_by_role("region", name="Out of service").get_by_role("listitem")
    expect(window.filter(has_text="ER18")).to_contain_text("to Sat 10:00")
    page.get_by_role("button", name="Change: ER18").click()
    page.get_by_label("Until, day").fill("")
    page.get_by_label("Until, time").fill("")
    page.get_by_role("button", name="Change", exact=True).click()
    expect(window.filter(has_text="ER18")).to_contain_text("until further notice")
    page.get_by_role("button", name="End it now: ER18").click()
    expect(window.filter(has_text="ER18")).to_have_count(0)


def test_a_changed_shoot_day_changes_the_window_that_its_unit_asks_for(visit, service):
    page = visit("/office/units", "ines", DESK)
    phone = visit("/ask", "tobin", PHONE)
    expect(phone.get_by_text("from your call to wrap, Thu 07:30 to 19:00")).to_be_visible()
    page.get_by_role("combobox", name="Unit").select_option("Second")
    page.get_by_role("button", name="Change D9").click()
    expect(page.get_by_label("Day number")).to_be_focused()
    page.get_by_label("Call, time").fill("06:15")
    page.get_by_role("button", name="Change D10").click()  # another day meanwhile, and back
    expect(page.get_by_label("Call, time")).to_have_value("07:00")
    page.get_by_role("link", name="Lists").click()
    page.get_by_role("link", name="Units and days").click()
    page.get_by_role("button", name="Change D9").click()
    expect(page.get_by_label("Call, time")).to_have_value("06:15")
    page.get_by_label("Wrap, time").fill("05:00")
    page.get_by_role("button", name="Change the day").click()
    expect(page.get_by_text("The wrap is not after the call")).to_be_visible()
    expect(page.get_by_label("Wrap, day")).to_be_focused()
    expect(page.get_by_label("Call, time")).to_have_value("06:15")
    page.get_by_label("Wrap, time").fill("18:30")
    page.keyboard.press("Enter")
    expect(page.get_by_role("row").filter(has_text="D9")).to_contain_text("06:1518:30")
    expect(page.get_by_role("button", name="Change D9")).to_be_focused()
    phone.reload()
    expect(phone.get_by_text("from your call to wrap, Thu 06:15 to 18:30")).to_be_visible()


def test_a_day_that_somebody_else_changed_says_who_and_keeps_what_was_typed(visit, service):
    ines = service.caller("ines")
    page = visit("/office/units", "maud", PHONE)
    page.get_by_role("button", name="Change D10").click()
    page.get_by_label("Location").fill("Boathouse")
    page.get_by_label("Notes").fill("two boats")
    day = day_of(ines, "Main", 10)
    ines.call(
        "PATCH",
        f"/shoot-days/{day['id']}",
        {"location": "Chapel", "radios": 3},
        f'"{day["version"]}"',
    )
    page.get_by_role("button", name="Change the day").click()
    told = page.get_by_role("alert")
    expect(told).to_contain_text("Ines Corvane changed it meanwhile")
    expect(told).to_contain_text("location and radios")
    expect(page.get_by_text("Now it is Chapel; yours stands in the field.")).to_be_visible()
    expect(page.get_by_label("Location")).to_have_value("Boathouse")
    expect(page.get_by_label("Radios in use")).to_have_value("3")
    page.get_by_role("button", name="Change the day").click()
    expect(page.get_by_role("main").get_by_text("D10 · Fri 27 is noted.")).to_be_visible()
    after = day_of(ines, "Main", 10)
    assert (after["location"], after["radios"], after["notes"]) == ("Boathouse", 3, "two boats")


def test_a_form_without_signal_keeps_what_was_typed_and_makes_one_thing(visit, service):
    page = visit("/office/people", "ines", DESK)
    page.get_by_role("button", name="Add a person").click()
    page.get_by_label("Name", exact=True).fill("Edda Thornway")
    page.get_by_label("Job").fill("cable person")
    # The first sending arrives, and its answer does not.
    page.route("**/api/v1/people", _swallow, times=1)
    page.get_by_role("button", name="Add", exact=True).click()
    person = page.get_by_role("form", name="Add a person")
    expect(person.get_by_role("alert")).to_contain_text("does not answer")
    expect(page.get_by_label("Name", exact=True)).to_have_value("Edda Thornway")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_role("main").get_by_text("Edda Thornway is noted.")).to_be_visible()
    people = service.caller("ines").get("/people?limit=500")["people"]
    assert [one["name"] for one in people].count("Edda Thornway") == 1


def _swallow(route: Any) -> None:
    route.fetch()
    route.abort("internetdisconnected")


def test_an_invitation_becomes_an_account_that_signs_in(visit, service):
    page = visit("/office/people", "ines", DESK)
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_label("Whom it is for")).to_be_focused()
    expect(page.get_by_text("Give whom it is for.")).to_be_visible()
    page.get_by_label("Whom it is for").fill("Orla Fenwick")
    page.get_by_role("checkbox", name="Second").check()
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_label("Link for Orla Fenwick, shown once")).to_be_focused()
    expect(page.get_by_label("Whom it is for")).to_have_value("")
    expect(page.get_by_role("checkbox", name="Second")).not_to_be_checked()
    link = page.get_by_label("Link for Orla Fenwick, shown once").input_value()
    invited = page.get_by_role("region", name="Invite somebody").get_by_role("listitem")
    expect(invited).to_contain_text("mixer · Second")

    phone = visit("/welcome" + link.split("/welcome")[1], None, PHONE)
    phone.get_by_label("Your name").fill("Orla Fenwick")
    phone.get_by_label("Sign-in name").fill("orla")
    phone.get_by_label("Password").fill("short")
    phone.get_by_role("button", name="Make the account").click()
    expect(phone.get_by_role("alert")).to_contain_text("15 characters at least")
    expect(phone.get_by_label("Password")).to_be_focused()
    expect(phone.get_by_label("Password")).to_have_attribute("aria-invalid", "true")
    phone.get_by_label("Password").fill(WORDS)
    phone.keyboard.press("Enter")
    expect(phone.locator("#whose")).to_contain_text("Second unit")
    phone.locator(".places a[href='/mine']").click()
    phone.get_by_role("button", name="Sign out").click()
    phone.get_by_label("Sign-in name").fill("orla")
    phone.get_by_label("Password").fill(WORDS)
    phone.get_by_role("button", name="Sign in", exact=True).click()
    expect(phone.get_by_role("heading", name="Going out")).to_be_visible()

    page.reload()
    expect(invited).to_have_count(0)
    page.get_by_role("region", name="Who may sign in").get_by_role(
        "button", name="Change Orla Fenwick"
    ).click()
    page.get_by_role("button", name="Sign out everywhere").click()
    expect(
        page.get_by_role("main").get_by_text("Orla Fenwick is signed out everywhere")
    ).to_be_visible()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Sign in")


def test_an_invitation_is_taken_back(visit):
    page = visit("/office/people", "ines", DESK)
    page.get_by_label("Whom it is for").fill("Nobody Yet")
    page.get_by_role("button", name="Make the link").click()
    link = page.get_by_label("Link for Nobody Yet, shown once").input_value()
    page.get_by_role("button", name="Take back: Nobody Yet").click()
    expect(page.get_by_role("button", name="Take back: Nobody Yet")).to_have_count(0)
    other = visit("/welcome" + link.split("/welcome")[1], None, PHONE)
    other.get_by_label("Sign-in name").fill("yet")
    other.get_by_label("Your name").fill("Nobody Yet")
    other.get_by_label("Password").fill(WORDS)
    other.keyboard.press("Enter")
    expect(other.get_by_role("alert")).to_contain_text("ask for a new one")


def test_a_token_is_shown_once_copied_and_ended(visit, service):
    page = visit("/office/links", "ines", DESK)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.get_by_label("What it is for").fill("the cart")
    page.get_by_role("button", name="Make a token").click()
    secret = page.get_by_label("Token for the cart, shown once").input_value()
    page.get_by_role("button", name="Copy").click()
    expect(page.locator("#spoken")).to_have_text("Copied.")
    assert page.evaluate("navigator.clipboard.readText()") == secret
    held = {"Authorization": f"Bearer {secret}"}
    asked = page.context.request.get("/api/v1/session", headers=held)
    assert asked.status == 200
    page.reload()
    expect(page.get_by_text("the cart")).to_be_visible()
    expect(page.get_by_label("Token for the cart, shown once")).to_have_count(0)
    page.get_by_role("button", name="End: the cart").click()
    expect(page.get_by_text("No token is in force.")).to_be_visible()
    assert page.context.request.get("/api/v1/session", headers=held).status == 401


def test_everybody_sees_only_what_is_theirs_to_do(visit):
    mixer = visit("/office", "tobin", PHONE)
    expect(mixer.get_by_role("heading", name="Shoot days of Second unit")).to_be_visible()
    expect(mixer.get_by_role("button", name="Change D9")).to_be_visible()
    expect(mixer.get_by_role("button", name="Add a unit")).to_have_count(0)
    mixer.get_by_role("combobox", name="Unit").select_option("Main")
    expect(mixer.get_by_role("heading", name="Shoot days of Main unit")).to_be_visible()
    expect(mixer.get_by_role("button", name="Add a day")).to_have_count(0)
    supervisor = visit("/office/lists", "dov", DESK)
    expect(supervisor.get_by_role("button", name="Kit list as XLSX")).to_be_visible()
    expect(supervisor.get_by_role("button", name="Look first")).to_have_count(0)
    supervisor.get_by_role("link", name="People").click()
    expect(supervisor.get_by_role("region", name="People", exact=True)).to_contain_text(
        "Hale Quennel"
    )
    expect(supervisor.get_by_role("button", name="Make the link")).to_have_count(0)


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """A pool with nothing in it, and the link for its first coordinator."""
    folder = tmp_path_factory.mktemp("empty")
    port = str(free_port())
    with running("serve", "--empty", "--port", port, "--data", folder, cwd=folder) as process:
        link = next(line for line in process.stdout if "coordinator" in line).split()[-1]
        yield link


def test_an_empty_pool_says_the_next_steps_and_they_lead_there(browser, empty, tmp_path):
    context = browser.new_context(viewport=PHONE, base_url=empty.split("/welcome")[0])
    context.set_default_timeout(10_000)
    try:
        page = context.new_page()
        page.goto("/welcome" + empty.split("/welcome")[1])
        page.get_by_label("Your name").fill("Edda Thornway")
        page.get_by_label("Sign-in name").fill("edda")
        page.get_by_label("Password").fill(WORDS)
        page.keyboard.press("Enter")
        steps = page.get_by_role("region", name="Next steps").get_by_role("listitem")
        expect(steps).to_have_count(4)
        steps.get_by_role("link", name="Bring in your kit list").click()
        choose(page, tmp_path, "good.csv", GOOD)
        page.get_by_role("button", name="Look first").click()
        page.get_by_role("button", name="Bring it in").click()
        expect(page.locator("#list-answer")).to_have_text("Brought in: 2 new.")
        page.get_by_role("link", name="Now", exact=True).click()
        expect(steps.first).to_contain_text("done")
        steps.get_by_role("link", name="Add your units").click()
        page.get_by_role("button", name="Add a production").click()
        page.get_by_label("Name", exact=True).fill("Low Tide")
        page.keyboard.press("Enter")
        page.get_by_role("button", name="Add a unit").click()
        page.get_by_label("Name", exact=True).fill("Main")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name="Shoot days of Main unit")).to_be_visible()
        page.get_by_role("button", name="Add a day").click()
        expect(page.get_by_label("Day number")).to_have_value("1")
        page.get_by_role("button", name="Add the day").click()
        expect(page.get_by_role("button", name="Change D1")).to_be_visible()
        page.get_by_role("link", name="Ask", exact=True).click()
        expect(page.get_by_role("heading", name="Ask")).to_be_visible()
    finally:
        context.close()
