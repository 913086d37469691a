"""Coming in and going out: the demo's people, a password, a one-time link, a link kept for later."""

from playwright.sync_api import expect

from crossload.usecases.passwords import LEAST
from guests import DESK, PHONE


def test_the_demo_people_come_in_with_one_press_and_go_out_again(visit):
    phone = visit("/", None, PHONE)
    expect(phone.get_by_role("heading", level=1)).to_have_text("Sign in")
    phone.get_by_role("button", name="Tobin Askerigg · mixer · Second").click()
    expect(phone.get_by_role("heading", name="Going out")).to_be_visible()
    expect(phone.locator("#whose")).to_contain_text("Second unit")
    phone.get_by_role("link", name="Mine").click()
    phone.get_by_role("button", name="Sign out").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Sign in")
    phone.goto("/mine")
    expect(phone.get_by_role("heading", level=1)).to_have_text("Sign in")


def test_a_link_followed_before_signing_in_is_where_one_lands(visit):
    page = visit("/scan?mode=look", None, DESK)
    page.get_by_role("button", name="Hale Quennel").click()
    expect(page.get_by_label("Tag, barcode or radio number")).to_be_focused()
    assert page.url.endswith("/scan?mode=look")


def test_a_wrong_password_is_refused_in_words_and_an_empty_one_at_its_field(visit):
    page = visit("/sign-in", None, DESK)
    page.get_by_label("Sign-in name").fill("tobin")
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("alert")).to_have_text("Give your password.")
    expect(page.get_by_label("Password")).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Password")).to_be_focused()
    page.get_by_label("Password").fill("not this one")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("password")
    assert page.url.endswith("/sign-in")


def test_a_session_that_has_ended_asks_to_sign_in_and_leads_back(visit):
    page = visit("/mine", "wyn", DESK)
    expect(page.get_by_role("heading", level=1)).to_have_text("Second unit")
    page.context.clear_cookies()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
    page.get_by_role("button", name="Wyn Tarrock").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Second unit")


def test_a_one_time_link_makes_an_account_once(visit, service):
    made = service.caller("ines").post("/invitations", {"role": "coordinator"})
    link = "/welcome" + made["url"].split("/welcome")[1]
    page = visit(link, None, DESK)
    page.get_by_label("Your name").fill("Edda Thornway")
    page.get_by_label("Sign-in name").fill("edda")
    page.get_by_label("Password").fill("short")
    page.get_by_role("button", name="Make the account").click()
    expect(page.get_by_text(f"{LEAST} characters or more")).to_be_visible()
    expect(page.get_by_role("alert")).to_contain_text(f"password has {LEAST} characters at least")
    page.get_by_label("Password").fill("nine herons wade")
    page.get_by_role("button", name="Make the account").click()
    expect(page.locator("#account")).to_have_text("Edda Thornway, coordinator")
    again = visit(link, None, DESK)
    again.get_by_label("Your name").fill("Somebody Else")
    again.get_by_label("Sign-in name").fill("else")
    again.get_by_label("Password").fill("nine herons wade")
    again.get_by_role("button", name="Make the account").click()
    expect(again.get_by_role("alert")).not_to_be_empty()
    assert "/welcome" in again.url
