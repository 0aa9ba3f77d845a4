"""The tap for a cup and the way back, in a real browser: on a telephone and a desk, with and without script."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, FloatRect

from inkhorn.web.app import create_app
from support.browser import served, until
from support.fake_workshop import FakeWorkshop

pytestmark = [
    pytest.mark.browser,
    # The browser's driver leaves its event loop and pipes to the garbage collector.
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]


@pytest.fixture
def folder(bench: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder of a workshop whose counsel would try its course on a cup first."""
    monkeypatch.setattr(FakeWorkshop, "on_a_cup", True)
    return bench


def lines(folder: Path) -> list[dict[str, object]]:
    """Return every entry of the workshop."""
    return [dict(line.raw) for line in FakeWorkshop.open(folder).daybook]


def apart(one: FloatRect | None, other: FloatRect | None) -> bool:
    """Return whether two buttons can be told from one another: neither lies over the other."""
    assert one is not None
    assert other is not None
    beside = one["x"] + one["width"] <= other["x"] or other["x"] + other["width"] <= one["x"]
    beneath = one["y"] + one["height"] <= other["y"] or other["y"] + other["height"] <= one["y"]
    return beside or beneath


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
@pytest.mark.parametrize("size", [(390, 844), (1280, 900)], ids=["phone", "desk"])
def test_a_cup_is_tried_and_taken_back_whole(
    chrome: Browser, folder: Path, size: tuple[int, int], *, script: bool
) -> None:
    """One tap records the cup and not the pot; the way back is there after the bench was started anew; one tap undoes it."""

    def anew() -> object:
        return create_app(folder, opener=lambda: FakeWorkshop.open(folder))  # type: ignore[arg-type,return-value]

    before = lines(folder)
    window = chrome.new_context(viewport={"width": size[0], "height": size[1]}, java_script_enabled=script)
    page = window.new_page()
    with served(anew()) as address:  # type: ignore[arg-type]
        until(
            lambda: (
                page.goto(address) is not None
                and page.get_by_role("button", name="I tried it on a cup").count() == 1
            )
        )
        cup = page.get_by_role("button", name="I tried it on a cup")
        whole = page.get_by_role("button", name="I did it with the whole pot")
        for button in (cup, whole):
            box = button.bounding_box()
            assert box is not None
            assert box["height"] >= 44  # a finger's width, WCAG 2.2 target size (enhanced, 2.5.5)
            assert box["x"] + box["width"] <= size[0]
        cup.click()
        page.locator("#do").get_by_role("button", name="Undo all 3 steps").wait_for()
        assert [line["kind"] for line in lines(folder)[len(before) :]] == ["pour", "store", "add"]
        assert not any(line.get("into") == "pot" for line in lines(folder)[len(before) :])
        for place in ("#do", "#daybook"):
            ways = page.locator(f"{place} button.undo", has_text="Undo")
            ways.nth(1).wait_for()
            assert ways.count() == 2
            assert apart(*(ways.nth(n).bounding_box() for n in (0, 1)))
    with served(anew()) as address:  # type: ignore[arg-type]
        page.goto(address)
        page.locator("#daybook").get_by_role("button", name="Undo all 3 steps").click()
        until(lambda: len(lines(folder)) == len(before) + 6)
        assert [line["kind"] for line in lines(folder)[-3:]] == ["void"] * 3
        assert {line["entry"] for line in lines(folder)[-3:]} == {len(before) + n for n in (1, 2, 3)}
        page.goto(address)
        assert page.get_by_role("button", name="Undo all").count() == 0
    assert lines(folder)[: len(before)] == before
    window.close()
