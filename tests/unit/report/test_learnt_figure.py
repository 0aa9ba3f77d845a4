"""The drawing of what was learnt: well-formed, accessible, true to its numbers, legible in grey."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from inkhorn.report import learnt_figure

_SVG = "{http://www.w3.org/2000/svg}"


def figure(low: float, middle: float, high: float, unit: str = "1") -> dict[str, object]:
    """Return a figure of the JSON answers."""
    quarters = {"p25": (low + middle) / 2, "p75": (middle + high) / 2}
    return {"median": middle, "p05": low, **quarters, "p95": high, "unit": unit}


ANSWER = {
    "ess": 700.0,
    "learnt": [
        {
            "unknown": "lot:sumac-leaf/tannin", "bits": 2.1, "variance_left": 0.2, "shape": "lognormal",
            "prior": figure(0.1, 0.2, 0.4), "posterior": figure(0.2, 0.26, 0.31),
        },
        {
            "unknown": "bench/room", "bits": 0.4, "variance_left": 0.7, "shape": "normal",
            "prior": figure(10, 18, 26, "degC"), "posterior": figure(14, 20, 27, "degC"),
        },
        {
            "unknown": 'pen:"<&>/film', "bits": 0.2, "variance_left": 0.9, "shape": "lognormal",
            "prior": figure(10, 30, 90, "um"), "posterior": figure(15, 30, 60, "um"),
        },
    ],
}  # fmt: skip


def drawn(answer: dict[str, object] = ANSWER) -> ET.Element:
    """Return the drawing, parsed."""
    return ET.fromstring(learnt_figure.draw(answer))  # noqa: S314 - the text is our own


def bands(root: ET.Element) -> list[tuple[str, float, float]]:
    """Return fill, left and right of each band, the key's and the ground left out."""
    rects = root.findall(f"{_SVG}rect")[3:]
    return [(r.get("fill"), float(r.get("x")), float(r.get("x")) + float(r.get("width"))) for r in rects]


def test_it_says_in_words_what_it_shows() -> None:
    """It has a title and a description with every row's numbers, and is an image to a screen reader."""
    root = drawn()
    assert root.get("role") == "img"
    ids = {root.find(f"{_SVG}{tag}").get("id") for tag in ("title", "desc")}
    assert set(root.get("aria-labelledby").split()) == ids
    told = root.find(f"{_SVG}desc").text
    assert "tannin in the sumac leaf: 26, 20 to 31 % (before: 20, 10 to 40)" in told
    assert "2.1 bits" in told


def test_bands_are_true_to_the_row_s_own_scale() -> None:
    """A lognormal row is drawn on the logarithm: 0.2 lies half-way between 0.1 and 0.4."""
    (pale, left, right), (dark, low, high) = bands(drawn())[:2]
    assert (pale, dark) == (learnt_figure.PALE, learnt_figure.INK)
    assert (left, right) == (learnt_figure.LEFT, learnt_figure.WIDTH - learnt_figure.RIGHT)
    assert low == pytest.approx((left + right) / 2, abs=0.2)
    assert high < right


def test_a_posterior_that_reaches_beyond_its_prior_stays_on_the_sheet() -> None:
    """Every band lies within the margins, whichever of the two is wider."""
    for _, left, right in bands(drawn()):
        assert learnt_figure.LEFT - 0.1 <= left <= right <= learnt_figure.WIDTH - learnt_figure.RIGHT + 0.1


def test_it_is_as_wide_as_a_phone_and_no_letter_is_small() -> None:
    """390 units wide, nothing under 12, and no line of a name longer than the sheet."""
    text = learnt_figure.draw(ANSWER)
    assert 'viewBox="0 0 390 ' in text
    assert min(int(size) for size in re.findall(r'font-size="(\d+)"', text)) >= 12
    long = {**ANSWER["learnt"][0], "unknown": "who:" + "a very long name indeed " * 3 + "/depth.stretch"}
    rows = drawn({"ess": 9.0, "learnt": [long]}).findall(f"{_SVG}text")
    assert max(len(row.text) for row in rows) <= 60


def test_grey_print_tells_the_bands_apart() -> None:
    """Before and now differ by more than 7 to 1 in luminance, and in height."""

    def luminance(fill: str) -> float:
        channels = [int(fill[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    light, dark = luminance(learnt_figure.PALE), luminance(learnt_figure.INK)
    assert (light + 0.05) / (dark + 0.05) > 7  # WCAG 2.2, contrast ratio


def test_nothing_learnt_is_said() -> None:
    """Without a row the drawing says so, in its picture and in its description."""
    root = drawn({"ess": 1024.0, "learnt": []})
    assert "Nothing that you noticed" in root.find(f"{_SVG}desc").text
    assert any("Nothing that you noticed" in (t.text or "") for t in root.findall(f"{_SVG}text"))


def test_names_are_written_as_text_never_as_marks() -> None:
    """A name with angle brackets cannot break the drawing."""
    assert any("<&>" in (t.text or "") for t in drawn().findall(f"{_SVG}text"))
