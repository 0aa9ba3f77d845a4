"""How much more ink the original's pen laid than the trial's, as far as pens are known."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inkhorn.flow.film import wet_thickness
from inkhorn.handbook.load import group, row

Array = NDArray[np.float64]


def film_ratio(
    trial: str,
    original: str | None = None,
    *,
    trial_width: float | None = None,
    original_width: float | None = None,
    draws: int = 256,
    seed: int = 0,
) -> Array:
    """Return draws of the original's wet film over the trial's, ``(draws,)``.

    Parameters
    ----------
    trial : str
        Handbook pen or way of marking of the trial: "reed", "goose-quill", "metal-nib", "dip", "drop".
    original : str, optional
        The original's pen; the trial's if left out. The same pen on both sides lays the same film,
        whatever that film is, but for its width.
    trial_width, original_width : float, optional
        Widths of the strokes, mm; without both, width is left out of it.

    Notes
    -----
    Viscosity is not in it: a thicker ink lays a thicker film, and that is the ink's doing.
    """
    rng = np.random.default_rng(seed)
    exponent = row("flow.film.width_exponent").draw(draws, rng)
    base = {
        name: row(f"pens.{name}.film").draw(draws, rng) for name in dict.fromkeys((trial, original or trial))
    }
    width = 1.0 if trial_width is None or original_width is None else original_width / trial_width
    common = {"viscosity": 1, "reference_viscosity": 1, "exponent": 0}
    theirs = wet_thickness(base=base[original or trial], width=width, width_exponent=exponent, **common)
    return theirs / wet_thickness(base=base[trial], **common)


def between_hands(
    trial: str,
    original: str | None = None,
    *,
    trial_width: float | None = None,
    original_width: float | None = None,
    draws: int = 256,
    seed: int = 0,
) -> Array:
    """Return draws of the original's wet film over the trial's as pens *and hands* lay it, ``(draws,)``.

    As `film_ratio`, with the scatter of film from one stroke to the next on both sides
    (row ``misfit.stroke``). Where the original's pen is not known it is of the trial's kind;
    beside a trial that no pen made it is any pen that writes, each as likely.
    """
    widths = {"trial_width": trial_width, "original_width": original_width}
    known = group("pens")
    kinds = [original or trial]
    if original is None and known[trial].get("role") == "method":
        kinds = [name for name, thing in known.items() if thing.get("role") == "pen"]
    each = [film_ratio(trial, kind, **widths, draws=draws, seed=seed) for kind in kinds]
    rng = np.random.default_rng([seed, len(kinds)])
    picked = np.choose(rng.integers(0, len(each), draws), each)
    hand = row("misfit.stroke").value * np.sqrt(2) * rng.standard_normal(draws)
    return np.asarray(picked * np.exp(hand))
