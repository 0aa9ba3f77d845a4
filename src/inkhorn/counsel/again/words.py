"""A recipe in plain words: each step as a maker would be told it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inkhorn.counsel.again.checkpoints import drops_laid
from inkhorn.counsel.again.result import Chance
from inkhorn.counsel.plain import Pot, amount_words, finger_words, steps_words, time_words
from inkhorn.handbook.load import value

#: How much liquor is dried to see what stays, ml.
DISH = 100.0
#: What water takes to run out, for an example, s.
_WATER_RUNS = 10.0


def spoken(name: str) -> str:
    """Return a name as it is said."""
    return name.replace("-", " ")


def plain_number(number: float, digits: int = 2) -> str:
    """Return a number to so many significant digits, without an exponent."""
    if number <= 0:
        return "0"
    places = max(digits - 1 - int(np.floor(np.log10(number))), 0)
    # numbers-in-code: whole numbers beyond a hundred
    rounded = round(number, digits - 1 - int(np.floor(np.log10(number))))
    return f"{rounded:.{places}f}" if places else f"{rounded:.0f}"


def until_words(reading: str, place: float, *, spindle: bool, parts: int, like: str, tolerance: float) -> str:
    """Return a checkpoint as "it reads so" (``place`` as it is read, not its logarithm)."""
    if reading == "specific_gravity":
        if spindle:
            return f"a spindle in a cooled sample reads {place:.4f} (within {plain_number(tolerance, 1)})"
        # A level jug of it against the same jug of water: no spindle is needed.
        heavier = (place - 1) * DISH
        return (
            f"{DISH:.0f} ml of it, cooled, weigh {plain_number(heavier)} g more than {DISH:.0f} ml of water "
            f"in the same jug (specific gravity {place:.3f})"
        )
    if reading == "dry_residue":
        grams = place * DISH / 1000
        return f"{DISH:.0f} ml of it, dried in a dish on the stove, leave {plain_number(grams)} g ({plain_number(place)} g a litre)"
    if reading == "discharge":
        if place < 1 + value("counsel.check.discharge.error") / 2:
            return "it runs out of a syringe or a pin-holed cup as quickly as water does"
        return (
            f"it takes {place:.2f} times as long as water to run out of the same syringe or pin-holed cup "
            f"(water {_WATER_RUNS:.0f} s: ink {_WATER_RUNS * place:.1f} s)"
        )
    if reading == "strip":
        return strip_words(parts, place, like, tolerance)
    return f"it stands at {amount_words(float(plain_number(place)), 'ml')}"


def strip_words(parts: int, place: float, like: str, tolerance: float) -> str:
    """Return how drops of an ink should look."""
    how = "undiluted" if parts == 1 else f"thinned with water one part in {parts}"
    drops = f"{drops_laid()} drops of it, {how}, laid on the same skin and left to dry until the next day,"
    if like == "kept":
        return f"{drops} look like the drops that you kept of the first ink, in one light and one picture"
    if like:
        return f"{drops} look like trial {like} beside them (density about {place:.2f})"
    return f"{drops} photograph at a density of {place:.2f} (within {tolerance:.2f})"


def gather_words(name: str, grams: float, material: str, source: str | None, prepared: Sequence[str]) -> str:
    """Return what to get, from where, and what to do to it first."""
    text = f"Get {amount_words(float(plain_number(grams)), 'g', material)} of {spoken(name)}"
    hows = {"dry": "dry it", "crush": "crush it", "grind": "grind it", "wash": "wash it"}
    todo = [hows[h] for h in prepared if h in hows]
    text += "; " + " and ".join(todo) if todo else ""
    return text + (f". Last time: {source}." if source else ".")


def steep_words(
    name: str,
    grams: float,
    material: str,
    ml: float,
    liquid: str,
    seconds: float,
    celsius: float | None,
    pieces: str,
) -> str:
    """Return a steep."""
    warm = "" if celsius is None else f", kept at about {celsius:.0f} °C"
    size = "" if pieces in ("", "whole") else f", {'ground to powder' if pieces == 'powder' else pieces},"
    what = amount_words(float(plain_number(grams)), "g", material)
    return (
        f"Steep {what} of the {spoken(name)}{size} in {amount_words(float(plain_number(ml)), 'ml')} of "
        f"{spoken(liquid)} for {time_words(seconds).removeprefix('about ')}{warm}."
    )


def boil_words(checkpoint: str, ml: float, seconds: float, vessel: Pot | None, *, boils: bool) -> str:
    """Return the step that brings the liquor to its strength."""
    deep = finger_words(ml, vessel)
    expected = f"about {plain_number(ml)} ml{f', {deep}' if deep else ''}"
    if not boils:
        return f"Thin it with water until {checkpoint}. With lots like the last ones that is at {expected}."
    return (
        f"Boil it down until {checkpoint}. With lots like the last ones that is at {expected}, after "
        f"{time_words(seconds)} at a simmer; a stronger lot is there sooner and gives more."
    )


def per_words(name: str, reading: str, grams: float, expected: float, material: str) -> str:
    """Return a dose in proportion to what is read."""
    usual = amount_words(float(plain_number(expected)), "g", material)
    if reading == "dry_residue":
        return (
            f"Dry {DISH:.0f} ml of the liquor in a dish, weigh what stays, and reckon from it what the whole pot would leave. "
            f"Stir in {plain_number(grams)} g of {spoken(name)} for each gram of that. With lots like the last "
            f"ones that is {usual}."
        )
    return (
        f"Measure in a jug what there is. For each {DISH:.0f} ml stir in {plain_number(grams)} g of {spoken(name)}. "
        f"With lots like the last ones that is {usual}."
    )


def until_dose_words(name: str, checkpoint: str, expected: float, most: float, material: str) -> str:
    """Return a dose stirred in little by little."""
    usual = amount_words(float(plain_number(expected)), "g", material)
    return (
        f"Stir in {spoken(name)} little by little until {checkpoint}. With lots like the last ones that takes {usual}; "
        f"stop at {plain_number(most)} g whatever it shows."
    )


def poured_words(what: str, each: float, expected: float) -> str:
    """Return a liquor made beside poured in, in proportion to what there is."""
    return (
        f"Measure in a jug what there is. For each {DISH:.0f} ml pour in {plain_number(each)} ml of {what}. With lots "
        f"like the last ones that is {plain_number(expected)} ml; if there is less, pour in all."
    )


def until_poured_words(what: str, checkpoint: str, expected: float) -> str:
    """Return a liquor made beside poured in little by little."""
    return (
        f"Pour in {what} little by little until {checkpoint}. With lots like the last ones that takes "
        f"{plain_number(expected)} ml."
    )


def plain_dose_words(name: str, grams: float, material: str) -> str:
    """Return a dose by weight."""
    return f"Stir in {amount_words(float(plain_number(grams)), 'g', material)} of {spoken(name)}."


def trim_words(checkpoint: str) -> str:
    """Return the last step."""
    return (
        f"Last, try it: it is right when {checkpoint}. If it is too strong stir in a little water, if too weak "
        "boil a little off, and try again."
    )


def out_of(chance: float) -> str:
    """Return a chance as so many lots in a hundred."""
    return f"{100 * chance:.0f} in 100"


def why_words(
    chance: Chance, weights: Chance, first_flow: float, first_permanence: float, fold: float, ml: float
) -> str:
    """Return what to expect of the recipe, and of the same by weight alone."""
    d, w = chance.distance, weights.distance
    text = (
        f"Made so, {out_of(chance.match)} new lots give the same ink: within {value('counsel.match'):g} just visible steps of colour "
        f"of the first, flowing and within the iron limit. By fixed weights alone it is {out_of(weights.match)}. "
        f"The dry stroke comes out {steps_words(d.median)} from the first (nine times in ten within "
        f"{d.p95:.0f}); by weights {steps_words(w.median)} (within {w.p95:.0f}). "
        f"It gives {plain_number(ml)} ml or more nine times in ten, with lots like the last ones about "
        f"{plain_number(chance.volume.median)} ml."
    )
    weak = []
    if first_flow < value("counsel.enough"):
        weak.append(f"flows as its pen wants with a chance of {100 * first_flow:.0f} % only")
    if first_permanence < value("counsel.enough"):
        weak.append(f"keeps the iron limit with a chance of {100 * first_permanence:.0f} % only")
    if weak:
        text += f" The first ink itself {' and '.join(weak)}: what is like it shares that."
    if fold > value("counsel.match") / 2:
        text += (
            f" How the first ink was made is itself known so far only: the same steps with the very same lots, measured out, "
            f"come to {steps_words(fold)} from it."
        )
    return text
