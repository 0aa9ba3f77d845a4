"""Make ``handbook/tables/absorptivity.csv`` and its spread from the peaks and widths below.

Run from the root of the repository: ``python validation/absorptivity/make.py``.

The band shapes are Gaussians in wavelength, 1 at the peak; the brown is an
exponential that is 1 at 400 nm. Peaks: 550-650 nm are reported for
iron(III)-tannic acid at pH 3-5 (Iffat et al., J. Chem. Soc. Pak. 27 (2005) 174)
and 550-600 nm, very broad, is remembered for the dry gallate, 250-350 nm wide (the middle is taken). Widths and the
brown are from memory. The spread of a curve is the root of the summed squares
of its change when each number moves by its own spread.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

TABLES = Path(__file__).parents[2] / "src/inkhorn/handbook/tables"
NM = np.arange(380, 731, 10)

# name: (shape, its numbers, their spreads)
Shape = Callable[..., np.ndarray]


def band(peak: float, fwhm: float) -> np.ndarray:
    """Return a Gaussian band, 1 at its peak."""
    return np.exp(-4 * np.log(2) * ((NM - peak) / fwhm) ** 2)


def fall(width: float) -> np.ndarray:
    """Return the smooth fall of a brown, 1 at 400 nm."""
    return np.exp(-(NM - 400) / width)


CURVES: dict[str, tuple[Shape, tuple[float, ...], tuple[float, ...]]] = {
    "gallate": (band, (580, 300), (15, 40)),
    "catecholate": (band, (700, 260), (25, 30)),
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
