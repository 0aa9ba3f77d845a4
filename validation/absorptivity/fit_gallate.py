"""Fit the shape of the gallate curve to the measured colours of five dry inks, and print it.

Run from the root of the repository: ``python validation/absorptivity/fit_gallate.py``.

Diaz Hidalgo et al. (Heritage Science 6:63, 2018, table 1) made five inks of galls, ferrous sulfate and gum by recipes
of the fifteenth to seventeenth centuries and give L*, a*, b* of each when dry. One curve is looked for, a Gaussian
band and a tail that falls from the violet, with which each of the five lies on its own line of rising strength. What
they were laid on and how the surface mirrors is not in the table: both are varied, and the curve hardly moves. The
lightest of them is darker than 4 % of mirrored light allows, so their instrument left some of the gleam out.

The fit says nothing of how strongly iron absorbs (strength and film are free for each ink), and the tail may hold some
brown of the galls themselves.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import least_squares

from inkhorn.colour.lab import linear_to_lab
from inkhorn.optics import film, observe
from inkhorn.optics.spectra import WAVELENGTHS as NM

INKS = np.array(
    [
        (19.52, 0.84, -3.94),
        (24.44, 1.06, -5.61),
        (26.70, 1.00, -5.54),
        (19.97, 1.03, -4.80),
        (27.26, 1.40, -5.80),
    ]
)
#: Where the curve is looked for, and how firmly: what is remembered of the dry gallate (580 nm, 300 nm wide, very broad).
BEFORE, FIRM = np.array([580.0, 300.0, 0.0]), np.array([30.0, 80.0, 2.5])
FALL = 70.0
SUPPORTS = {
    "white paper": 0.85 - 0.12 * np.exp(-(NM - 400) / 60),
    "new parchment": 0.80 - 0.30 * np.exp(-(NM - 400) / 110),
}


def curve(peak: float, fwhm: float, tail: float) -> np.ndarray:
    """Return a Gaussian band and a tail, (W,)."""
    return np.exp(-4 * np.log(2) * ((NM - peak) / fwhm) ** 2) + tail * np.exp(-(NM - 400) / FALL)


def fitted(support: np.ndarray, k1: float, k2: float) -> tuple[np.ndarray, float]:
    """Return peak, width and tail, and the root mean square of what is left, in units of Lab."""

    def left(x: np.ndarray) -> np.ndarray:
        shape = curve(*x[:3])
        looks = [
            linear_to_lab(observe.linear_rgb(film.reflectance(a * shape, support, k1, k2)))
            for a in np.exp(x[3:])
        ]
        return np.concatenate([np.ravel(np.array(looks) - INKS), (x[:3] - BEFORE) / FIRM])

    got = least_squares(left, [*BEFORE[:2], 0.1, *np.zeros(len(INKS))])
    return got.x[:3], float(np.sqrt(np.mean(got.fun[: INKS.size] ** 2)))


def main() -> None:
    """Print the fit for each support and surface."""
    print("laid on         k1     k2    peak  width  tail   left (Lab)")
    for name, support in SUPPORTS.items():
        for k1 in (0.01, 0.02, 0.025):
            for k2 in (0.5, 0.6):
                (peak, fwhm, tail), rms = fitted(support, k1, k2)
                print(f"{name:14}  {k1:.3f}  {k2:.1f}  {peak:5.0f}  {fwhm:5.0f}  {tail:4.2f}   {rms:.2f}")


if __name__ == "__main__":
    main()
