"""How far two colours lie apart, in words."""

from __future__ import annotations

import pytest

from inkhorn.report import apart


def figure(low: float, middle: float, high: float) -> dict[str, float]:
    """Return a figure of the JSON answers."""
    return {"p05": low, "p25": (low + middle) / 2, "median": middle, "p75": (middle + high) / 2, "p95": high}


@pytest.mark.parametrize(
    ("difference", "word"), [(0.5, "too small to see"), (2, "small"), (6, "plain"), (15, "great")]
)
def test_a_word_for_each_size(difference: float, word: str) -> None:
    """The bounds are the handbook's: what half of viewers see, what they accept, what is plain."""
    assert apart.word(difference) == word


def test_what_is_not_known_is_said() -> None:
    """The ends of the band are told where they are another word, and only there."""
    assert apart.ranged(figure(2, 6, 15)) == "plain (at best small, at worst great)"
    assert apart.ranged(figure(2, 3, 6)) == "small (at worst plain)"
    assert apart.ranged(figure(5, 6, 7)) == "plain"


def test_a_course_is_told_without_figures() -> None:
    """From great to plain, from plain to less, and no nearer: each has its sentence."""
    far, near, nearer = figure(11, 12, 14), figure(4.5, 7, 9), figure(4.5, 6, 8)
    assert apart.foreseen(far, near) == "The difference from the page is great now. It should become plain."
    assert "It should grow less, and still be plain." in apart.foreseen(near, nearer)
    assert "It should stay plain." in apart.foreseen(nearer, near)
    assert not any(c.isdigit() for c in apart.foreseen(far, nearer))


def test_the_figure_is_there_for_who_asks() -> None:
    """Behind a tap the steps of colour stand with their range."""
    assert (
        apart.in_steps({**figure(2, 5, 12), "unit": "1"})
        == "about 5 just visible steps of colour, surely between 2 and 12"
    )
