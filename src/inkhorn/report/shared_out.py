"""A difference shared out, as lines of text with a bar each: for the command, and for a reader of the screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inkhorn.report import words

_NAMES = {"pen": "pen and hand"}
# numbers-in-code: layout of a line
_BAR = 30


def bars(answer: Mapping[str, Any]) -> list[str]:
    """Return a line for each cause: its name, a bar as long as its share, its percent of the whole and a band.

    ``answer`` is the JSON form of a comparison. The greatest comes first and the ink last; a bar of
    minus signs is a cause that hides part of the difference.
    """
    shares = answer["shares"]
    longest = max((abs(s["median"]) for s in shares.values()), default=0)
    whole = answer["difference"]["median"]
    if not (longest and whole):
        return []
    order = sorted(shares, key=lambda name: (name == "ink", -shares[name]["median"]))
    return [_line(_NAMES.get(name, name), shares[name], longest, whole) for name in order]


def note(answer: Mapping[str, Any]) -> str | None:
    """Return what the percents are of, where a cause hides part of the rest: they then pass a hundred; else None.

    The sentence shares out what works one way, so that its words and these percents differ there.
    """
    if answer["difference"]["median"] and min(s["median"] for s in answer["shares"].values()) < 0:
        return (
            "Percents are of the difference left to see. A minus hides part of it, so that the others come to more "
            "than 100; the sentence shares out those others alone."
        )
    return None


def _line(name: str, share: Mapping[str, float], longest: float, whole: float) -> str:
    middle = share["median"]
    bar = ("=" if middle > 0 else "-") * round(_BAR * abs(middle) / longest)
    percent, low, high = (words.number(100 * share[key] / whole, 1) for key in ("median", "p05", "p95"))
    return f"{name:<13}{bar:<{_BAR}} {percent:>4} percent  (surely {low} to {high})"
