"""What a person looks at stays before their eyes, and what they press is large enough for a wet thumb."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from inkhorn.web.app import create_app
from support.browser import served

pytestmark = [
    pytest.mark.browser,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]
PHONE, DESK = (390, 844), (1280, 900)
PLACES = ("/", "/?do=add", "/?do=mark", "/?do=reading", "/?do=photo", "/?do=exemplar", "/?do=more", "/daybook", "/entry/5",
          "/trials", "/trial/t1", "/page/saltmere", "/materials", "/recipe/horn", "/evening", "/wrong", "/morning", "/network", "/nowhere")  # fmt: skip
# A link within a sentence is exempt (WCAG 2.2, 2.5.8): its line height is what the text needs.
_SMALL = """() => Array.from(document.querySelectorAll('a[href], button, input:not([type=hidden]), summary, textarea'))
  .filter(e => !e.classList.contains('skip') && getComputedStyle(e).display !== 'inline')
  .map(e => [e.closest('label.chip') ?? e, e])
  .map(([box, e]) => [box.getBoundingClientRect(), (e.textContent || e.name).trim()])
  .filter(([r]) => r.width > 2 && r.height > 2 && (r.width < 44 || r.height < 44))
  .map(([r, name]) => `${name}: ${Math.round(r.width)} x ${Math.round(r.height)}`)"""


@pytest.fixture
def fresh(saltmere: Path) -> Iterator[str]:
    """Return the address of a real, empty workshop's bench."""
    with served(create_app(saltmere)) as out:
        yield out


def stands_still(page: Page) -> None:
    """Wait until nothing is being worked out and the page has shown it."""
    page.wait_for_function("() => fetch('/api/status').then(a => a.json()).then(s => !s.working)")
    page.locator("[data-working]").wait_for(state="detached")


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_receipt_stays_in_view_when_the_shelf_grows(
    chrome: Browser, fresh: str, size: tuple[int, int]
) -> None:
    """What was kept is read where it appeared, though a vessel and a timer have come above it meanwhile."""
    page = chrome.new_context(viewport={"width": size[0], "height": size[1]}).new_page()
    page.goto(fresh)
    for text in (
        "gathered 900 g of sumac leaf",
        "put 240 g of sumac leaf to soak in 2.5 L of rainwater in the tub for a day",
    ):
        page.locator("#text").fill(text)
        page.get_by_role("button", name="Say it").click()
        page.locator(".receipt", has_text=text.split()[1]).wait_for()
    page.locator("#shelf svg.vessel").wait_for(state="attached", timeout=20_000)
    stands_still(page)
    box = page.locator(".receipt .sentence").first.bounding_box()
    assert box is not None
    assert 0 <= box["y"] < size[1] / 2


def test_what_waits_to_be_sent_stays_in_view(chrome: Browser, fresh: str) -> None:
    """Without the bench, what was said is seen at once among what waits on this device."""
    window = chrome.new_context(viewport={"width": PHONE[0], "height": PHONE[1]})
    page = window.new_page()
    with page.expect_response("**/boxes"):
        page.goto(fresh)
    page.locator("#text").fill("gathered 900 g of sumac leaf")
    window.set_offline(True)
    page.get_by_role("button", name="Say it").click()
    head = page.locator(".waiting h3")
    head.wait_for()
    page.wait_for_timeout(500)
    box = head.bounding_box()
    assert box is not None
    assert 0 <= box["y"] < PHONE[1] / 2
    window.close()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_what_is_pressed_is_44_pixels_high_and_wide(
    chrome: Browser, address: str, size: tuple[int, int]
) -> None:
    """Every control that stands by itself, on every page, folds opened (WCAG 2.2, 2.5.5)."""
    page = chrome.new_context(viewport={"width": size[0], "height": size[1]}).new_page()
    small = {}
    for path in PLACES:
        page.goto(address + path)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        if found := page.evaluate(_SMALL):
            small[path] = found
    assert not small
    page.set_content("<button>x</button>")
    assert len(page.evaluate(_SMALL)) == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_is_wrong_is_answered_for_everyone(chrome: Browser, fresh: str, scheme: str) -> None:
    """A complaint is chosen, its check answered with a tap, by a page that keeps WCAG 2.2 A and AA."""
    page = chrome.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, color_scheme=scheme
    ).new_page()  # type: ignore[arg-type]
    page.goto(f"{fresh}/wrong")
    page.locator("label.chip", has_text="it is pale and watery").click()
    page.get_by_role("button", name="Ask").click()
    page.locator("ol.causes li").first.wait_for(timeout=30_000)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    results = Axe().run(
        page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    )
    assert results.violations_count == 0, results.generate_report()
    page.locator(".tiles a").first.click()
    page.get_by_text("With what you found").wait_for(timeout=30_000)


def test_the_places_stand_in_one_row(chrome: Browser, address: str) -> None:
    """Down to the 320 pixels of WCAG 1.4.10."""
    page = chrome.new_context(viewport={"width": 320, "height": 700}).new_page()
    page.goto(f"{address}/daybook")
    rows = {round(box["y"]) for link in page.locator(".places a").all() if (box := link.bounding_box())}
    assert len(rows) == 1


def test_an_empty_bench_shows_only_what_there_is_to_do(chrome: Browser, fresh: str) -> None:
    """Without a page or a pot there is no empty shelf between the first steps and the box; both come when they are told."""
    page = chrome.new_context(viewport={"width": PHONE[0], "height": PHONE[1]}).new_page()
    page.goto(fresh)
    assert page.locator("#shelf, #line").count() == 0
    assert page.locator("ol.first li").count() == 5
    page.locator("#text").fill("put 1 L of rainwater into the pot")
    page.get_by_role("button", name="Say it").click()
    page.locator("#shelf svg.vessel").wait_for(state="attached", timeout=20_000)
