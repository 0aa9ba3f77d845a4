"""Where the pen is off and not the ink: common practice, told as such."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inkhorn.counsel.daily.result import Hint
from inkhorn.daybook.entries import Reading
from inkhorn.handbook.load import group, value
from inkhorn.quantities import Quantity
from inkhorn.replay.fold import Plan

_WET, _DRY = ("wet", "floods"), ("skips", "sparing")


def of_pen(plan: Plan, like: str, strokes: Sequence[str], thickness: float) -> tuple[Hint, ...]:
    """Return hints about pen and desk, from what was read of this morning's strokes.

    Parameters
    ----------
    like : str
        The trial that they should be like.
    strokes : sequence of str
        This morning's trials.
    thickness : float
        Viscosity now over that of ``like``: what the ink explains is no fault of the pen.
    """
    out = []
    width = _apart(plan, like, strokes)
    if width is not None:
        # A thinner ink draws a broader line: only what is beyond that is the pen's.
        beyond = width + value("line.run") * np.log(thickness)
        if abs(beyond) > value("today.width_seen"):
            out.append(_hint("wider" if beyond > 0 else "narrower", like))
    word = _flow_word(plan, strokes)
    felt = value("today.flow_seen")
    if word in _WET and np.log(thickness) > -felt:
        out.append(_hint("wet", like))
    if word in _DRY and np.log(thickness) < felt:
        out.append(_hint("dry", like))
    return tuple(out)


def _hint(what: str, like: str) -> Hint:
    node = group("today.hint")[what]
    return Hint(what=what, sentence=str(node["text"]).format(like=like), mark=str(node["mark"]))


def _apart(plan: Plan, like: str, strokes: Sequence[str]) -> float | None:
    """Return the natural log of the width of this morning's lines over that of the trial; None without both."""
    now = [w for s in strokes for w in _widths(plan, s)]
    then = _widths(plan, like)
    return float(np.log(np.mean(now) / np.mean(then))) if now and then else None


def _widths(plan: Plan, trial: str) -> list[float]:
    return [
        item.entry.value.value
        for item in plan.entries
        if isinstance(item.entry, Reading)
        and item.entry.subject == ("trial", trial)
        and item.entry.what == "line_width"
        and isinstance(item.entry.value, Quantity)
    ]


def _flow_word(plan: Plan, strokes: Sequence[str]) -> str | None:
    words = [
        str(item.entry.value)
        for item in plan.entries
        if isinstance(item.entry, Reading)
        and item.entry.what == "flow"
        and item.entry.subject[0] == "trial"
        and item.entry.subject[1] in strokes
    ]
    return words[-1] if words else None
