"""Every page, for those who see it, by day and by night: read, reached and pressed by anybody.

The rules are WCAG 2.2, https://www.w3.org/TR/WCAG22/, and those that axe-core adds as good practice.
"""

import functools
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from guests import DESK, PHONE, Service, serving

MEASURES = (Path(__file__).parent / "measures.js").read_text("utf-8")
TARGET_PX = 44  # WCAG 2.2, 2.5.5 "Target Size (Enhanced)": a level above what we must
LINE_PX = 2  # and a contrast of 3: WCAG 2.2, 2.4.13 "Focus Appearance", likewise
NARROW = {"width": 360, "height": 740}
NARROWEST = {
    "width": 320,
    "height": 640,
}  # WCAG 2.2, 1.4.10 "Reflow": a desk at four times its size
PHONE_TWICE = {"width": PHONE["width"] // 2, "height": PHONE["height"] // 2}

# All of axe's rules run: these are the ones that it leaves out unless they are asked for.
ALL_RULES = {
    "rules": {
        name: {"enabled": True}
        for name in (
            "target-size",
            "label-content-name-mismatch",
            "p-as-heading",
            "table-fake-caption",
            "td-has-header",
            "css-orientation-lock",
            "focus-order-semantics",
        )
    }
}
# The other light at the same size changes colours alone, and these are the rules that look at them.
COLOUR_RULES = {"runOnly": ["color-contrast", "link-in-text-block"]}


@dataclass(frozen=True)
class Sight:
    """A page as somebody sees it: its address, who looks, and what they do until it stands."""

    name: str
    path: str
    login: str | None
    shown: Callable[[Any], None]


def heading(text: str) -> Callable[[Any], None]:
    return lambda page: expect(page.get_by_role("heading", name=text).first).to_be_visible()


def words(text: str) -> Callable[[Any], None]:
    return lambda page: expect(page.get_by_text(text).first).to_be_visible()


def button(text: str) -> Callable[[Any], None]:
    return lambda page: expect(page.get_by_role("button", name=text).first).to_be_visible()


def press(*texts: str) -> Callable[[Any], None]:
    """Presses one button after the other, each once it is there."""

    def pressed(page: Any) -> None:
        for text in texts:
            page.get_by_role("button", name=text, exact=True).first.click()

    return pressed


def steps(*all_steps: Callable[[Any], None]) -> Callable[[Any], None]:
    def taken(page: Any) -> None:
        for step in all_steps:
            step(page)

    return taken


def all_opened(page: Any) -> None:
    """What opens on a press is open."""
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")


def other_kit(page: Any) -> None:
    page.get_by_text("Other kit as well").click()
    page.get_by_label("Find kit by name").fill("long arm")
    page.get_by_role("button", name="Add Long arm").click()
    page.get_by_label("Find kit by name").fill("pole")
    expect(page.get_by_role("button", name="Add Boom pole").first).to_be_visible()


def booked(page: Any) -> None:
    page.locator(".thumb").get_by_role("button", name="Book 2 radios").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Yes. 2 radios, D9.")


def scanned(mode: str, *codes: str) -> Callable[[Any], None]:
    def entered(page: Any) -> None:
        page.get_by_label(mode).check()
        if mode == "Take back":
            page.get_by_label("damaged").check()
        for code in codes:
            page.get_by_label("Tag, barcode or radio number").fill(code)
            page.keyboard.press("Enter")
        rows = page.get_by_role("list", name="Scanned, newest first").get_by_role("listitem")
        expect(rows).to_have_count(len(codes))

    return entered


def wall_link(page: Any) -> None:
    page.get_by_label("Name of the screen").fill("truck")
    page.get_by_role("button", name="Make a link").click()
    expect(page.get_by_label("Link for truck, shown once")).to_be_visible()


def promising(page: Any) -> None:
    page.get_by_role("button", name="They promise it for…").click()
    page.get_by_role("button", name="Confirm 3").click()
    expect(page.locator(".decision").get_by_role("alert")).to_contain_text("Long arm")


def brought(page: Any) -> None:
    """A list with one bad row among good ones, looked at."""
    table = b"Kit type,Category,Quantity\nReel of line,line,6\nReel of cord,line,many\n"
    kept = {"name": "list.csv", "mimeType": "text/csv", "buffer": table}
    page.get_by_label("File", exact=True).set_input_files(kept)
    page.get_by_role("button", name="Look first").click()
    expect(page.get_by_text("1 row cannot be brought in")).to_be_visible()


def invited(page: Any) -> None:
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_text("Give whom it is for.")).to_be_visible()


