"""Counsel in plain words: second person, present tense, no more digits than meant."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import Action, sensible
from inkhorn.counsel.plain import amount_words, pages_words, share_words, steps_words
from inkhorn.handbook.load import value


def action_words(action: Action, amount: float, volume: float, seconds: float) -> str:
    """Return one action as an imperative clause."""
    if action.kind == "reduce":
        to = sensible(volume * (1 - amount))
        return f"boil off {share_words(amount)} (down to about {to:g} ml, {amount_words(seconds, 's')} at a simmer)"
    if action.kind == "warm":
        return f"write with it warmed to about {amount:.0f} °C"
    name = action.what.replace("-", " ")
    if action.kind == "pour":
        return f"pour in {amount_words(amount, 'ml')} from the {name}"
    if action.kind == "add-liquid":
        return f"add {amount_words(amount, 'ml', held=volume)} of {name.removeprefix('the ')}"
    return f"stir in {amount_words(amount, 'g', action.material)} of the {name}"


#: What each action is in a word or two.
_GIST = {
    "reduce": "boil down",
    "warm": "write warm",
    "pour": "pour in {}",
    "add-liquid": "water",
    "add-lot": "add {}",
}


def gist(actions: Sequence[Action]) -> str:
    """Return in few words what a course is: "boil down and add plum gum"."""
    if not actions:
        return "leave it as it is"
    return " and ".join(_GIST[a.kind].format(a.what.replace("-", " ")) for a in actions)


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
    now: NDArray[np.float64], then: NDArray[np.float64], flow: float, permanence: float, left: str
) -> str:
    """Return what a course does: where the stroke goes, from where, and what is kept.

    Parameters
    ----------
    now, then : ndarray, shape (M,)
        Distances as it is and after the course.
    flow, permanence : float
        Chances that the limits are kept.
    left : str
        What is left, in a sentence.
    """
    before = float(np.median(now))
    # numbers-in-code: the median and the 90 % band
    low, middle, high = (float(v) for v in np.percentile(then, (5, 50, 95)))
    come = f"{'stay at' if round(middle) == round(before) else 'come to'} about {middle:.0f}"
    text = (
        f"The dry stroke is {steps_words(before)} from the page and should {come} "
        f"(nine times in ten between {low:.0f} and {high:.0f}): {difference_words(middle)}. "
        f"{left}"
    )
    if flow < value("counsel.enough"):
        text += f" It may not flow as your pen wants (chance that it does: {100 * flow:.0f} %)."
    if permanence < value("counsel.enough"):
        text += f" Iron may outrun the tannin (chance that it does not: {100 * permanence:.0f} %)."
    return text


def left_words(ml: float, page: float, keep: float) -> str:
    """Return how much ink a course leaves, in ml and pages, and whether that is short of what is wanted."""
    text = f"It leaves about {sensible(ml):g} ml ({pages_words(ml, page)})."
    if keep and ml < keep:
        text += f" That is short of the {keep:g} ml that you want to keep."
    return text


def leave_words(distance: NDArray[np.float64], match: float, *, stop: bool, checks: bool) -> str:
    """Return what is said where no course beats leaving the pot as it is."""
    words = difference_words(float(np.median(distance)))
    if match >= value("counsel.enough"):
        return f"Leave it: it matches the page as nearly as can be told (chance {100 * match:.0f} %). Write."
    text = f"Nothing on the bench is expected to do better than leaving the pot as it is: {words}."
    if stop:
        return f"{text} Another trial is not worth the ink: no quick check would change that either."
    return f"{text} Find out more before you change it." if checks else text


def cup_first(drawn: str, clauses: Sequence[str]) -> str:
    """Return that a course is better tried on a cup of the pot first, which can be thrown away."""
    *steps, last = drawn, *clauses
    return f"Better first on a cup of it, and keep the pot: {', '.join(steps)} and {last}."


def venture_words() -> str:
    """Return what is said where no course is expected to do better and something has to be tried."""
    return (
        "On the average no change is expected to come nearer than the pot is now. "
        "If you go on, this one has the best chance, and its strip tells most."
    )


def out_of_reach_words(
    mine: NDArray[np.float64], theirs: NDArray[np.float64], *, most_boiled: bool, known: bool
) -> str:
    """Return why a page cannot be reached, and what would reach it, from dry Lab at best and the page's.

    Parameters
    ----------
    mine, theirs : ndarray, shape (3,)
        Median L*, a*, b* of the best course and of the exemplar.
    most_boiled : bool
        Whether even boiling down as far as counsel goes leaves it too pale.
    known : bool
        Whether what would reach it has been found, and is said in its own words.
    """
    lightness, yellow = mine[0] - theirs[0], mine[2] - theirs[2]
    if lightness > abs(yellow):
        far = "even boiled right down it stays" if most_boiled else "it stays"
        text, help_ = f"With what is on the bench {far} too pale", "a stronger liquor or a fresh steep"
    elif yellow > 0:
        text, help_ = (
            "With what is on the bench the ink stays browner than the page",
            "a bluer tannin (galls, sumac)",
        )
    else:
        text = "With what is on the bench the ink stays bluer than the page"
        help_ = "a browner tannin (alder, oak bark), or time,"
    return f"{text}." if known else f"{text}: {help_} would help."
