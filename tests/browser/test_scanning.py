"""The assistant's field: out and back by tag or number, in order, with the hands never leaving it."""

import re

from playwright.sync_api import expect

from guests import DESK, PHONE

FIELD = "Tag, barcode or radio number"
ADHESIVE = "Adhesive on skin"
BARCODES = """
globalThis.BarcodeDetector = class {
  static async getSupportedFormats() { return ["qr_code"]; }
  async detect() { return globalThis.inView ? [{ rawValue: globalThis.inView }] : []; }
};
navigator.mediaDevices.getUserMedia = async () => {
  const canvas = document.createElement("canvas");
  const brush = canvas.getContext("2d");
  setInterval(() => brush.fillRect(0, 0, Math.random() * 100, 9), 50);
  globalThis.stream = canvas.captureStream(20);
  return globalThis.stream;
};
"""
"""A browser that reads barcodes and a camera that sees what the test holds up: Chromium has neither
where these tests run."""


def enter(page, *codes: str) -> None:
    """As a reader types: the code, then Enter, then the next one at once."""
    expect(page.get_by_label(FIELD)).to_be_focused()
    for code in codes:
        page.keyboard.type(code)
        page.keyboard.press("Enter")


def newest(page):
    return page.get_by_role("list", name="Scanned, newest first").get_by_role("listitem").first


def choose(page, label: str) -> None:
    page.get_by_label(label, exact=True).check()


def undo(page) -> None:
    newest(page).get_by_role("button", name="Undo").click()
    expect(newest(page).locator(".frame")).to_have_text("undone")


def hand_out_to(page, label: str) -> None:
    choose(page, "Hand out")
    page.get_by_role("combobox", name="To").select_option(label=label)


def out_now(service, tag: str) -> list[str]:
    """The units that have a piece out: one, or none."""
    custody = service.caller("ines").get("/custody")["custody"]
    return [one["unit"] for one in custody if one["tag"] == tag]


def booking_of(service, purpose: str) -> dict:
    bookings = service.caller("ines").get("/bookings")["bookings"]
    return next(one for one in bookings if one["purpose"] == purpose)


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
    choose(wyn, "damaged")
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
    wyn.get_by_role("textbox", name="How many: Pouch, small").fill("2")
    wyn.keyboard.press("Enter")
    expect(newest(wyn)).to_contain_text("2 × Pouch, small, back, fit")
    expect(wyn.get_by_label(FIELD)).to_be_focused()
    undo(wyn)


def test_without_signal_a_scan_is_kept_and_not_called_recorded(visit):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    expect(wyn.get_by_label(FIELD)).to_be_focused()
    wyn.context.set_offline(True)
    enter(wyn, "ER12")
    expect(newest(wyn)).to_contain_text("ER12: not recorded, no signal. It waits on this phone.")
    wyn.context.set_offline(False)
    expect(wyn.get_by_text("1 thing waits on this phone, not sent yet.")).to_be_visible()


def test_the_condition_is_for_one_scan_and_the_next_is_fit_again(visit, service):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    choose(wyn, "suspect")
    wyn.get_by_label(FIELD).focus()
    enter(wyn, "TC06")
    expect(newest(wyn)).to_contain_text("TC06 Timecode box, back, suspect")
    expect(wyn.get_by_label("fit", exact=True)).to_be_checked()
    undo(wyn)
    assert out_now(service, "TC06") == ["Second"]
    assert service.caller("ines").get("/scan/TC06")["condition"] == "fit"
    enter(wyn, "TC07")
    expect(newest(wyn)).to_contain_text("TC07 Timecode box, back, fit")
    undo(wyn)


def test_a_piece_scanned_back_twice_is_back_once_and_says_since_when(visit, service):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    enter(wyn, "QB07", "QB07")
    rows = wyn.get_by_role("list", name="Scanned, newest first").get_by_role("listitem")
    expect(rows).to_have_count(2)
    expect(rows.first).to_contain_text(re.compile(r"QB07 Block, 98 Wh, back already, at 14:\d\d"))
    rows.last.get_by_role("button", name="Undo").click()
    expect(newest(wyn).locator(".frame")).to_have_text("undone")
    assert out_now(service, "QB07") == ["Second"]


def test_a_piece_of_another_unit_says_whose_it_was(visit):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    enter(wyn, "QB08")
    expect(newest(wyn)).not_to_contain_text("had it")
    undo(wyn)
    enter(wyn, "QB01")
    expect(newest(wyn)).to_contain_text("Main had it.")
    undo(wyn)


def test_what_was_handed_out_by_mistake_counts_for_nothing_once_it_is_undone(visit, service):
    hale = visit("/scan?mode=out", "hale", PHONE)
    hand_out_to(hale, "Main · market crowd · 15:30")
    stands = f"/bookings/{booking_of(service, 'market crowd')['id']}/standing"
    before = service.caller("ines").get(stands)
    enter(hale, "PL17")
    expect(newest(hale)).to_contain_text("PL17 Pack, 470 to 548 MHz, out to Main")
    undo(hale)
    assert out_now(service, "PL17") == []
    after = booking_of(service, "market crowd")
    assert all("PL17" not in line["tags"] for line in after["lines"])
    assert service.caller("ines").get(stands) == before


