"""The bench page in a real browser: accessible, narrow and wide, by day and by night, with and without script."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page

from support.browser import until
from support.fake_workshop import STORY, FakeWorkshop

pytestmark = [
    pytest.mark.browser,
    # The browser's driver leaves its event loop and pipes to the garbage collector.
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]

PHONE, DESK = (390, 844), (1280, 900)
STATES = {
    "bench": "/",
    "add": "/?do=add",
    "mark": "/?do=mark",
    "notice": "/?do=reading",
    "depth": "/?do=reading&of=trial:t1&what=depth",
    "photo": "/?do=photo",
    "page": "/?do=exemplar",
    "soak": "/?do=steep",
    "more": "/?do=more",
    "whole daybook": "/daybook",
    "entry": "/entry/5",
    "trials": "/trials",
    "trial": "/trial/t1",
    "the page": "/page/saltmere",
    "materials": "/materials",
    "evening": "/evening",
    "network": "/network",
    "recipe": "/recipe/horn",
    "wrong": "/wrong",
    "morning": "/morning",
    "bring": "/?do=bring",
}
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def context(chrome: Browser, size: tuple[int, int], **more: object) -> BrowserContext:
    """Return a fresh browser window of a size."""
    return chrome.new_context(viewport={"width": size[0], "height": size[1]}, **more)  # type: ignore[arg-type]


def visit(page: Page, url: str) -> None:
    """Go to a page and wait until nothing is being worked out on it."""
    page.goto(url)
    if page.locator("[data-working]").count():
        until(lambda: page.goto(url) is not None and page.locator("[data-working]").count() == 0)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_no_page_breaks_the_accessibility_rules(
    chrome: Browser, address: str, size: tuple[int, int], scheme: str
) -> None:
    """WCAG 2.2 A and AA as axe-core checks them, on every state of the page."""
    window = context(chrome, size, color_scheme=scheme)
    page = window.new_page()
    found = {}
    for name, path in STATES.items():
        visit(page, address + path)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        results = Axe().run(page, options={"runOnly": WCAG})
        if results.violations_count:
            found[name] = results.generate_report()
    window.close()
    assert not found, "\n".join(f"{name}:\n{report}" for name, report in found.items())


def test_the_rules_do_catch(chrome: Browser) -> None:
    """The same check fails a page that breaks the rules: a nameless picture, a faint word, a nameless field."""
    window = context(chrome, PHONE)
    page = window.new_page()
    page.set_content(
        "<html lang=en><title>x</title><main><img src=x><p style='color:#ccc'>faint</p><input></main>"
    )
    found = {fault["id"] for fault in Axe().run(page, options={"runOnly": WCAG}).response["violations"]}
    assert {"image-alt", "color-contrast", "label"} <= found
    window.close()


def test_a_refused_form_is_accessible_too(chrome: Browser, address: str) -> None:
    """The page that complains passes the same rules, and names its complaint at the field."""
    window = context(chrome, PHONE)
    page = window.new_page()
    visit(page, f"{address}/?do=pour")
    page.locator("input[name=from][value=tub]").check(force=True)
    page.locator("input[name=into][value=horn]").check(force=True)
    page.locator("input[name=amount_other]").fill("a lot")
    page.get_by_role("button", name="Keep it").click()
    page.locator("#w-amount").wait_for()
    assert page.locator("[name=amount_other]").input_value() == "a lot"
    results = Axe().run(page, options={"runOnly": WCAG})
    assert results.violations_count == 0, results.generate_report()
    window.close()


def test_nothing_runs_out_of_the_window(chrome: Browser, address: str) -> None:
    """No page scrolls sideways, down to the 320 CSS pixels of WCAG 1.4.10."""
    window = context(chrome, PHONE)
    page = window.new_page()
    for name, path in STATES.items():
        visit(page, address + path)
        for width in (320, 390, 768, 1000, 1280):
            page.set_viewport_size({"width": width, "height": 844})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (name, width)
    window.close()


def test_what_can_be_pressed_is_large_enough_for_a_wet_thumb(chrome: Browser, address: str) -> None:
    """Buttons, tiles, choices, boxes and folds are at least 48 CSS pixels high."""
    window = context(chrome, PHONE)
    page = window.new_page()
    for name, path in STATES.items():
        visit(page, address + path)
        assert page.evaluate(_SMALL) == [], name
    window.close()


_SMALL = """() => [...document.querySelectorAll(
            "button, .press, .tiles a, .chip, .leave, .places a, .shutter label, summary, input:not([type=radio]):not([type=hidden]):not(#quick), textarea")]
            .filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 47.5)
            .map(e => e.outerHTML.slice(0, 90) + " " + e.getBoundingClientRect().height)"""


def test_a_maker_records_without_script(chrome: Browser, bench: Path, address: str) -> None:
    """With JavaScript switched off: tap a tile, tap the choices, write the amount, keep it, undo it."""
    window = context(chrome, PHONE, java_script_enabled=False)
    page = window.new_page()
    page.goto(address)
    page.locator("nav.thumb a").click()
    page.get_by_role("link", name="Add", exact=True).click()
    page.locator("label.chip", has_text="tub").first.click()
    page.locator("label.chip", has_text=re.compile("^plum gum$")).click()
    page.get_by_label("How much").fill("20 g")
    page.get_by_role("button", name="Keep it").click()
    assert "You say: add." in page.locator(".receipt").inner_text()
    last = FakeWorkshop.open(bench).daybook[-1].to_dict()
    assert (last["kind"], last["into"], last["lot"], last["amount"]) == ("add", "tub", "plum-gum", "20 g")
    page.locator(".receipt button.undo").click()
    assert FakeWorkshop.open(bench).daybook[-1].to_dict()["kind"] == "void"
    window.close()


def test_words_are_tapped_not_written(chrome: Browser, bench: Path, address: str) -> None:
    """What the eye sees of a trial is recorded in four taps."""
    window = context(chrome, PHONE)
    page = window.new_page()
    visit(page, address)
    page.get_by_role("link", name="Notice").click()
    page.get_by_role("link", name="t1", exact=True).click()
    page.get_by_role("link", name="How dark it is beside the page").click()
    page.locator("label.chip", has_text="a little pale").click()
    page.get_by_role("button", name="Keep it").click()
    page.locator(".receipt").wait_for()
    last = FakeWorkshop.open(bench).daybook[-1].to_dict()
    assert (last["of"], last["what"], last["value"]) == ("trial:t1", "depth", "a little pale")
    assert last["against"] == "saltmere"
    window.close()


def test_a_photograph_is_sent_from_the_page(
    chrome: Browser, bench: Path, address: str, tmp_path: Path
) -> None:
    """The file control asks for the rear camera and its picture is recorded."""
    shot = tmp_path / "shot.png"
    shot.write_bytes(b"\x89PNG\r\n\x1a\n" + b"\0" * 64)
    window = context(chrome, PHONE)
    page = window.new_page()
    visit(page, f"{address}/?do=photo")
    control = page.locator("#shot")
    assert control.get_attribute("capture") == "environment"
    control.set_input_files(shot)
    page.get_by_role("button", name="Read it").click()
    page.wait_for_url(re.compile("said="))
    assert FakeWorkshop.open(bench).daybook[-1].to_dict()["what"] == "photo"
    window.close()


def test_a_new_answer_never_takes_a_form_away(chrome: Browser, address: str) -> None:
    """A finished answer appears by itself, and what somebody is writing stays as it is."""
    FakeWorkshop.gate.clear()
    window = context(chrome, DESK)
    writing, looking = window.new_page(), window.new_page()
    writing.goto(f"{address}/?do=remark")
    writing.get_by_label("What is worth keeping").fill("half a thought")
    looking.goto(address)
    assert "Weighing what can be done" in looking.locator("h1").inner_text()
    FakeWorkshop.gate.set()
    until(lambda: "Boil off a fifth" in looking.locator("h1").inner_text())
    until(lambda: "Boil off a fifth" in writing.locator("h1").inner_text())
    assert writing.get_by_label("What is worth keeping").input_value() == "half a thought"
    window.close()


def test_the_browser_has_nothing_to_complain_of(chrome: Browser, address: str) -> None:
    """No error on the console (a breach of the page's own policy would be one), nothing it asks for is missing."""
    window = context(chrome, PHONE)
    page = window.new_page()
    heard: list[str] = []
    page.on(
        "console",
        lambda message: heard.append(message.text) if message.type in {"error", "warning"} else None,
    )
    page.on("response", lambda answer: heard.append(answer.url) if answer.status >= 400 else None)
    for path in STATES.values():
        visit(page, address + path)
    assert heard == []
    window.close()


def test_undo_is_shown_for_the_last_entry_only(chrome: Browser, address: str) -> None:
    """One button, beside the newest entry, named with its number for those who cannot see it."""
    window = context(chrome, PHONE)
    page = window.new_page()
    visit(page, address)
    assert page.get_by_role("button", name=f"Undo entry {len(STORY)}").count() == 1
    assert page.locator("button.undo").count() == 1
    window.close()
