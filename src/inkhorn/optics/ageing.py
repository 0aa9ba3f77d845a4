"""How a page turns from blue-black to brown: part of the complex becomes brown matter."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray


@attrs.frozen(kw_only=True)
class Colorants:
    """What colours each cm2 of a dry film: iron in mol/cm2, brown matter in g/cm2."""

    gallate: NDArray[np.float64]
    catecholate: NDArray[np.float64]
    brown: NDArray[np.float64]


def aged(
    *,
    gallate: ArrayLike,
    catecholate: ArrayLike = 0,
    brown: ArrayLike = 0,
    fraction: ArrayLike,
    brown_gain: ArrayLike,
    brown_scale: ArrayLike,
) -> Colorants:
    r"""Return the colorants after a share of the complexes has turned brown.

    .. math:: n' = (1 - f)\, n, \qquad m' = m + f\, (n_g + n_c)\, \varepsilon_{gain} / \varepsilon_{brown}

    Parameters
    ----------
    gallate, catecholate, brown : array_like
        The film as new, mol/cm2 and g/cm2, ``(N,)``.
    fraction : array_like
        Share turned brown, 0 (as new) to 1 (row ``optics.ageing.fraction``).
    brown_gain : array_like
        Absorptivity at 400 nm gained for each mole of iron, L/mol/cm (``optics.ageing.brown_gain``).
    brown_scale : array_like
        Absorptivity at 400 nm of the brown curve, L/g/cm (``optics.scale.brown``). The brown that
        ageing makes is stated as that mass of the brown curve's matter which absorbs as much.
    """
    g, c = np.asarray(gallate, dtype=np.float64), np.asarray(catecholate, dtype=np.float64)
    f = np.asarray(fraction, dtype=np.float64)
    made = f * (g + c) * np.asarray(brown_gain) / np.asarray(brown_scale)
    return Colorants(
        gallate=np.asarray((1 - f) * g),
        catecholate=np.asarray((1 - f) * c),
        brown=np.asarray(np.asarray(brown, dtype=np.float64) + made),
    )


def as_new(
    *,
    gallate: ArrayLike,
    catecholate: ArrayLike = 0,
    brown: ArrayLike = 0,
    fraction: ArrayLike,
    brown_gain: ArrayLike,
    brown_scale: ArrayLike,
) -> Colorants:
    """Return the colorants before ageing, from those seen now; the inverse of `aged` for ``fraction < 1``.

    Where the brown seen now is less than the ageing would have made, the film as new is given no brown.
    """
    f = np.asarray(fraction, dtype=np.float64)
    g = np.asarray(gallate, dtype=np.float64) / (1 - f)
    c = np.asarray(catecholate, dtype=np.float64) / (1 - f)
    made = f * (g + c) * np.asarray(brown_gain) / np.asarray(brown_scale)
    return Colorants(gallate=g, catecholate=c, brown=np.asarray(np.maximum(np.asarray(brown) - made, 0)))