def test_a_piece_back_damaged_names_the_bookings_it_endangers(visit):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    choose(wyn, "damaged")
    wyn.get_by_label(FIELD).focus()
    enter(wyn, "LA02")
    endangered = newest(wyn).get_by_role("link", name=re.compile("^Now short: Second lacks 1, "))
    expect(endangered).to_have_text(["Now short: Second lacks 1, Fri 07:00."])
    undo(wyn)


def test_tags_are_known_however_they_are_spaced(visit):
    wyn = visit("/scan?mode=look", "wyn", PHONE)
    enter(wyn, "pl 12", "PL-12", "pl12")
    rows = wyn.get_by_role("list", name="Scanned, newest first").locator("li")
    expect(rows).to_have_text([re.compile("^PL12 Pack")] * 3)


def test_a_running_booking_of_ones_own_can_be_handed_out_on(visit):
    wyn = visit("/scan?mode=out", "wyn", PHONE)
    where = wyn.get_by_role("combobox", name="To")
    expect(where.locator("option:checked")).to_have_text(
        "Second · the crossing, radios · until Fri 20:00"
    )
    groups = where.locator("optgroup")
    expect(groups.first).to_have_attribute("label", "Second unit")
    expect(where.get_by_role("option", name="Main · market crowd · 15:30")).to_be_attached()


def test_the_house_says_first_where_kit_goes(visit, service):
    hale = visit("/scan?mode=out", "hale", PHONE)
    enter(hale, "PL18")
    expect(newest(hale)).to_contain_text("PL18: choose first where it goes.")
    assert out_now(service, "PL18") == []


def test_a_booking_come_from_is_called_by_its_name(visit, service):
    booking = booking_of(service, "marsh road")
    wyn = visit(f"/scan?mode=out&booking={booking['id']}", "wyn", PHONE)
    where = wyn.get_by_role("combobox", name="To")
    expect(where.locator("option:checked")).to_contain_text("Second · marsh road · Wed 2 Dec 11:00")


def test_a_caution_is_said_when_kit_goes_out_and_once(visit):
    hale = visit("/scan?mode=out", "hale", PHONE)
    hand_out_to(hale, "Main · market crowd · 15:30")
    enter(hale, "PL19")
    expect(newest(hale)).to_contain_text(ADHESIVE)
    undo(hale)
    enter(hale, "PL19")
    expect(newest(hale)).to_contain_text("PL19 Pack, 470 to 548 MHz, out to Main")
    expect(newest(hale)).not_to_contain_text(ADHESIVE)
    undo(hale)


def test_no_caution_for_the_skin_when_kit_comes_back(visit):
    wyn = visit("/scan?mode=back", "wyn", PHONE)
    enter(wyn, "PL11")
    expect(newest(wyn)).to_contain_text("PL11 Pack, 470 to 548 MHz, back, fit")
    expect(newest(wyn)).not_to_contain_text(ADHESIVE)
    undo(wyn)


def test_counted_kit_is_found_by_part_of_its_name_and_starts_with_what_has_to_go(visit, service):
    hale = visit("/scan?mode=out", "hale", PHONE)
    hand_out_to(hale, "Main · market crowd · 15:30")
    expect(hale.get_by_text("Still to go out")).to_be_visible()
    hale.get_by_label(FIELD).focus()
    enter(hale, "AA")
    number = hale.get_by_role("textbox", name="How many: AA, rechargeable")
    expect(number).to_have_value("18")
    hale.get_by_role("button", name="One fewer: AA, rechargeable").click()
    expect(number).to_have_value("17")
    newest(hale).get_by_role("button", name="Hand out").click()
    expect(newest(hale)).to_contain_text("17 × AA, rechargeable, out to Main")
    undo(hale)


def test_a_box_offers_no_more_than_the_booking_has_still_to_go(visit):
    hale = visit("/scan?mode=out", "hale", PHONE)
    hand_out_to(hale, "Main · market crowd · 15:30")
    hale.get_by_label(FIELD).focus()
    enter(hale, "Box 23")
    newest(hale).get_by_role("button", name="Hand out: 18 × AA, rechargeable").click()
    expect(newest(hale)).to_contain_text("18 × AA, rechargeable, out to Main")
    undo(hale)


def test_the_camera_scans_once_what_stays_in_view_and_stops_with_the_page(visit):
    wyn = visit("/scan?mode=look", "wyn", PHONE)
    expect(wyn.get_by_label(FIELD)).to_be_focused()
    expect(wyn.get_by_role("button", name="Camera")).to_have_count(0)
    wyn.context.add_init_script(BARCODES)
    wyn.reload()
    wyn.get_by_role("button", name="Camera").click()
    expect(wyn.get_by_label("What the camera sees")).to_be_visible()
    wyn.evaluate("inView = 'ER13'")
    expect(newest(wyn)).to_contain_text("ER13 Listening receiver")
    wyn.evaluate("inView = 'ER14'")
    expect(newest(wyn)).to_contain_text("ER14 Listening receiver")
    rows = wyn.get_by_role("list", name="Scanned, newest first").locator("li")
    expect(rows).to_have_count(2)
    wyn.get_by_role("link", name="Mine").click()
    expect(wyn.get_by_role("heading", level=1)).to_have_text("Second unit")
    states = wyn.evaluate("stream.getTracks().map((track) => track.readyState)")
    assert states == ["ended"]
