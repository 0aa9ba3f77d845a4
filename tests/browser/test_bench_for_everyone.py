"""The bench by keyboard alone, for a reader of the screen, with little motion, in strong contrast, and on paper."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from support.browser import until
from support.fake_workshop import FakeWorkshop

pytestmark = [
    pytest.mark.browser,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]

PLACES = ("/", "/?do=add", "/?do=reading&of=trial:t1&what=depth", "/daybook", "/entry/5", "/trials", "/trial/t1",
          "/page/saltmere", "/materials", "/evening", "/network", "/wrong", "/morning", "/nowhere")  # fmt: skip
# Roles that a person works with, or has to be told of (WAI-ARIA 1.2).
_WORKED = {"link", "button", "textbox", "radio", "checkbox", "combobox", "DisclosureTriangle", "img", "image", "table",
           "progressbar", "navigation", "region", "Date", "DateTime"}  # fmt: skip


@pytest.fixture
def page(chrome: Browser) -> Iterator[Page]:
    """Return a window of a desk."""
    window = chrome.new_context(viewport={"width": 1280, "height": 900})
    yield window.new_page()
    window.close()


def visit(page: Page, url: str) -> None:
    """Go to a page and wait until nothing is being worked out on it."""
    page.goto(url)
    until(lambda: page.goto(url) is not None and page.locator("[data-working]").count() == 0)


def tree(page: Page) -> list[dict[str, Any]]:
    """Return what Chromium tells a reader of the screen: role, name and properties of each node that is not hidden."""
    session = page.context.new_cdp_session(page)
    session.send("Accessibility.enable")
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    session.detach()
    return [
        {
            "role": node.get("role", {}).get("value", ""),
            "name": node.get("name", {}).get("value", "").strip(),
            **{p["name"]: p["value"].get("value") for p in node.get("properties", [])},
        }
        for node in nodes
        if not node.get("ignored")
    ]


def faults(nodes: list[dict[str, Any]]) -> list[str]:
    """Return what would leave somebody who cannot see at a loss."""
    out = [f"a {n['role']} without a name" for n in nodes if n["role"] in _WORKED and not n["name"]]
    levels = [int(n["level"]) for n in nodes if n["role"] == "heading"]
    if levels.count(1) != 1:
        out.append(f"{levels.count(1)} headings of the first level")
    # The box may stand before the first heading in nothing: the order starts with it.
    out += [f"a heading of level {b} after {a}" for a, b in itertools.pairwise(levels) if b > a + 1]
    out += [f"{n} {role}" for role in ("main", "banner") if (n := sum(x["role"] == role for x in nodes)) != 1]
    regions = [n["name"] for n in nodes if n["role"] in {"region", "navigation"}]
    out += [f"two regions called {name}" for name in set(regions) if regions.count(name) > 1]
    return out


def test_a_reader_of_the_screen_finds_its_way(page: Page, address: str) -> None:
    """Everything worked with has a name, headings go down step by step, one of each landmark, on every page."""
    found = {}
    for path in PLACES:
        visit(page, address + path)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        found[path] = faults(tree(page))
    assert not {path: wrong for path, wrong in found.items() if wrong}


def test_what_is_amiss_would_be_found(page: Page) -> None:
    """The twin: a nameless button and picture, a skipped heading, no main part, two regions alike."""
    page.set_content(
        "<h1>a</h1><h3>b</h3><button></button><img src=x>"
        "<section aria-label=x></section><section aria-label=x></section>"
    )
    said = " ".join(faults(tree(page)))
    for word in ("button without", "level 3 after 1", "0 main", "two regions called x"):
        assert word in said
    assert "im" in said.partition("without a name")[0] or "image without" in said or "img without" in said


def test_tables_and_figures_say_what_they_show(page: Page, address: str) -> None:
    """Each figure of the pot has its row's and column's head; the vessel, the stroke and the curve are told in words."""
    visit(page, address)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    nodes = tree(page)
    heads = [n["name"] for n in nodes if n["role"] == "columnheader"]
    assert {"about", "surely between"} <= set(heads)
    assert sum(n["role"] == "rowheader" for n in nodes) >= 5
    pictures = [n["name"] for n in nodes if n["role"] in {"img", "image"}]
    assert any("about" in name and "ml" in name for name in pictures)
    assert any(name.startswith("A dry stroke of") for name in pictures)
    assert any(name.startswith("The difference shared out") for name in pictures)
    visit(page, f"{address}/trial/t1")
    curve = next(
        n for n in tree(page) if n["role"] in {"img", "image"} and n["name"].startswith("How t1 darkens")
    )
    assert curve


def test_new_counsel_is_told_without_a_look(page: Page, address: str) -> None:
    """When the large type changes by itself, a polite line says so."""
    FakeWorkshop.gate.clear()
    try:
        page.goto(address)
        assert "Weighing" in page.locator("h1").inner_text()
    finally:
        FakeWorkshop.gate.set()
    expect(page.locator("#told")).to_contain_text("The counsel is new: Boil off a fifth", timeout=20_000)
    assert page.locator("#told").get_attribute("role") == "status"


def stops(page: Page, count: int) -> list[str]:
    """Return what each of so many presses of the tabulator comes to."""
    out = []
    for _ in range(count):
        page.keyboard.press("Tab")
        out.append(
            page.evaluate(
                "() => { const e = document.activeElement;"
                " return (e.labels?.[0]?.textContent || e.textContent || e.name || e.tagName).trim().replace(/\\s+/g, ' '); }"
            )
        )
    return out


def test_the_tabulator_goes_as_the_eye_does(page: Page, address: str) -> None:
    """Skip links, places, what counsel is about, the course, the line, the shelf, then the box: in reading order."""
    visit(page, address)
    found = stops(page, 40)
    wanted = ["To the page itself", "To the box where you say what you did", "Bench", "Materials", "I did it", "Why",
              "Say what you did", "Say it", "Add"]  # fmt: skip
    places = [found.index(name) for name in wanted]
    assert places == sorted(places), found


def test_the_focus_is_seen_wherever_it_is(page: Page, address: str) -> None:
    """Each stop of the tabulator has an outline of 2 pixels and more (WCAG 2.4.7 and 2.4.13), and is in view."""
    for path in ("/", "/?do=mark"):
        visit(page, address + path)
        for _ in range(45):
            page.keyboard.press("Tab")
            seen = page.evaluate(
                """() => {
                const e = document.activeElement;
                if (e === document.body) return null;
                const shown = e.matches(".chip input") ? e.nextElementSibling
                    : e.matches(".shutter input[type=file]") ? e.form.querySelector("label") : e;
                const style = getComputedStyle(shown), box = shown.getBoundingClientRect();
                return [e.outerHTML.slice(0, 60), parseFloat(style.outlineWidth), style.outlineStyle,
                        box.bottom > 0 && box.top < innerHeight && box.right > 0];
            }"""
            )
            if seen is None:
                break
            assert seen[1] >= 2, seen
            assert seen[2] != "none", seen
            assert seen[3], seen


def test_the_first_links_skip_to_the_page_and_to_the_box(page: Page, address: str) -> None:
    """Two presses from anywhere on top: past the places, or straight to where something is said."""
    visit(page, address)
    page.keyboard.press("Tab")
    assert page.locator(".skip").first.bounding_box()["x"] >= 0  # type: ignore[index]
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert stops(page, 1)[0] == "Say what you did"


def test_escape_shuts_a_fold_and_leaves_an_untouched_form(page: Page, address: str) -> None:
    """Escape shuts what is open; a form goes only where nothing was written in it."""
    visit(page, address)
    fold = page.locator("details", has_text="Why").first
    fold.locator("summary").click()
    page.keyboard.press("Escape")
    assert fold.get_attribute("open") is None
    page.get_by_role("link", name="Remark").click()
    words = page.get_by_label("What is worth keeping")
    words.fill("half a thought")
    page.keyboard.press("Escape")
    assert words.input_value() == "half a thought"
    words.fill("")
    page.keyboard.press("Escape")
    expect(page.get_by_label("What is worth keeping")).to_have_count(0)


def test_an_entry_by_keyboard_alone(page: Page, address: str) -> None:
    """From the top of the page to a kept entry with tabulator, space, arrows and enter."""
    visit(page, address)
    page.locator("#do").get_by_role("link", name="Add", exact=True).focus()
    page.keyboard.press("Enter")
    page.locator("#do h3").wait_for()
    page.locator("input[name=into]").first.focus()
    page.keyboard.press("Space")
    page.locator("input[name=stuff]").first.focus()
    page.keyboard.press("ArrowRight")
    page.get_by_label("How much").focus()
    page.keyboard.type("20 g")
    page.keyboard.press("Enter")
    expect(page.locator(".receipt")).to_contain_text("Kept as entry")
    assert page.evaluate("document.activeElement.closest('#do') !== null")


def test_nothing_moves(chrome: Browser, address: str) -> None:
    """With less motion asked for, nothing is animated and nothing glides."""
    window = chrome.new_context(reduced_motion="reduce")
    page = window.new_page()
    visit(page, address)
    moving = page.evaluate(
        """() => [...document.querySelectorAll("*")].filter(e => { const s = getComputedStyle(e);
        return s.animationName !== "none" || parseFloat(s.transitionDuration) > 0 || s.scrollBehavior === "smooth"; }).length"""
    )
    assert moving == 0
    window.close()


def test_each_light_has_its_own_colours_and_enough_contrast(chrome: Browser, address: str) -> None:
    """Lamplight by hand is the device's dark, whatever the device says; text keeps 4.5 to 1, counsel 7 to 1.

    Contrast after WCAG 2.2, "relative luminance"; also where more of it is asked for.
    """
    found = {}
    for light, scheme, contrast in itertools.product(("", "lamp", "sun"), ("light", "dark"), (None, "more")):
        window = chrome.new_context(color_scheme=scheme, contrast=contrast)
        if light:
            window.add_cookies([{"name": "light", "value": light, "url": address}])
        page = window.new_page()
        visit(page, address)
        found[light, scheme, contrast] = page.evaluate(_COLOURS)
        window.close()
    for (light, scheme, contrast), colours in found.items():
        ground = _luminance(colours["ground"])
        ratios = {
            name: _ratio(_luminance(colours[name]), ground) for name in ("ink", "soft", "press", "hurt")
        }
        assert min(ratios.values()) >= 4.5, (light, scheme, contrast, ratios)
        assert ratios["ink"] >= 7
        if contrast:
            assert ratios["soft"] >= 7, (light, scheme, ratios)
        assert (ground < 0.1) == (light == "lamp" or (light == "" and scheme == "dark"))
    for scheme in ("light", "dark"):
        assert found["lamp", scheme, None] == found["", "dark", None]
        assert found["sun", scheme, None] == found["sun", "light", None]


_COLOURS = """() => {
    const out = {}, probe = document.body.appendChild(document.createElement("i"));
    for (const name of ["ground", "ink", "soft", "rule", "press", "hurt"]) {
        probe.style.setProperty("color", `var(--${name})`);
        out[name] = getComputedStyle(probe).color.match(/[\\d.]+/g).slice(0, 3).map(Number);
    }
    return out;
}"""


def _luminance(colour: list[float]) -> float:
    """Return the relative luminance of an sRGB colour (WCAG 2.2)."""
    linear = [v / 255 / 12.92 if v / 255 <= 0.04045 else ((v / 255 + 0.055) / 1.055) ** 2.4 for v in colour]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _ratio(one: float, other: float) -> float:
    return (max(one, other) + 0.05) / (min(one, other) + 0.05)


def test_on_paper_it_is_black_on_white_and_whole(chrome: Browser, address: str) -> None:
    """Printed from lamplight: black on white, no buttons, what was folded is there, nothing wider than the sheet."""
    window = chrome.new_context(viewport={"width": 720, "height": 1000})
    window.add_cookies([{"name": "light", "value": "lamp", "url": address}])
    page = window.new_page()
    for path in ("/", "/trial/t1", "/materials"):
        visit(page, address + path)
        page.emulate_media(media="print")
        colours = page.evaluate(_COLOURS)
        assert colours["ground"] == [255, 255, 255]
        assert colours["ink"] == [0, 0, 0]
        for gone in (".press", ".undo", ".thumb", "nav", ".lights", "form.did"):
            assert page.locator(gone).first.is_hidden(), (path, gone)
        assert page.evaluate("document.documentElement.scrollWidth") <= 720
        page.emulate_media(media="screen")
    visit(page, address)
    page.emulate_media(media="print")
    assert page.locator("#shelf table").first.is_visible()
    assert len(page.pdf()) > 10_000
    window.close()
