"""The page left open on a telephone: it goes on without its bench, sends later exactly once, and shows what others say."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route

from support.browser import until
from support.fake_workshop import STORY, FakeWorkshop

pytestmark = [
    pytest.mark.browser,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]
PHONE = {"width": 390, "height": 844}


@pytest.fixture
def phone(chrome: Browser) -> Iterator[BrowserContext]:
    """Return a telephone's browser."""
    window = chrome.new_context(viewport=PHONE)  # type: ignore[arg-type]
    yield window
    window.close()


def at_hand(window: BrowserContext, address: str) -> Page:
    """Return the bench, counsel and all forms at hand."""
    page = window.new_page()
    with page.expect_response("**/boxes"):
        page.goto(address)
    page.get_by_text("Boil off a fifth").first.wait_for()
    return page


def remark(page: Page, text: str) -> None:
    """Say something by the form for it."""
    page.locator("#do").get_by_role("link", name="Remark").click()
    page.get_by_label("What is worth keeping").fill(text)
    page.get_by_role("button", name="Keep it").click()


def said(bench: Path) -> list[Any]:
    """Return what was recorded since the story."""
    return [line.to_dict() for line in FakeWorkshop.open(bench).daybook[len(STORY) :]]


def test_what_is_said_without_the_bench_arrives_once_when_it_is_back(
    phone: BrowserContext, bench: Path, address: str
) -> None:
    """Offline the counsel stays, two entries are taken and told to wait; back online each is recorded once, in order."""
    page = at_hand(phone, address)
    phone.set_offline(True)
    page.get_by_text("The bench does not answer").wait_for()
    remark(page, "first frost")
    page.get_by_text("first frost. It waits to be sent.").wait_for()
    remark(page, "the reed is cut anew")
    page.get_by_text("the reed is cut anew. It waits to be sent.").wait_for()
    assert "Boil off a fifth" in page.locator("h1").inner_text()
    assert said(bench) == []
    phone.set_offline(False)
    until(lambda: len(said(bench)) == 2)
    page.locator(".waiting").wait_for(state="detached")
    page.locator("#lately").get_by_text("the reed is cut anew").wait_for()
    assert [entry["text"] for entry in said(bench)] == ["first frost", "the reed is cut anew"]


def test_an_answer_that_is_lost_makes_no_second_entry(
    phone: BrowserContext, bench: Path, address: str
) -> None:
    """The bench hears an entry, its answer never arrives, the page sends it again: it is in the book once."""
    page = at_hand(phone, address)
    lost = []

    def lose(route: Route) -> None:
        route.fetch()
        lost.append(route.request.post_data)
        route.abort()

    page.route("**/record", lose)
    remark(page, "first frost")
    page.get_by_text("It waits to be sent.").wait_for()
    assert lost
    assert len(said(bench)) == 1
    page.unroute("**/record")
    page.locator(".waiting").wait_for(state="detached")
    page.wait_for_timeout(500)
    assert [entry["text"] for entry in said(bench)] == ["first frost"]


def test_what_waits_outlives_the_page(phone: BrowserContext, bench: Path, address: str) -> None:
    """Closed before the bench was back, the page sends what waited when it is opened again."""
    page = at_hand(phone, address)
    phone.set_offline(True)
    page.get_by_text("The bench does not answer").wait_for()
    remark(page, "first frost")
    page.get_by_text("It waits to be sent.").wait_for()
    page.close()
    phone.set_offline(False)
    at_hand(phone, address)
    until(lambda: len(said(bench)) == 1)


def test_a_mark_and_a_course_wait_like_the_rest(phone: BrowserContext, bench: Path, address: str) -> None:
    """Forms with fields called "method" and "action", which hide the form's own, are kept and sent later too."""
    page = at_hand(phone, address)
    phone.set_offline(True)
    page.get_by_text("The bench does not answer").wait_for()
    page.get_by_role("button", name="I did it").first.click()
    page.get_by_text("You did as advised: Boil off a fifth").wait_for()
    page.locator("#do").get_by_role("link", name="Make a mark").click()
    page.locator("label.chip", has_text="a written line").first.click()
    page.get_by_role("button", name="Keep it").click()
    page.locator(".waiting li", has_text="You make a mark").wait_for()
    assert said(bench) == []
    phone.set_offline(False)
    until(lambda: [entry["kind"] for entry in said(bench)] == ["reduce", "mark"])


def test_what_is_refused_later_is_told_and_can_be_dropped(
    phone: BrowserContext, bench: Path, address: str
) -> None:
    """An entry that makes no sense, said while the bench was away, comes back with the complaint; the rest arrives."""
    page = at_hand(phone, address)
    phone.set_offline(True)
    page.get_by_text("The bench does not answer").wait_for()
    page.locator("#do").get_by_role("link", name="Pour").click()
    page.locator("label.chip", has_text="tub").first.click()
    page.locator("[name=into_other]").fill("cup")
    page.locator("[name=amount_other]").fill("a lot")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_text("It waits to be sent.").wait_for()
    remark(page, "first frost")
    phone.set_offline(False)
    until(lambda: [entry.get("text") for entry in said(bench)] == ["first frost"])
    refused = page.locator(".waiting li", has_text="a lot")
    refused.get_by_role("button", name="Drop it").click()
    page.locator(".waiting").wait_for(state="detached")


def test_two_people_see_each_other_s_entries(chrome: Browser, bench: Path, address: str) -> None:
    """What one says appears on the other's page by itself, and takes nothing out of their hands."""
    one, other = (chrome.new_context(viewport=PHONE) for _ in range(2))  # type: ignore[arg-type]
    mine, theirs = at_hand(one, address), at_hand(other, address)
    theirs.locator("#do").get_by_role("link", name="Remark").click()
    theirs.get_by_label("What is worth keeping").fill("half a thought")
    remark(mine, "first frost")
    theirs.locator("#lately").get_by_text("first frost").wait_for()
    assert theirs.get_by_label("What is worth keeping").input_value() == "half a thought"
    theirs.get_by_role("button", name="Keep it").click()
    mine.locator("#lately").get_by_text("half a thought").wait_for()
    assert [entry["text"] for entry in said(bench)] == ["first frost", "half a thought"]
    one.close()
    other.close()


def test_a_page_left_open_dates_what_is_said_now(phone: BrowserContext, bench: Path, address: str) -> None:
    """The date in a form is that of saying it, not of drawing the page."""
    page = at_hand(phone, address)
    page.clock.set_fixed_time("2031-05-06T07:08:00")
    remark(page, "much later")
    page.locator(".receipt").wait_for()
    assert said(bench)[-1]["at"].startswith("2031-05-06T07:08")
