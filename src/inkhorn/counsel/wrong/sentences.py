"""What is wrong, in plain words: second person, present tense, no more digits than meant."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inkhorn.counsel.plain import two_digits
from inkhorn.counsel.wrong.answer import Branch, Cause
from inkhorn.counsel.wrong.causes import Sign
from inkhorn.counsel.wrong.checks import Check
from inkhorn.counsel.wrong.complaints import Complaint
from inkhorn.handbook.load import group, value

OTHER = "something-else"


def words_of(cause: str) -> str:
    """Return a cause as a clause."""
    return str(group(f"causes.{cause}")["words"])


def odds_words(chance: float) -> str:
    """Return a probability as a maker says it: in so many of ten cases, or hardly ever."""
    tenths = round(10 * chance)
    if tenths == 0:
        return "hardly likely"
    return "nearly certain" if tenths == 10 else f"about {tenths} in 10"


def because_words(sign: Sign | None, lift: float | None) -> str:
    """Return the figure that speaks for or against a cause; nothing where it changes little."""
    if sign is None or lift is None:
        return ""
    told = value("causes.sign.told")
    if 1 / told < lift < told:
        return ""
    middle = float(np.median(sign.figure))
    unit = "" if sign.unit == "1" else f" {sign.unit}"
    how = "speaks for it" if lift > 1 else "speaks against it"
    return f"{sign.label} is about {two_digits(middle)}{unit}, and begins to count at {two_digits(sign.begins)}{unit}: {how}"


def answer_sentence(complaint: Complaint, causes: Sequence[Cause]) -> str:
    """Return the likeliest causes of a complaint in one sentence."""
    first, *others = [c for c in causes if c.key != OTHER]
    text = f"That {complaint.words}: most likely {first.words} ({odds_words(first.chance)})"
    near = [c for c in others if c.chance >= first.chance / 4][:2]
    if near:
        text += "; else " + ", or ".join(f"{c.words} ({odds_words(c.chance)})" for c in near)
    return text + "."


def note_words(vessel: str | None, *, known: bool, readings: int) -> str:
    """Return what an answer rests on."""
    if vessel is None:
        return "Nothing is known of the pot: these are the odds of common practice alone."
    name = vessel.replace("-", " ")
    if not known:
        return f"Nothing can be told of what is in the {name}: these are the odds of common practice alone."
    if readings == 0:
        return (
            f"The odds rest on common practice and on what went into the {name}; nothing was measured of it."
        )
    many = "one reading" if readings == 1 else f"{readings} readings"
    return f"The odds rest on common practice, on what went into the {name}, and on {many}."


def check_sentence(check: Check, branches: Sequence[Branch]) -> str:
    """Return what to check first, with what each outcome would mean."""
    ask = check.ask[0].upper() + check.ask[1:]
    means = "; ".join(f"if {_said(b.means)}, {words_of(b.cause)} ({odds_words(b.then)})" for b in branches)
    return f"{ask}: {means}."


def _said(means: str) -> str:
    """Return what is seen as a clause that can follow an if."""
    return means if means.split(" ", maxsplit=1)[0] in _SUBJECTS else f"it is {means}"


_SUBJECTS = ("it", "the", "they", "there")
