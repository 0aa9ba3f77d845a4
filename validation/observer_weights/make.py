"""Make ``handbook/tables/observer.csv``: D65 x CIE 1931 2-degree weights, 380-730 nm by 10 nm.

Run from the root of the repository, with the ``dev`` extra installed::

    python validation/observer_weights/make.py

The method is that of ASTM E2022 (weights for 10 nm data, from the 1 nm
observer and lamp), with the weights outside 380-730 nm added to the end
wavelengths as ASTM E308 does for data that stop short. Each column is then
scaled so that a perfect white gives exactly the white of sRGB; the script
prints by how much (less than one part in a thousand).
"""

from __future__ import annotations

from pathlib import Path

import colour
import numpy as np
from colour.colorimetry import tristimulus_weighting_factors_ASTME2022

from inkhorn.colour.xyz import white

FIRST, LAST, STEP = 380, 730, 10
TARGET = Path(__file__).parents[2] / "src/inkhorn/handbook/tables/observer.csv"


def weights() -> np.ndarray:
    """Return the weights ``(36, 3)`` whose columns sum to the white."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy()
    observer = observer.align(colour.SpectralShape(360, 830, 1))
    lamp = colour.SDS_ILLUMINANTS["D65"].copy()
    lamp = lamp.interpolate(colour.SpectralShape(300, 830, 1)).align(colour.SpectralShape(360, 830, 1))
    full = tristimulus_weighting_factors_ASTME2022(observer, lamp, colour.SpectralShape(360, 830, STEP)) / 100
    at = np.arange(360, 360 + STEP * len(full), STEP)
    inside = (at >= FIRST) & (at <= LAST)
    out = full[inside].copy()
    out[0] += full[at < FIRST].sum(axis=0)
    out[-1] += full[at > LAST].sum(axis=0)
    gain = white() / out.sum(axis=0)
    print("scaled by", gain)
    return np.asarray(out * gain)


def main() -> None:
    """Write the table."""
    lines = ["wavelength,x,y,z"]
    for nm, row in zip(range(FIRST, LAST + STEP, STEP), weights(), strict=True):
        lines.append(f"{nm}," + ",".join(f"{v:.9f}" for v in row))
    TARGET.write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    main()
