"""How far two colours lie apart, as the eye has it; the figures (CIEDE2000) stand elsewhere.

A figure is the mapping of the JSON answers, its unit steps of CIEDE2000.

>>> figure = {"median": 5.0, "p05": 2.0, "p25": 4.0, "p75": 7.0, "p95": 12.0, "unit": "1"}
>>> word(figure["median"])
'plain'
>>> ranged(figure)
'plain (at best small, at worst great)'
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inkhorn.compare.sentence import size_word
from inkhorn.handbook.load import value
from inkhorn.report import words


def word(difference: float) -> str:
    """Return how large a difference (CIEDE2000) is to the eye, in a word or two."""
    return "too small to see" if difference < value("compare.words.same") else size_word(difference)


def ranged(figure: Mapping[str, Any]) -> str:
    """Return how large an uncertain difference is, with what it may be at best and at worst (the 5th and 95th percentile)."""
    best, middle, worst = (word(float(figure[key])) for key in ("p05", "median", "p95"))
    parts = [f"at best {best}"] if best != middle else []
    parts += [f"at worst {worst}"] if worst != middle else []
    return f"{middle} ({', '.join(parts)})" if parts else middle


def foreseen(now: Mapping[str, Any], then: Mapping[str, Any]) -> str:
    """Return what a course does to the difference from the page, in a sentence or two without figures."""
    before, after = word(float(now["median"])), word(float(then["median"]))
    head = f"The difference from the page is {before} now."
    if before != after:
        return f"{head} It should become {ranged(then)}."
    if float(then["median"]) < float(now["median"]):
        return f"{head} It should grow less, and still be {ranged(then)}."
    return f"{head} It should stay {ranged(then)}."


def in_steps(figure: Mapping[str, Any]) -> str:
    """Return a difference in steps of colour, for who asks for the figure."""
    surely = words.surely(figure)
    return f"{words.about(figure)} just visible steps of colour{f', {surely}' if surely else ''}"