REFUSED = words("2 short")
ASK = button("Book 2 radios")

SIGHTS = [
    Sight("sign-in", "/sign-in", None, steps(press("Sign in"), words("Give your"))),
    Sight("welcome", "{invitation}", None, heading("Welcome")),
    Sight("welcome without a link", "/welcome", None, words("The link is incomplete")),
    Sight("wall", "{wall}", None, heading("Wednesday 25 November")),
    Sight("wall without a link", "/wall", None, words("This screen has no link")),
    Sight("now, coordinator", "/", "ines", steps(heading("To decide · 4"), promising)),
    Sight("now, a quiet day", "/?from=2026-11-28", "ines", words("on other days")),
    Sight("now, mixer", "/", "tobin", heading("Going out")),
    Sight("now, assistant", "/", "hale", button("Seen")),
    Sight("now, supervisor", "/", "dov", heading("Going out")),
    # Scarce kit alone: each kind of figure is in it, and axe needs 4 s for the whole of the pool.
    Sight("days", "/days?scarce=1", "dov", words("short by 1")),
    Sight("days, no such kit", "/days?category=none", "ines", words("No kit fits that")),
    Sight("no such kit", "/kit/2222222222222", "dov", heading("There is no such thing")),
    Sight("ask, coordinator", "/ask", "ines", steps(ASK, all_opened)),
    Sight("ask, supervisor", "/ask", "dov", words("does not ask")),
    Sight("ask, other kit", "/ask", "tobin", steps(ASK, other_kit)),
    Sight("refusal", "/ask", "tobin", steps(ASK, press("6"), REFUSED, all_opened)),
    Sight("yes", "/ask", "tobin", steps(ASK, booked, all_opened)),
    Sight("booking", "/booking/{booking}", "ines", steps(button("Release all"), all_opened)),
    Sight("pencil", "/booking/{pencil}", "ines", steps(button("Confirm"), all_opened)),
    Sight("release", "/booking/{own}", "tobin", steps(press("Release all"), button("Keep it"))),
    Sight("mine, coordinator", "/mine", "ines", heading("Bookings")),
    Sight("mine, mixer", "/mine", "tobin", heading("Bookings")),
    Sight("mine, supervisor", "/mine", "dov", heading("Bookings")),
    Sight("office, units, supervisor", "/office/units", "dov", heading("Shoot days of")),
    Sight("office, links", "/office/links", "ines", wall_link),
    Sight("days of units", "/office", "ines", steps(button("Change D9"), press("Add a day"))),
    Sight("people", "/office/people", "ines", steps(button("Change Tobin"), invited)),
    Sight("lists", "/office/lists", "ines", steps(brought, all_opened)),
    Sight("out of service", "/kit/{kit}", "ines", steps(press("Take out of service"), all_opened)),
    Sight("scan", "/scan", "hale", scanned("Look up", "PL15", "ER15", "zzz")),
    Sight("scan out", "/scan", "hale", scanned("Hand out", "PL11")),
    Sight("scan back", "/scan", "hale", scanned("Take back", "Pouch, small")),
    Sight("scan, supervisor", "/scan", "dov", heading("Scan")),
]


@pytest.fixture(scope="module")
def service(tmp_path_factory) -> Iterator[Service]:
    """One whose pages seldom ask for news: they are looked at here, and time is short."""
    with serving(tmp_path_factory.mktemp("data"), poll_s=5) as address:
        yield Service(address)


@pytest.fixture(scope="module")
def addresses(service) -> dict[str, str]:
    """The parts of addresses that differ from one demo to the next."""
    ines = service.caller("ines")
    bookings = ines.get("/bookings?limit=200")["bookings"]
    kits = ines.get("/kit-types?limit=500")["kit_types"]

    def booking(unit: str, state: str) -> str:
        return next(one["id"] for one in bookings if (one["unit"], one["state"]) == (unit, state))

    def page(url: str) -> str:
        return re.sub("^https?://[^/]+", "", url)

    return {
        "kit": next(one["id"] for one in kits if one["name"] == "Pack, 470 to 548 MHz"),
        "booking": booking("Main", "confirmed"),
        "own": booking("Second", "confirmed"),
        "pencil": booking("Splinter", "pencilled"),
        "invitation": page(ines.post("/invitations", {"role": "supervisor"})["url"]),
        "wall": page(ines.post("/wall-links", {"name": "truck"})["url"]),
    }


