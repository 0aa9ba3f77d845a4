"""What one picture says, in the plain form in which a workshop keeps it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from inkhorn.imaging.reading import PhotoReading
from inkhorn.replay.target import PhotoMeasure


def kept(reading: PhotoReading) -> dict[str, Any]:
    """Return density, covariance and, where the picture could tell, the colour of the skin."""
    # An uncalibrated picture cannot tell the colour of the skin.
    is_calibrated = reading.lab is not None and reading.support_lab is not None
    return {
        "density": reading.optical_density.tolist(),
        "covariance": reading.covariance.tolist(),
        "support_lab": np.asarray(reading.support_lab).tolist() if is_calibrated else None,
        "spread": np.nan_to_num(reading.spread).tolist(),
    }


def is_whole(plain: Mapping[str, Any]) -> bool:
    """Return whether everything is there that is kept today; older workshops kept less."""
    return "spread" in plain


def measure(plain: Mapping[str, Any]) -> PhotoMeasure:
    """Return the measure that `kept` kept."""
    bare, spread = plain["support_lab"], plain["spread"]
    return PhotoMeasure(
        density=np.array(plain["density"]),
        covariance=np.array(plain["covariance"]),
        support_lab=None if bare is None else np.array(bare),
        spread=np.array(spread),
    )
