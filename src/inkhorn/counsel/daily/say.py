"""The day's adjustment in one plain sentence and its band."""

from __future__ import annotations

from collections.abc import Sequence

from inkhorn.counsel.actions import Action
from inkhorn.counsel.daily.result import Likeness
from inkhorn.counsel.plain import amount_words, two_digits
from inkhorn.estimate.figures import Figure
from inkhorn.handbook.load import value


def clause(action: Action, amount: float) -> str:
    """Return one thing to do as an imperative clause."""
    name = action.what.replace("-", " ")
    if action.kind == "warm":
        return f"write with it warmed to about {amount_words(amount, 'degC')}, in a bowl of warm water"
    if action.kind == "pour":
        return f"pour in {amount_words(amount, 'ml')} from the {name}"
    if action.kind == "add-liquid":
        return f"stir in {amount_words(amount, 'ml')} of {name}"
    return f"stir in {amount_words(amount, 'g', action.material)} of {name}, and let it dissolve"


def _thickness(now: Likeness) -> str:
    """Return how thick an ink is beside another in words."""
    ratio = now.thickness.median
    # numbers-in-code: one part in twenty, which no hand feels
    if abs(ratio - 1) < 0.05:
        return "as thick"
    per_cent = abs(ratio - 1) * 100
    return f"about {per_cent:.0f} % {'thicker' if ratio > 1 else 'thinner'}"


def _band(after: Likeness) -> str:
    d = after.distance
    return (
        f"dry colour about {d.median:.1f} steps from it (nine times in ten within {d.p95:.1f}) and {_thickness(after)} "
        f"(between {after.thickness.p05:.2f} and {after.thickness.p95:.2f} times)"
    )


def sentence(
    clauses: Sequence[str],
    like: str,
    now: Likeness,
    after: Likeness,
    evaporated: Figure | None,
    *,
    alike: bool,
) -> str:
    """Return what to do and what it comes to."""
    gone = ""
    if evaporated is not None and evaporated.median >= 0.5:
        gone = (
            f" Since then about {two_digits(evaporated.median)} ml dried away "
            f"(between {two_digits(evaporated.p05)} and {two_digits(evaporated.p95)})."
        )
    if not clauses:
        why = (
            "what it is off by is less than the eye sees and the hand feels"
            if alike
            else "nothing on the bench is expected to bring it enough nearer to be worth doing"
        )
        return f"Leave it: {why}. It is like {like}, {_band(now)}.{gone}"
    what = clauses[0] if len(clauses) == 1 else ", ".join(clauses[:-1]) + " and " + clauses[-1]
    text = f"{what[0].upper()}{what[1:]}: that should bring back the ink of {like}, {_band(after)}."
    text += f" As it stands it is {_thickness(now)} and {now.distance.median:.1f} steps off.{gone}"
    if now.distance.p95 - now.distance.p05 > 2 * value("counsel.match"):
        text += " One stroke of it written now and read dry would make this surer."
    return text