@pytest.fixture(scope="module")
def phone_of(visiting) -> Iterator[Callable[..., Any]]:
    """Each person's one phone, where they go from page to page and load its files once."""
    complaints: list[str] = []
    phones: dict[str | None, Any] = {}
    with visiting(complaints) as visit:

        def phone(login: str | None, path: str) -> tuple[Any, list[str]]:
            if login in phones:
                phones[login].set_viewport_size(PHONE)
                phones[login].goto(path)
            else:
                phones[login] = visit(path, login, PHONE)
                # No colour is read half-way to another.
                phones[login].emulate_media(reduced_motion="reduce")
            return phones[login], complaints

        yield phone


@pytest.fixture(scope="module", params=SIGHTS, ids=lambda sight: sight.name)
def sight(request, phone_of, addresses) -> Iterator[Any]:
    """One page, opened once by day on a phone; the tests below only look at it.

    Leaving it fails where it complained of anything or asked another host.
    """
    page, complaints = phone_of(request.param.login, request.param.path.format(**addresses))
    request.param.shown(page)
    page.evaluate(MEASURES)
    yield page
    undo = page.get_by_role("button", name=re.compile("^Undo"))
    if undo.count():
        undo.click()
        expect(undo).to_have_count(0)
    page.goto(
        "/problems/short"
    )  # a page without a script: nobody's phone asks on in the background
    found = complaints.copy()
    complaints.clear()
    assert found == []


def measured(page: Any, what: str, *values: float) -> Any:
    return page.evaluate(f"(values) => measures.{what}(...values)", values)


@functools.cache
def axe_script() -> str:
    return Axe().axe_script


