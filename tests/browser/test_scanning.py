"""The assistant's field: out and back by tag or number, in order, with the hands never leaving it."""

import re

from playwright.sync_api import expect

from guests import DESK, PHONE

FIELD = "Tag, barcode or radio number"


def enter(page, *codes: str) -> None:
    """As a reader types: the code, then Enter, then the next one at once."""
    expect(page.get_by_label(FIELD)).to_be_focused()
    for code in codes:
        page.keyboard.type(code)
        page.keyboard.press("Enter")


def newest(page):
    return page.get_by_role("list", name="Scanned, newest first").get_by_role("listitem").first


def test_kit_goes_out_and_comes_back_and_the_board_knows(visit, service):
    hale = visit("/scan", "hale", PHONE)
    board = visit("/", "ines", DESK)
    market = board.get_by_role("listitem").filter(has_text="market crowd")
    expect(market.locator(".frame")).to_have_text("prepare")
    hale.get_by_label("Hand out").check()
    hale.get_by_role("combobox", name="To").select_option(label="Main · market crowd · 15:30")
    expect(hale.get_by_label(FIELD)).to_be_focused()
    enter(hale, "PL15")
    expect(newest(hale)).to_contain_text("PL15 Pack, 470 to 548 MHz, out to Main")
    expect(hale.get_by_label(FIELD)).to_be_focused()
    expect(market.locator(".frame")).to_have_text("part out")
    custody = service.caller("ines").get("/custody")["custody"]
    assert [one["unit"] for one in custody if one["tag"] == "PL15"] == ["Main"]

    hale.get_by_label("Take back").check()
    enter(hale, "PL15")
    expect(newest(hale)).to_contain_text("PL15 Pack, 470 to 548 MHz, back, fit")
    expect(hale.get_by_label(FIELD)).to_be_focused()
    custody = service.caller("ines").get("/custody")["custody"]
    assert [one for one in custody if one["tag"] == "PL15"] == []


def test_a_piece_comes_back_damaged_with_a_word_on_what_is_wrong(visit):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    wyn.get_by_label("damaged").check()
    wyn.get_by_label("What is wrong with it").fill("aerial socket loose")
    wyn.get_by_label(FIELD).focus()
    enter(wyn, "ER15")
    expect(newest(wyn)).to_contain_text("ER15 Listening receiver, back, damaged")
    wyn.get_by_label("Look up").check()
    enter(wyn, "ER15")
    expect(newest(wyn).locator(".frame")).to_have_text("out of service")


def test_fast_scans_are_done_in_the_order_they_were_made(visit):
    wyn = visit("/scan?mode=look", "wyn", PHONE)
    codes = ["ER11", "ER12", "ER13", "ER14", "BS04"]
    enter(wyn, *codes)
    rows = wyn.get_by_role("list", name="Scanned, newest first").locator("li")
    expect(rows).to_have_text([re.compile(f"^{code}") for code in reversed(codes)])
    expect(wyn.get_by_label(FIELD)).to_be_empty()


def test_a_mistyped_tag_is_refused_by_name(visit):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    enter(wyn, "PL11X")
    expect(newest(wyn)).to_contain_text("PL11")
    expect(newest(wyn).locator(".frame")).to_have_text("not known")
    expect(wyn.get_by_label(FIELD)).to_be_focused()


def test_counted_kit_asks_how_many(visit, service):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    enter(wyn, "Pouch, small")
    wyn.get_by_label("How many: Pouch, small").fill("2")
    wyn.keyboard.press("Enter")
    expect(newest(wyn)).to_contain_text("2 × Pouch, small, back, fit")
    expect(wyn.get_by_label(FIELD)).to_be_focused()


def test_without_signal_a_scan_is_kept_and_not_called_recorded(visit):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    expect(wyn.get_by_label(FIELD)).to_be_focused()
    wyn.context.set_offline(True)
    enter(wyn, "ER12")
    expect(newest(wyn)).to_contain_text("ER12: not recorded, no signal. It waits on this phone.")
    wyn.context.set_offline(False)
    expect(wyn.get_by_text("1 thing waits on this phone, not sent yet.")).to_be_visible()
