"""Counsel in plain words: second person, present tense, no more digits than meant."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import Action, sensible
from inkhorn.handbook.load import value

# numbers-in-code: what the words mean
_SHARES = ((0.1, "a tenth"), (0.125, "an eighth"), (0.2, "a fifth"), (0.25, "a quarter"), (1 / 3, "a third"),
           (0.4, "two fifths"), (0.5, "half"), (0.6, "three fifths"), (2 / 3, "two thirds"),
           (0.75, "three quarters"))  # fmt: skip


def share_words(share: float) -> str:
    """Return a share as a maker says it: "a fifth", "a little"."""
    # numbers-in-code: half-way between nothing and an eighth, in words
    if share < 0.07:
        return "a little"
    return min(_SHARES, key=lambda s: abs(np.log(s[0] / share)))[1]


def minutes_words(seconds: float) -> str:
    """Return a length of time in round words."""
    minutes = seconds / 60
    # numbers-in-code: where minutes become hours in speech
    if minutes < 90:
        step = 1 if minutes < 10 else 5
        return f"about {max(round(minutes / step) * step, 1)} minutes"
    # numbers-in-code: half-hours in speech
    return f"about {round(minutes / 30) / 2:g} hours"


def action_words(action: Action, amount: float, volume: float, seconds: float) -> str:
    """Return one action as an imperative clause."""
    if action.kind == "reduce":
        to = sensible(volume * (1 - amount))
        return (
            f"boil off {share_words(amount)} (down to about {to:g} ml, {minutes_words(seconds)} at a simmer)"
        )
    if action.kind == "warm":
        return f"write with it warmed to about {amount:.0f} °C"
    name = action.what.replace("-", " ")
    if action.kind == "pour":
        return f"pour in {amount:g} ml from the {name}"
    if action.kind == "add-liquid":
        return f"add {amount:g} ml of {name.removeprefix('the ')}"
    return f"stir in {amount:g} g of the {name}"


def course_sentence(clauses: Sequence[str], actions: Sequence[Action], *, has_iron: bool) -> str:
    """Return a whole course as a sentence or two; says when no more iron is wanted."""
    text = clauses[0] if len(clauses) == 1 else ", ".join(clauses[:-1]) + " and " + clauses[-1]
    text = text[0].upper() + text[1:] + "."
    adds_iron = any(a.kind == "add-lot" and "vitriol" in a.material + a.what for a in actions)
    if has_iron and not adds_iron:
        text += " No more iron."
    return text


def difference_words(distance: float) -> str:
    """Return a CIEDE2000 in words."""
    for limit, words in (
        (1.0, "the same to the eye"),
        (2.0, "apart only side by side"),
        (4.0, "visibly near"),
        (10.0, "plainly different"),
    ):
        if distance < limit:
            return words
    return "far off"


def why_words(
    now: NDArray[np.float64], then: NDArray[np.float64], flow: float, permanence: float, left: float
) -> str:
    """Return what a course does: where the stroke goes, from where, and what is kept.

    Parameters
    ----------
    now, then : ndarray, shape (M,)
        Distances as it is and after the course.
    flow, permanence : float
        Chances that the limits are kept.
    left : float
        Volume left, ml.
    """
    before = float(np.median(now))
    # numbers-in-code: the median and the 90 % band
    low, middle, high = (float(v) for v in np.percentile(then, (5, 50, 95)))
    text = (
        f"The dry stroke should come from {before:.0f} to about {middle:.0f} steps of colour from the page "
        f"(nine times in ten between {low:.0f} and {high:.0f}): {difference_words(middle)}. "
        f"It leaves about {sensible(left):g} ml."
    )
    if flow < value("counsel.enough"):
        text += f" It may not flow as your pen wants (chance that it does: {100 * flow:.0f} %)."
    if permanence < value("counsel.enough"):
        text += f" Iron may outrun the tannin (chance that it does not: {100 * permanence:.0f} %)."
    return text


def out_of_reach_words(mine: NDArray[np.float64], theirs: NDArray[np.float64], *, most_boiled: bool) -> str:
    """Return why a page cannot be reached, and what would reach it, from dry Lab at best and the page's.

    Parameters
    ----------
    mine, theirs : ndarray, shape (3,)
        Median L*, a*, b* of the best course and of the exemplar.
    most_boiled : bool
        Whether even boiling down as far as counsel goes leaves it too pale.
    """
    lightness, yellow = mine[0] - theirs[0], mine[2] - theirs[2]
    if lightness > abs(yellow):
        far = "even boiled right down it stays" if most_boiled else "it stays"
        return f"With what is on the bench {far} too pale: a stronger liquor or a fresh steep would reach the page."
    if yellow > 0:
        return (
            "With what is on the bench the ink stays browner than the page: "
            "a bluer tannin (galls, sumac) would reach it."
        )
    return (
        "With what is on the bench the ink stays bluer than the page: a browner tannin "
        "(alder, oak bark), or time, would reach it."
    )
