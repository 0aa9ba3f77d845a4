"""Make ``handbook/tables/absorptivity.csv`` and its spread from the peaks and widths below.

Run from the root of the repository: ``python validation/absorptivity/make.py``.

The gallate is a Gaussian in wavelength with a tail from the violet, fitted to the measured colours of five dry inks
(``fit_gallate.py``; Diaz Hidalgo et al., Heritage Science 6:63, 2018); its peak lies where peaks are reported (550-650 nm
for iron(III)-tannic acid at pH 3-5, Iffat et al., J. Chem. Soc. Pak. 27 (2005) 174). The catecholate is a
mixture of its first two stages: with one catechol an iron takes red light (700 to 760 nm) and about as much violet (406 nm),
which leaves green; with two it takes twice as much, near 575 nm (the peaks of catechol and its kin in water: Sever and
Wilker, Dalton Trans. 2004, 1061, from memory). How much of each is in a dry film nobody has told: a third may be of the
second stage. Its widths, and the brown, an exponential that is 1 at 400 nm, are from memory. Each iron curve is 1 at its
highest in the visible. The spread of a curve is the root of the summed squares of its change when each number moves by its own spread.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

TABLES = Path(__file__).parents[2] / "src/inkhorn/handbook/tables"
NM = np.arange(380, 731, 10)

#: How fast the gallate's tail falls, nm, and from where on its top is looked for (the tail itself rises on below).
FALL, SEEN_FROM = 70.0, 500
#: The first stage's violet band, nm, and its width; where the second stage's band lies, and its strength over the first's.
SECOND, SECOND_WIDE, TWO, TWICE = 406.0, 130.0, 575.0, 2.0

# name: (shape, its numbers, their spreads)
Shape = Callable[..., np.ndarray]


def band(peak: float, fwhm: float) -> np.ndarray:
    """Return a Gaussian band, 1 at its peak."""
    return np.exp(-4 * np.log(2) * ((NM - peak) / fwhm) ** 2)


def tailed(peak: float, fwhm: float, tail: float) -> np.ndarray:
    """Return a Gaussian band with a tail that falls from the violet, 1 at the band's peak or near it."""
    shape = band(peak, fwhm) + tail * np.exp(-(NM - 400) / FALL)
    return shape / shape[NM >= SEEN_FROM].max()


def stages(share: float, peak: float, fwhm: float, violet: float) -> np.ndarray:
    """Return iron with one catechol and, a share of it, with two, 1 at the highest in the visible.

    ``peak`` and ``fwhm`` are of the first stage's red band, ``violet`` its second band's height over it.
    """
    one = band(peak, fwhm) + violet * band(SECOND, SECOND_WIDE)
    shape = (1 - share) * one + share * TWICE * band(TWO, fwhm)
    return shape / shape[NM >= SEEN_FROM].max()


def fall(width: float) -> np.ndarray:
    """Return the smooth fall of a brown, 1 at 400 nm."""
    return np.exp(-(NM - 400) / width)


CURVES: dict[str, tuple[Shape, tuple[float, ...], tuple[float, ...]]] = {
    "gallate": (tailed, (598, 295, 0.62), (15, 35, 0.25)),
    "catecholate": (stages, (0.35, 715, 260, 1.0), (0.2, 25, 30, 0.4)),
    "brown": (fall, (140,), (30,)),
}


def main() -> None:
    """Write both tables."""
    centre, spread = [NM.astype(float)], [NM.astype(float)]
    for shape, numbers, sds in CURVES.values():
        middle = shape(*numbers)
        moved = [
            shape(*(n + (sd if i == j else 0) for j, n in enumerate(numbers))) for i, sd in enumerate(sds)
        ]
        centre.append(middle)
        spread.append(np.sqrt(sum((m - middle) ** 2 for m in moved)))
    for name, columns in (("absorptivity", centre), ("absorptivity_spread", spread)):
        lines = ["wavelength," + ",".join(CURVES)]
        lines += [f"{row[0]:.0f}," + ",".join(f"{v:.6f}" for v in row[1:]) for row in np.array(columns).T]
        (TABLES / f"{name}.csv").write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    main()
