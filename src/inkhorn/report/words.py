"""Figures with uncertainty as a maker reads them.

A figure is the mapping ``{"median", "p05", "p25", "p75", "p95", "unit"}`` of the
JSON answers.  In words it has no more digits than its own spread allows, and
its range is rounded outwards, so that *surely between* never says too little:

>>> figure = {"median": 183.2, "p05": 152.0, "p25": 170.0, "p75": 196.0, "p95": 214.4, "unit": "ml"}
>>> about(figure)
'about 180 ml'
>>> surely(figure)
'surely between 150 and 215'

*Surely* stands for nine times in ten (the 5th to the 95th percentile).  Where it
is told how many independent draws a figure rests on (``ess``), no digit is
shown that another set of draws would change: with few draws the words are coarser.

>>> about(figure, ess=1)
'about 200 ml'
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

Figure = Mapping[str, Any]

_LARGER = {"ml": (1000, "litres"), "g": (1000, "kg")}
_SPOKEN = {"1": "", "degC": "°C", "degF": "°F"}


def step_of(width: float) -> float:
    """Return the largest of 1, 2 or 5 times a power of ten that is not above ``width``."""
    if not (math.isfinite(width) and width > 0):
        return 0.0
    power = 10.0 ** math.floor(math.log10(width))
    lead = width / power
    # A width such as 0.2 arrives as 0.19999…; the slack keeps it a 2.
    slack = 1e-9
    if lead >= 5 - slack:
        return 5 * power
    return 2 * power if lead >= 2 - slack else power


def step_over(error: float) -> float:
    """Return the smallest of 1, 2 or 5 times a power of ten that is not below ``error``; 0 for no error."""
    below = step_of(error)
    if below <= 0 or error <= below * (1 + 1e-9):
        return below
    return below * (2.5 if f"{below:e}"[0] == "2" else 2)


def number(value: float, step: float) -> str:
    """Write ``value`` with the decimals of ``step`` (0: as short as three figures allow)."""
    if not math.isfinite(value):
        return "unknown"
    if step <= 0:
        return f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    text = f"{round(value / step) * step:.{places}f}"
    return text.removeprefix("-") if float(text) == 0 else text


def _scaled(figure: Figure) -> tuple[float, float, float, str]:
    """Return median, low, high in the unit that is spoken (1,200 ml is 1.2 litres)."""
    middle, low, high = (float(figure[key]) for key in ("median", "p05", "p95"))
    unit = str(figure.get("unit", "1"))
    factor, name = _LARGER.get(unit, (0, ""))
    if factor and middle >= factor:
        return middle / factor, low / factor, high / factor, name
    return middle, low, high, _SPOKEN.get(unit, unit)


def noise(figure: Figure, ess: float | None) -> tuple[float, float]:
    """Return the Monte Carlo error of the median and of the ends of a figure, from its draws' worth.

    The error of a sample quantile is ``sqrt(q (1 - q) / n) / f`` with ``f`` the
    density there (H. A. David and H. N. Nagaraja, Order Statistics, 3rd ed.,
    2003); ``f`` is read off the quantiles themselves: half of the draws lie
    between the quartiles, a fifth between an end and its quartile, where they
    are about half as dense at the end as on the whole.
    """
    if ess is None or not ess > 0 or figure.get("p25") is None or figure.get("p75") is None:
        return 0.0, 0.0
    low, quarter, upper, high = (float(figure[key]) for key in ("p05", "p25", "p75", "p95"))
    root = math.sqrt(ess)
    middle = math.sqrt(0.5 * 0.5) * (upper - quarter) / 0.5 / root
    ends = math.sqrt(0.05 * 0.95) * 2 * max(quarter - low, high - upper) / 0.2 / root
    return middle, ends


def _steps(figure: Figure, ess: float | None) -> tuple[float, float]:
    """Return the rounding steps of the middle and of the ends of a range, in the unit that is spoken.

    A lopsided range is no reason to round the middle by its long side.
    """
    middle, low, high, _ = _scaled(figure)
    short = min(middle - low, high - middle)
    half = (high - low) / 2
    factor = float(figure["median"]) / middle if middle else 1.0
    of_middle, of_ends = (error / factor for error in noise(figure, ess))
    coarse = max(step_of((short if short > 0 else half) / 2), step_over(of_middle))
    return coarse, max(step_of(half / 4), step_over(of_ends))


def spoken(unit: str) -> str:
    """Return a unit as it is said; nothing for a pure number."""
    return _SPOKEN.get(unit, unit)


def _bare(*texts: str) -> tuple[str, ...]:
    """Strip the zeros after the point that every one of the numbers ends in."""
    while all("." in text and text[-1] in "0." for text in texts):
        texts = tuple(text[:-1] for text in texts)
    return texts


def _join(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit else text


def _vanishing(figure: Figure, ess: float | None) -> bool:
    """Tell whether a figure is so near nothing that only its upper end means anything."""
    middle, low, high, _ = _scaled(figure)
    coarse, fine = _steps(figure, ess)
    if coarse <= 0 or low < 0:
        return False
    return round(middle / coarse) == 0 or (math.floor(low / fine) == 0 and high > 10 * middle)


def about(figure: Figure, ess: float | None = None) -> str:
    """Return the middle of a figure in words: ``about 180 ml``, ``less than 2 mmol/L``."""
    middle, _, high, unit = _scaled(figure)
    coarse, fine = _steps(figure, ess)
    if coarse <= 0:
        return _join(number(middle, 0), unit)
    if _vanishing(figure, ess):
        (top,) = _bare(number(math.ceil(high / fine - 1e-9) * fine, fine))
        return _join(f"less than {top}", unit)
    (text,) = _bare(number(middle, coarse))
    return _join(f"about {text}", unit)


def surely(figure: Figure, ess: float | None = None) -> str:
    """Return the range in words, rounded outwards; empty where there is none to give."""
    _, low, high, _ = _scaled(figure)
    _, fine = _steps(figure, ess)
    if fine <= 0 or _vanishing(figure, ess):
        return ""
    ends = (math.floor(low / fine + 1e-9) * fine, math.ceil(high / fine - 1e-9) * fine)
    bottom, top = _bare(*(number(end, fine) for end in ends))
    return f"surely between {bottom} and {top}"


def phrase(figure: Figure, ess: float | None = None) -> str:
    """Return middle and range together: ``about 180 ml, surely between 150 and 215``."""
    return ", ".join(part for part in (about(figure, ess), surely(figure, ess)) if part)


def chance(probability: float) -> str:
    """Return a probability as odds that a person would say.

    The words follow the plain counting of tens; only the two ends have words
    of their own, because *ten in ten* would claim more than is known.
    """
    if not math.isfinite(probability):
        return "unknown"
    tens = round(probability * 10)
    if tens >= 10:
        return "nearly certain"
    return f"{tens} in 10" if tens > 0 else "hardly any chance"


def joined(words: list[str]) -> str:
    """Join words as a sentence does: ``a``, ``a and b``, ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
