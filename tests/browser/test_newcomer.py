"""A newcomer on a telephone, on a real workshop: the whole of the job, from raw leaf to an ink that matches."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import inkhorn
from inkhorn.web.app import create_app
from support.browser import browser, served
from support.newcomer import LONG, POT, Newcomer

pytestmark = [
    pytest.mark.browser,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]
ROUNDS = 6
ON_A_CUP = "I tried it on a cup"
#: A make-believe nature and an original half as strong again: what its own boiling down can reach.
SEED, STRONGER = 5, 1.5
# What a newcomer should never have to read on the way.
_JARGON = re.compile(r"\bdE\b|mmol|mPa|viscosity|posterior|None|nan|\b[a-z]+_[a-z]+\b|declared|Traceback")


@pytest.fixture
def newcomer(tmp_path: Path) -> Iterator[Newcomer]:
    """Return somebody at the page of a real, empty workshop, with a telephone."""
    path = tmp_path / "saltmere"
    inkhorn.Workshop.create(path).close()
    with served(create_app(path)) as address, browser() as chrome:
        page = chrome.new_context(viewport={"width": 390, "height": 844}).new_page()
        yield Newcomer(
            page=page, address=address, workshop=path, folder=tmp_path, seed=SEED, stronger=STRONGER
        )


def test_from_raw_leaf_to_an_ink_that_matches(newcomer: Newcomer) -> None:
    """Gather, soak, strain, boil down, iron, gum, mark, photograph; follow the counsel until the page says: it matches.

    How the ink then looks is worked out by the make-believe truth, whose physics is not the
    model's; that the page is right to say so is seen on the truth as well.
    """
    me, page = newcomer, newcomer.page
    page.get_by_role("link", name="Photograph the page").click()
    me.show_page()
    me.brew()
    # Before the first mark it may say what to do with the pot already, or ask for a mark.
    assert me.counsel()
    me.mark()
    me.photograph()
    first = me.counsel()
    at_first = me.distance()
    assert page.get_by_role("button", name="I did it").count(), first
    for _ in range(ROUNDS):
        if "it matches the page" in me.counsel() or not page.get_by_role("button", name="I did it").count():
            break
        if page.get_by_role("button", name=ON_A_CUP).count():
            # Who is told to keep the pot keeps it.
            before = len(me.records())
            me.follow(ON_A_CUP)
            tried = me.records()[before:]
            assert tried[0]["kind"] == "pour"
            assert all(entry.get("into") != POT for entry in tried)
            break
        me.follow()
        me.mark()
        me.photograph()
    # Where the estimate hardly knows how near the page is, it says so rather than that it matches.
    matched = "it matches the page" in me.counsel()
    assert me.distance() < at_first
    kinds = [entry["kind"] for entry in me.records()]
    assert {"gather", "steep", "strain", "reduce", "add", "mark", "reading"} <= set(kinds)
    if matched:
        page.get_by_role("link", name="Write its recipe down").click()
        page.locator("ol.recipe > li").first.wait_for(timeout=LONG)
    page.goto(f"{me.address}/trial/t1")
    page.get_by_text("difference you see").first.wait_for(timeout=LONG)
    page.locator("svg.curve").wait_for(timeout=LONG)
    wrong = [text for text in me.heard if _JARGON.search(text)]
    assert not wrong, "\n".join(wrong)


def test_the_jargon_is_caught() -> None:
    """What is looked for in every answer would be found there."""
    assert _JARGON.search("Of the difference you see (dE 8), most is wear.")
    assert _JARGON.search("vessel tub was not declared")
    assert _JARGON.search("the specific_gravity of the pot")
    assert not _JARGON.search("Boil off a third (down to about 820 ml). No more iron.")
