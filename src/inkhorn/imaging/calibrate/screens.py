"""How much light a screen of printed black lines gives back, against the bare paper."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# numbers-in-code: terms of a Fourier sum, enough for a part in a thousand
_TERMS = np.arange(1, 65, dtype=np.float64)


def screen_light(
    share: ArrayLike, period: ArrayLike, *, spread: float, scatter: float, black: float
) -> NDArray[np.float64]:
    """Return light against bare paper, averaged over many lines.

    Light goes through the ink, wanders in the paper and comes out through the
    ink once more. With transmittance T(x) across the lines and a paper whose
    light spread has the transfer function M, the mean is sum |T_k|^2 M(k / period):
    Yule and Nielsen's n = 1 where the paper does not spread light at all, n = 2
    where it spreads it over many lines.

    Parameters
    ----------
    share : array_like
        Share of black as drawn.
    period : array_like
        mm, across the lines.
    spread : float
        How far the printer's black goes beyond each drawn edge, mm.
    scatter : float
        Length over which paper spreads light, mm: the light of a point falls off as exp(-r / scatter) around it.
    black : float
        Light of full black against paper.

    References
    ----------
    [YULE-NIELSEN]; the transfer function in place of n after [ROGERS].
    """
    share, period = np.asarray(share, dtype=np.float64), np.asarray(period, dtype=np.float64)
    covered = np.clip(share + 2 * spread / period, 0, 1)
    dark = 1 - np.sqrt(black)
    k = _TERMS
    power = (np.sin(np.pi * k * covered[..., None]) / (np.pi * k)) ** 2
    lost = (
        1 - (1 + (2 * np.pi * scatter * k / period[..., None]) ** 2) ** -1.5
    )  # numbers-in-code: transform of exp(-r)
    varied = covered * (1 - covered) - 2 * (power * lost).sum(axis=-1)
    return np.asarray((1 - dark * covered) ** 2 + dark**2 * np.maximum(varied, 0))