def violations(page: Any, rules: dict[str, Any]) -> list[str]:
    """What axe finds wrong, a line for each element."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(axe_script())
    found = page.evaluate(
        "(options) => axe.run(document, options)",
        {"resultTypes": ["violations"], **rules},
    )
    return [
        f"{one['id']}: {node['html'][:160]} {node['failureSummary']}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


def show(page: Any, size: Any, light: str = "day") -> None:
    page.set_viewport_size(size)
    page.evaluate(
        "(light) => { localStorage.setItem('crossload-light', light);"
        " document.documentElement.dataset.light = light;"
        # What sticks to the thumb lies over nothing at the page's end.
        " if (document.querySelector('.thumb')) scrollTo(0, document.body.scrollHeight) }",
        light,
    )


@pytest.mark.parametrize(
    ("size", "light", "rules"),
    [
        pytest.param(PHONE, "day", ALL_RULES, id="phone by day"),
        pytest.param(PHONE, "night", COLOUR_RULES, id="phone by night"),
        pytest.param(DESK, "night", ALL_RULES, id="desk by night"),
        pytest.param(DESK, "day", COLOUR_RULES, id="desk by day"),
    ],
)
def test_nothing_bars_anybody_from_a_page(sight, size, light, rules):
    show(sight, size, light)
    assert violations(sight, rules) == []
    assert measured(sight, "pale") == []


def test_whatever_is_pressed_on_a_phone_is_as_large_as_a_thumb(sight):
    show(sight, PHONE)
    assert measured(sight, "small", TARGET_PX) == []
    assert measured(sight, "hidden") == []


def test_a_narrow_page_does_not_scroll_sideways(sight):
    for size in (NARROW, NARROWEST):
        show(sight, size)
        assert measured(sight, "wide") == [], size


def test_a_phone_at_twice_its_size_shows_all_and_hides_nothing(sight):
    show(sight, PHONE_TWICE)
    assert measured(sight, "wide") == []
    assert measured(sight, "hidden") == []


def test_text_at_twice_its_size_fits_a_phone(sight):
    """The reader's own text size, as the browser's settings have it; its first value is 16 px."""
    show(sight, PHONE)
    session = sight.context.new_cdp_session(sight)
    session.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    try:
        assert sight.evaluate("getComputedStyle(document.body).fontSize") == "32px"
        assert measured(sight, "wide") == []
        assert measured(sight, "hidden") == []
    finally:
        session.send("Page.setFontSizes", {"fontSizes": {"standard": 16, "fixed": 13}})
        session.detach()


def test_nothing_moves_for_who_asks_for_stillness(sight):
    assert sight.evaluate("matchMedia('(prefers-reduced-motion: reduce)').matches")
    assert measured(sight, "moving") == []


def test_the_measures_find_what_is_wrong(visit):
    page = visit("/sign-in", None, PHONE)
    expect(page.get_by_role("button", name="Ines Corvane")).to_be_visible()
    page.evaluate(MEASURES)
    page.evaluate(
        """() => {
          const one = document.createElement('button');
          one.textContent = 'wrong';
          one.style.cssText = 'position: absolute; top: 0; left: 340px; width: 90px; height: 20px;'
            + 'color: #888; background: #999; transition: opacity 1s';
          document.body.prepend(one);
          const over = document.createElement('div');
          over.style.cssText = 'position: absolute; top: 0; left: 300px; width: 200px; height: 60px;'
          document.body.append(over, document.createElement('input'));
        }"""
    )
    assert [one for one in measured(page, "small", TARGET_PX) if "wrong" in one]
    assert [one for one in measured(page, "wide") if "wrong" in one]
    assert [one for one in measured(page, "hidden") if "wrong" in one]
    assert [one for one in measured(page, "pale") if "wrong" in one]
    assert [one for one in measured(page, "moving") if "wrong" in one]
    assert [one for one in violations(page, ALL_RULES) if one.startswith("label: ")]


class Keys:
    """Somebody without a mouse: Tab to what is wanted, seen on the way, and Enter."""

    MOST_STEPS = 80

    def __init__(self, page: Any):
        self.page = page

    def to(self, wanted: Any) -> None:
        expect(wanted).to_be_enabled()
        self.page.evaluate(MEASURES)
        node = wanted.element_handle()
        for _ in range(self.MOST_STEPS):
            self.page.keyboard.press("Tab")
            focus = self.page.evaluate("(node) => measures.focus(node)", node)
            if focus:
                assert focus["width"] >= LINE_PX, focus
                assert focus["contrast"] >= 3, focus
                assert focus["uncovered"], focus
                if focus["there"]:
                    return
        raise AssertionError(f"{self.MOST_STEPS} steps do not reach {wanted}")

    def enter(self, wanted: Any) -> None:
        self.to(wanted)
        self.page.keyboard.press("Enter")


@pytest.mark.parametrize(
    ("name", "size"),
    [pytest.param("Maud", PHONE, id="phone"), pytest.param("Petra", DESK, id="desk")],
)
def test_somebody_signs_in_asks_is_refused_takes_an_option_and_undoes_it_by_keys_alone(
    visit, name, size
):
    page = visit("/", None, size)
    keys = Keys(page)
    keys.enter(page.get_by_role("button", name=name))
    expect(page.get_by_role("heading", name="Going out")).to_be_visible()
    keys.enter(page.get_by_role("link", name="Ask", exact=True))
    expect(page.get_by_role("button", name="Book 2 radios")).to_be_enabled()
    keys.enter(page.get_by_role("button", name="6", exact=True))
    REFUSED(page)
    keys.to(page.locator("[data-key=option-0]"))
    keys.enter(page.locator(".thumb").get_by_role("button", name="Book 6 radios"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Yes. 6 radios, D9.")
    keys.enter(page.get_by_role("button", name=re.compile("^Undo")))
    expect(page.locator(".frame", has_text="undone")).to_be_visible()


@pytest.mark.parametrize(
    ("path", "login", "pressed", "shown"),
    [
        pytest.param("/", "ines", "What would work", words("Long gun"), id="now"),
        pytest.param("/days?scarce=1", "dov", "Long arm", heading("Long arm"), id="days"),
        pytest.param("/kit/{kit}", "tobin", "Ask for this", button("Book"), id="kit"),
        pytest.param("/booking/{booking}", "hale", "Hand out", heading("Scan"), id="booking"),
        pytest.param("/mine", "tobin", "the crossing, radios", heading("Second"), id="mine"),
    ],
)
def test_the_main_thing_of_a_page_is_done_by_keys_alone(
    phone_of, addresses, path, login, pressed, shown
):
    page, complaints = phone_of(login, path.format(**addresses))
    role = re.compile(f"^{pressed}")
    wanted = page.get_by_role("button", name=role).or_(page.get_by_role("link", name=role)).first
    expect(wanted).to_be_visible()
    Keys(page).enter(wanted)
    shown(page)
    assert complaints == []


def test_a_welcome_is_filled_in_by_keys_alone(visit, service):
    link = service.caller("ines").post("/invitations", {"role": "coordinator"})["url"]
    page = visit("/welcome" + link.split("/welcome")[1], None, PHONE)
    keys = Keys(page)
    for label, typed in (("Your name", "Edda Thornway"), ("Sign-in name", "edda")):
        keys.to(page.get_by_label(label))
        page.keyboard.type(typed)
    keys.to(page.get_by_label("Password"))
    page.keyboard.type("nine herons wade")
    keys.enter(page.get_by_role("button", name="Make the account"))
    expect(page.get_by_role("heading", name="Going out")).to_be_visible()
