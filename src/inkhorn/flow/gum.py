"""How a dissolved gum thickens: the Huggins, Kraemer and Martin laws.

All take the concentration in g/dl of *dissolved* gum and the intrinsic
viscosity in dl/g, and give the viscosity relative to the liquid without gum.
They agree where ``x = intrinsic * concentration`` is small and part above x = 1,
where Martin is the one to use.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Beyond exp(100) nothing is a liquid; the cap keeps an absurd draw finite instead of infinite.
_STIFFEST = 100


def huggins(concentration: ArrayLike, *, intrinsic: ArrayLike, k: ArrayLike) -> NDArray[np.float64]:
    """Return ``1 + x + k x^2`` with ``x = intrinsic * concentration``.

    References
    ----------
    [Huggins1942]. Checked in ``tests/unit/flow/test_gum.py``.
    """
    x = _x(concentration, intrinsic)
    return np.asarray(1 + x + np.asarray(k) * x * x)


def kraemer(concentration: ArrayLike, *, intrinsic: ArrayLike, k: ArrayLike) -> NDArray[np.float64]:
    """Return ``exp(x + k x^2)`` with ``x = intrinsic * concentration`` ([Kraemer1938])."""
    x = _x(concentration, intrinsic)
    return np.asarray(np.exp(np.minimum(x + np.asarray(k) * x * x, _STIFFEST)))


def martin(concentration: ArrayLike, *, intrinsic: ArrayLike, k: ArrayLike) -> NDArray[np.float64]:
    """Return ``1 + x exp(k x)`` with ``x = intrinsic * concentration`` ([Martin1942]).

    Its form follows the table of gum arabic from 5 to 50 % ([BelitzGrosch2009]) within a
    factor 1.7, which is as far as lots differ (``tests/unit/flow/test_gum.py``).
    """
    x = _x(concentration, intrinsic)
    return np.asarray(1 + x * np.exp(np.minimum(np.asarray(k) * x, _STIFFEST)))


def relative_viscosity(concentration: ArrayLike, intrinsic: ArrayLike, k: ArrayLike) -> NDArray[np.float64]:
    """Return the law used by the mixture model, which is Martin's; see `martin`."""
    return martin(concentration, intrinsic=intrinsic, k=k)


def _x(concentration: ArrayLike, intrinsic: ArrayLike) -> NDArray[np.float64]:
    return np.asarray(concentration, dtype=np.float64) * np.asarray(intrinsic, dtype=np.float64)
