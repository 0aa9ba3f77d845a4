"""A difference shared out, as lines of text with a bar each: for the command, and for a reader of the screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inkhorn.report import words

_NAMES = {"pen": "pen and hand"}
# numbers-in-code: layout of a line
_BAR = 30


def bars(answer: Mapping[str, Any]) -> list[str]:
    """Return a line for each cause: its name, a bar as long as its share, the share in dE and its band.

    ``answer`` is the JSON form of a comparison. The greatest comes first and the ink last; a bar of
    minus signs is a cause that hides part of the difference.
    """
    shares = answer["shares"]
    longest = max((abs(s["median"]) for s in shares.values()), default=0)
    if not longest:
        return []
    order = sorted(shares, key=lambda name: (name == "ink", -shares[name]["median"]))
    return [_line(_NAMES.get(name, name), shares[name], longest) for name in order]


def _line(name: str, share: Mapping[str, float], longest: float) -> str:
    middle = share["median"]
    bar = ("=" if middle > 0 else "-") * round(_BAR * abs(middle) / longest)
    low, high = (words.number(share[key], 0.1) for key in ("p05", "p95"))
    return f"{name:<13}{bar:<{_BAR}} {words.number(middle, 0.1):>5}  (surely {low} to {high})"
