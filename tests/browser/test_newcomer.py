"""A newcomer on a telephone, on a real workshop: from an empty bench to a counsel that was followed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page

import inkhorn
from inkhorn.demo.story import make
from inkhorn.web.app import create_app
from support.browser import browser, served

pytestmark = [
    pytest.mark.browser,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]
LONG = 150_000  # ms; an estimate on a busy machine


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return two rendered photographs of the invented roll's story: the page, and a trial's line."""
    folder = tmp_path_factory.mktemp("pictures")
    found = {}
    for entry in make(folder).entries:
        if entry.get("what") == "photo":
            found[str(entry["of"])] = Path(str(entry["value"]))
    page = next(path for of, path in found.items() if of.startswith("exemplar:"))
    return {"page": page, "line": found["trial:t3"]}


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """Return the address of the bench of a real, empty workshop."""
    path = tmp_path / "bench"
    inkhorn.Workshop.create(path).close()
    with served(create_app(path)) as out:
        yield out


def say(page: Page, text: str) -> None:
    """Say something in one's own words, and wait until it is read back."""
    page.locator("#text").fill(text)
    page.get_by_role("button", name="Say it").click()
    page.locator(".receipt", has_text="Kept as entry").wait_for(timeout=LONG)


def at(page: Page, hour: str) -> None:
    """Tell an hour of yesterday: a stroke photographed seconds old would say little, and how old hangs on the clock."""
    day = (datetime.now().astimezone() - timedelta(days=1)).date()
    page.locator("#f-at").evaluate("(field, value) => { field.value = value }", f"{day}T{hour}")


def again(page: Page, address: str) -> None:
    """Come back to the bench."""
    page.goto(address)
    page.locator("#text").wait_for()


def test_from_nothing_to_a_counsel_that_was_followed(address: str, pictures: dict[str, Path]) -> None:
    """Page, lot, liquor, vitriol, gum, mark and photograph: counsel comes, is followed, and lies beside the page."""
    with browser() as chrome:
        page = chrome.new_context(viewport={"width": 390, "height": 844}).new_page()
        page.goto(address)
        page.get_by_text("Say what you did first").wait_for()
        page.locator("ol.first").get_by_role("link", name="Photograph the page").click()
        page.get_by_label("Call it").fill("saltmere-roll")
        page.locator("#page-shot").set_input_files(pictures["page"])
        page.get_by_role("button", name="Keep it").click()
        page.locator(".receipt", has_text="Kept as entry").wait_for(timeout=LONG)
        again(page, address)
        say(page, "yesterday at nine gathered 900 g of sumac leaf")
        page.goto(f"{address}/?do=bring")
        page.get_by_label("Vessel").fill("pot")
        at(page, "10:00")
        page.get_by_label("Material").fill("sumac leaf")
        page.get_by_label("Amount").fill("about 1.5 L")
        page.get_by_role("button", name="Keep it").click()
        page.locator(".receipt", has_text="Kept as entry").wait_for(timeout=LONG)
        for text in (
            "yesterday at eleven added 30 g of bought green vitriol to the pot",
            "yesterday at noon added two spoons of plum gum to the pot",
        ):
            again(page, address)
            say(page, text)
        page.goto(f"{address}/?do=mark")
        page.locator("#f-support").fill("goat parchment")
        page.locator("label.chip", has_text="line").click()
        page.locator("#f-pen").fill("reed-3mm")
        at(page, "13:00")
        page.get_by_role("button", name="Keep it").click()
        page.locator(".receipt", has_text="Kept as entry").wait_for(timeout=LONG)
        again(page, address)
        page.locator("#quick").set_input_files(pictures["line"])
        page.locator(".receipt", has_text="Kept as entry").wait_for(timeout=LONG)
        page.get_by_text("strokes were found").first.wait_for(timeout=LONG)
        again(page, address)
        page.get_by_role("link", name="I did").first.wait_for(timeout=LONG)
        page.get_by_role("link", name="I did").first.click()
        page.get_by_role("button", name="Keep it").click()
        page.locator(".receipt", has_text="Kept as entry").wait_for(timeout=LONG)
        page.goto(f"{address}/trial/t1")
        page.get_by_text("Of the difference you see").first.wait_for(timeout=LONG)
        page.locator("svg.curve").wait_for(timeout=LONG)  # each answer comes as it is worked out
