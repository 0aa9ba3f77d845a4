"""Odds of two ways of making, in plain words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from inkhorn.handbook.load import value

MOST = 1000


def sentences(
    answer: Mapping[str, Any], first: str = "the first way", second: str = "the second way"
) -> list[str]:
    """Return what odds say: which way, how much, how surely, and what that is worth.

    >>> told = {"log_odds": 1.79, "error": 0.7, "basis": "readings", "against": "3 readings"}
    >>> sentences(told, "leaf", "bark")[0]
    'Odds about 6 to 1 for leaf; between 3 and 12 to 1.'
    """
    centre, error = float(answer["log_odds"]), float(answer["error"])
    ahead, behind = (first, second) if centre >= 0 else (second, first)
    low, high = abs(centre) - error, abs(centre) + error
    held = "the page " + str(answer["against"]) if answer["basis"] == "page" else str(answer["against"])
    what = f"Both ways were held against {held}, and neither was thought likelier beforehand."
    if low <= 0:
        ends = f"{ratio(high)} for {ahead} and {ratio(-low)} for {behind}"
        return [f"No telling the two apart: the odds lie between {ends}.", what]
    if low > math.log(MOST):
        return [f"Odds more than {MOST} to 1 for {ahead}. {_worth(low)}", what]
    top = f"{_plain(high)} to 1" if high <= math.log(MOST) else f"more than {MOST} to 1"
    return [
        f"Odds about {ratio(abs(centre))} for {ahead}; between {_plain(low)} and {top}.",
        _worth(low),
        what,
    ]


def ratio(log_odds: float) -> str:
    """Return odds as ``6 to 1``, ``more than 1000 to 1`` or ``even``."""
    if log_odds > math.log(MOST):
        return f"more than {MOST} to 1"
    text = _plain(log_odds)
    return "even" if text == "1" else f"{text} to 1"


def _plain(log_odds: float) -> str:
    """Write odds with no more than two figures."""
    odds = math.exp(min(log_odds, math.log(MOST) + 1))
    return f"{float(f'{odds:.2g}'):.1f}".removesuffix(".0") if odds < 3 else f"{float(f'{odds:.2g}'):.0f}"


def _worth(log_odds: float) -> str:
    """Say what evidence of this size is worth at least (grades of Kass and Raftery 1995)."""
    odds = math.exp(min(log_odds, math.log(MOST) + 1))
    if odds < value("knowing.odds.bare"):
        return "That may be hardly worth a mention."
    if odds < value("knowing.odds.strong"):
        return "That speaks for it, no more."
    return "That is strong." if odds < value("knowing.odds.decisive") else "That is very strong."
