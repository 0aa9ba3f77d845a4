"""The recipe in a real browser: read on a telephone and on a desk, with the way back to a caution."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

pytestmark = [
    pytest.mark.browser,
    # The browser's driver leaves its event loop and pipes to the garbage collector.
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]


@pytest.mark.parametrize("width", [390, 1280])
def test_a_caution_that_comes_back_leads_to_where_it_was_said(
    chrome: Browser, address: str, width: int
) -> None:
    """Nothing is wider than the glass; a tap on "step 2" brings the full caution into view; figures open by a tap."""
    page = chrome.new_context(viewport={"width": width, "height": 400}).new_page()
    page.goto(f"{address}/recipe/horn")
    page.locator("ol.recipe > li").nth(2).wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    full = page.get_by_text("Boiling liquor scalds: stir it.")
    assert full.count() == 1
    page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    page.get_by_role("link", name="step 2").click()
    page.wait_for_function("location.hash === '#s2'")
    box = full.bounding_box()
    assert box is not None
    assert 0 <= box["y"] < 400
    more = page.get_by_text("It gives half a litre.")
    assert not more.is_visible()
    page.get_by_text("How near, and how much").click()
    assert more.is_visible()
