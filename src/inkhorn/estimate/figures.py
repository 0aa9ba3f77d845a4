"""A figure with its uncertainty: the one shape of every uncertain answer."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray


@attrs.frozen(kw_only=True)
class Figure:
    """Five quantiles of the draws of one quantity, with its unit."""

    median: float
    p05: float
    p25: float
    p75: float
    p95: float
    unit: str

    def to_dict(self) -> dict[str, float | str | None]:
        """Return the JSON form; what is not finite is null."""
        out: dict[str, float | str | None] = {}
        for key in ("median", "p05", "p25", "p75", "p95"):
            number = getattr(self, key)
            out[key] = float(number) if np.isfinite(number) else None
        out["unit"] = self.unit
        return out


def figure(draws: NDArray[np.float64], unit: str) -> Figure:
    """Return the figure of draws, (N,)."""
    with np.errstate(invalid="ignore"):  # between two infinite draws (iron and no tannin) lies no number
        # numbers-in-code: the percentiles of every uncertain figure
        p05, p25, median, p75, p95 = np.percentile(draws, (5, 25, 50, 75, 95), method="linear")
    return Figure(
        median=float(median), p05=float(p05), p25=float(p25), p75=float(p75), p95=float(p95), unit=unit
    )
