"""How a support takes ink: how far a stroke spreads into it, and what that does to width, edge and film.

Washburn's law is used for its scaling only: a liquid creeps into pores as the
root of time over viscosity. How far on this skin is an unknown of its own,
learnt from words about it and from the width of strokes.
"""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.daybook.inventory import Thing
from inkhorn.flow import film as film_flow
from inkhorn.handbook.load import group, row, value
from inkhorn.quantities import Quantity
from inkhorn.replay import target
from inkhorn.replay.draws import Draws, is_sure, quantity_row
from inkhorn.replay.liquor import Array

WITH_PEN = ("pen", "line", "pangram")


@attrs.frozen(kw_only=True, eq=False)
class Ground:
    """One support as ink meets it.

    Parameters
    ----------
    name, kind : str
        Its own name, and the handbook's key of its kind.
    side : str or None
        Hair, flesh, recto ...
    lab, lab_sd : ndarray, shape (3,)
        Its bare colour and how surely it is known.
    """

    name: str
    kind: str
    side: str | None
    lab: Array
    lab_sd: Array


def usual(name: str) -> Ground:
    """Return a support of which nothing is known: sheep parchment."""
    return Ground(
        name=name,
        kind="sheep-parchment",
        side=None,
        lab=target.default_support_lab(),
        lab_sd=target.default_support_sd(),
    )


def uptake(name: str, kind: str, side: str | None, draws: Draws) -> Array:
    """Return how readily a support takes ink against well-prepared goat skin, (N,)."""
    own = draws.of(f"support:{name}/uptake", f"supports.{kind}.uptake")
    return own * value(f"line.side.{side}") if side in group("line.side") else own


def creep(taken: Array | float, viscosity: Array) -> Array:
    """Return how far an ink creeps beyond each edge of a stroke, um, (N,)."""
    against = value("pens.all.reference_viscosity") / viscosity
    return np.asarray(value("line.creep") * taken * np.sqrt(against))


def pen_width(tool: str, kind: str, told: Quantity | None, draws: Draws) -> Array:
    """Return the width of a pen's edge, mm, (N,): as told, else the handbook's for its cut."""
    if told is None:
        return draws.of(f"pen:{tool or kind}/width", f"pens.{kind}.width")
    if is_sure(told):
        return draws.full(told.value)
    return draws.of(f"pen:{tool}/width", quantity_row(f"pen:{tool}/width", told))


def line_width(*, tool: str, edge: Array, taken: Array, viscosity: Array, draws: Draws) -> Array:
    """Return the width of a stroke on the support, mm, (N,).

    The pen's edge, times how broad this hand writes with it, a little more
    with thin ink; and what creeps beyond either edge.
    """
    against = value("pens.all.reference_viscosity") / viscosity
    drawn = edge * draws.of(f"pen:{tool}/broad", "line.broad") * against ** draws.of("line/run", "line.run")
    return film_flow.spread_width(pen_width=drawn, soak=creep(taken, viscosity))


def raggedness(*, taken: Array, viscosity: Array, draws: Draws) -> Array:
    """Return how far the edge of a stroke wanders, mm, (N,): more with thin ink and on a thirsty support."""
    against = value("pens.all.reference_viscosity") / viscosity
    base = draws.of("line/ragged", "line.ragged")
    return np.asarray(
        base
        * against ** draws.of("line/ragged_run", "line.ragged_run")
        * taken ** draws.of("line/ragged_thirst", "line.ragged_thirst")
    )


def thinning(edge: float, taken: Array) -> Array:
    """Return the film of a pen stroke on a support against that on well-prepared skin, (N,).

    A pen lays so much ink along a metre; where the stroke spreads, the film is
    thinner. ``edge`` is the width of the pen's edge, mm.
    """
    usual_one = film_flow.spread_width(pen_width=edge, soak=value("line.creep"))
    return np.asarray(usual_one / film_flow.spread_width(pen_width=edge, soak=value("line.creep") * taken))


def edge_of(pen: Thing | None) -> float:
    """Return the width of a pen's edge, mm, as told or as its cut usually has it; a goose quill's where nobody said."""
    if pen is not None and pen.width is not None:
        return pen.width.value
    return value(f"pens.{(pen.material if pen else None) or 'goose-quill'}.width")


def of_thing(name: str, sheet: Thing | None, draws: Draws) -> Array:
    """Return how readily a support takes ink, (N,), from what was declared of it."""
    kind, side = (None, None) if sheet is None else (sheet.material, sheet.side)
    return uptake(name, kind or "sheep-parchment", side, draws)


def colour(ground: Ground, draws: Draws) -> Array:
    """Return draws of a bare support's colour, L*, a*, b*, (N, 3)."""
    unit = row("misfit.unit")
    z = np.stack([draws.of(f"support:{ground.name}/{axis}", unit) for axis in "Lab"], axis=-1)
    return np.asarray(ground.lab + ground.lab_sd * z)
