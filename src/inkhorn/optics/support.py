"""A smooth spectrum, like skin's, for a support of which only the colour is known."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.colour.lab import xyz_to_lab
from inkhorn.errors import InkhornError
from inkhorn.handbook.load import value
from inkhorn.optics.observe import xyz
from inkhorn.optics.spectra import WAVELENGTHS, observer

_ROUNDS = 60
_HALVINGS = 8
_CLOSE = 1e-9
# numbers-in-code: rounds and limits of a solver; the logistic function is flat beyond
_STEEPEST = 40


def skin_shape(*, top: float, fall: float, width: float) -> NDArray[np.float64]:
    """Return ``top - fall exp(-(nm - 400) / width)``, the plain shape of skin's reflectance ``(W,)``."""
    # numbers-in-code: where the curve starts, by its definition above
    return np.asarray(top - fall * np.exp(-(WAVELENGTHS - 400) / width))


def default_shape() -> NDArray[np.float64]:
    """Return the handbook's shape (rows ``optics.support.*``)."""
    return skin_shape(
        top=value("optics.support.top"),
        fall=value("optics.support.fall"),
        width=value("optics.support.width"),
    )


def reflectance(
    lab: ArrayLike, *, shape: NDArray[np.float64] | None = None, strict: bool = True
) -> NDArray[np.float64]:
    r"""Return a smooth reflectance that has exactly this colour under D65.

    .. math:: \mathrm{logit}\, R(\lambda) = \mathrm{logit}\, R_0(\lambda) + c_0 + c_1 u + c_2 u^2

    with u the wavelength scaled to -1 to 1. R0 is the shape of skin; the three
    numbers c are found by damped Newton steps on L*, a*, b*. The reflectance is
    between 0 and 1 by construction.

    Parameters
    ----------
    lab : array_like
        ``(3,)`` or ``(..., 3)``, D65, 2 degrees.
    shape : ndarray, optional
        R0, ``(W,)``; the handbook's skin if left out.
    strict : bool
        Whether a colour that no surface can have is an error; otherwise (for draws, where one
        in thousands may stray) it is given the nearest spectrum that was found.

    Returns
    -------
    ndarray
        ``(..., W)``; its Lab agrees with the one asked for to 1e-6.

    Raises
    ------
    InkhornError
        If ``strict`` and no reflectance of this form has the colour (nothing real is so bright or so saturated).

    References
    ----------
    The logistic form after [JakobHanika2019]. Checked in ``tests/unit/optics/test_support.py``.
    """
    target = np.asarray(lab, dtype=np.float64)
    flat = target.reshape(-1, 3)
    start = default_shape() if shape is None else shape
    base = np.log(start / (1 - start))
    u = np.linspace(-1, 1, len(WAVELENGTHS))
    bend = np.stack([np.ones_like(u), u, u * u])
    spectrum, error = _solve(flat, base, bend)
    bad = ~(np.max(np.abs(error), axis=1) < 1e-6)
    if strict and bad.any():
        worst = ", ".join(f"{v:.1f}" for v in flat[bad][0])
        raise InkhornError(
            f"no surface has the colour L*, a*, b* = {worst} under daylight",
            where="support colour",
            mend="Measure the bare support again, beside the stroke and out of the gleam",
        )
    return spectrum.reshape(*target.shape[:-1], len(WAVELENGTHS))


def _solve(
    target: NDArray[np.float64], base: NDArray[np.float64], bend: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Newton with step halving for all rows at once; rows that are done stand still."""
    c = np.zeros((len(target), 3))
    spectrum, error = _evaluate(c, target, base, bend)
    stuck = np.zeros(len(target), dtype=bool)
    for _ in range(_ROUNDS):
        rows = np.flatnonzero((np.max(np.abs(error), axis=1) > _CLOSE) & ~stuck)
        if not rows.size:
            break
        step = _newton_step(spectrum[rows], error[rows], bend)
        for _ in range(_HALVINGS):
            trial = np.clip(c[rows] - step, -_STEEPEST, _STEEPEST)
            new_spectrum, new_error = _evaluate(trial, target[rows], base, bend)
            better = np.linalg.norm(new_error, axis=1) < np.linalg.norm(error[rows], axis=1)
            done = rows[better]
            c[done], spectrum[done], error[done] = trial[better], new_spectrum[better], new_error[better]
            rows, step = rows[~better], step[~better] / 2
            if not rows.size:
                break
        stuck[rows] = True
    return spectrum, error


def _evaluate(
    c: NDArray[np.float64], target: NDArray[np.float64], base: NDArray[np.float64], bend: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    spectrum = 1 / (1 + np.exp(-(base + c @ bend)))
    return spectrum, xyz_to_lab(xyz(spectrum)) - target


def _newton_step(
    spectrum: NDArray[np.float64], error: NDArray[np.float64], bend: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the step from the slope of Lab against c, by the chain rule through XYZ."""
    slope = spectrum * (1 - spectrum)
    xyz_by_c = np.einsum("nw,kw,wx->nxk", slope, bend, observer().xyz, optimize=True)
    lab_by_xyz = _lab_slope(xyz(spectrum))
    jacobian = lab_by_xyz @ xyz_by_c
    tiny = 1e-12 * np.eye(3)
    return np.asarray(np.linalg.solve(jacobian + tiny, error[..., None])[..., 0])


def _lab_slope(tristimulus: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return dLab/dXYZ ``(N, 3, 3)`` by central differences (smooth but for the dark toe)."""
    out = np.empty((len(tristimulus), 3, 3))
    for k in range(3):
        h = 1e-6 * np.eye(3)[k]
        out[:, :, k] = (xyz_to_lab(tristimulus + h) - xyz_to_lab(tristimulus - h)) / 2e-6
    return out
