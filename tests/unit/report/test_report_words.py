"""Figures in words carry no more digits than their spread means."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inkhorn.report import vessels, words


def figure(median: float, low: float, high: float, unit: str = "ml") -> dict[str, object]:
    """Return a figure of the JSON answers."""
    return {"median": median, "p05": low, "p25": low, "p75": high, "p95": high, "unit": unit}


@pytest.mark.parametrize(
    ("given_", "said"),
    [
        (figure(183.2, 152, 214.4), "about 180 ml, surely between 150 and 215"),
        (figure(1834, 1520, 2144), "about 1.8 litres, surely between 1.50 and 2.15"),
        (figure(0.1, 0, 2, "mmol/L"), "less than 2 mmol/L"),
        (figure(1.02, 1.01, 1.03, "1"), "about 1.02, surely between 1.01 and 1.03"),
        (figure(20, 20, 20, "degC"), "20 °C"),
        (figure(700, 700, 700), "700 ml"),
    ],
)
def test_a_figure_reads_as_a_maker_would_say_it(given_: dict[str, object], said: str) -> None:
    """Middle, unit and outward-rounded range, with litres for large volumes."""
    assert words.phrase(given_) == said


@given(
    middle=st.floats(0.01, 900),
    below=st.floats(0.01, 0.9),
    above=st.floats(0.01, 3),
)
def test_the_spoken_range_never_says_too_little(middle: float, below: float, above: float) -> None:
    """The two ends in words lie outside the two ends of the figure, and the middle between them."""
    low, high = middle * (1 - below), middle * (1 + above)
    said = words.surely(figure(middle, low, high))
    if not said:
        top = float(words.about(figure(middle, low, high)).removeprefix("less than ").split()[0])
        assert top >= high * (1 - 1e-6)
        return
    bottom, top = (float(part) for part in said.removeprefix("surely between ").split(" and "))
    assert bottom <= low * (1 + 1e-6)
    assert top >= high * (1 - 1e-6)
    assert bottom <= float(words.about(figure(middle, low, high)).split()[1]) <= top


@given(width=st.floats(1e-6, 1e6))
def test_a_step_is_one_two_or_five(width: float) -> None:
    """The rounding step is 1, 2 or 5 times a power of ten, at most the width and more than 0.4 of it."""
    step = words.step_of(width)
    lead = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert round(lead, 6) in {1, 2, 5}
    assert width * 0.4 <= step <= width * (1 + 1e-6)


def test_chances_never_claim_certainty() -> None:
    """The two ends of the scale have words that leave room; between them it counts in tens."""
    assert words.chance(0.999) == "nearly certain"
    assert words.chance(0.001) == "hardly any chance"
    assert words.chance(0.62) == "6 in 10"


def test_words_are_joined_as_in_a_sentence() -> None:
    """None, one, two and three words join with commas and one *and*."""
    assert [words.joined(list("abc"[:n])) for n in range(4)] == ["", "a", "a and b", "a, b and c"]


def test_a_vessel_becomes_one_paragraph() -> None:
    """Volume first, then what decides the next step; what is not known is left out."""
    said = vessels.paragraph(
        "tub", {"volume": figure(183.2, 152, 214.4), "iron_to_capacity": figure(0.75, 0.52, 1.1, "1")}
    )
    assert said == (
        "tub: about 180 ml, surely between 150 and 215. "
        "Iron for about 80 percent, surely between 50 and 110, of what the tannin can hold."
    )


def test_no_iron_is_said_plainly() -> None:
    """A vessel without iron says so instead of giving a ratio of nothing."""
    assert vessels.ratio_sentence(figure(0, 0, 0, "1")) == "No iron in it."


def test_every_plain_figure_has_a_row() -> None:
    """The rows keep the order of the spoken labels and skip what is missing."""
    out = vessels.rows(
        {"ph": figure(3.2, 3, 3.4, "1"), "volume": figure(183, 152, 214), "dry_lab": {"L": {}}}
    )
    assert out == [("in it", "180 ml", "150 and 215"), ("sourness (pH)", "3.2", "3.0 and 3.4")]
