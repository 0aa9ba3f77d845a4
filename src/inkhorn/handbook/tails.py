"""Amounts that are mostly near what was written, and now and then quite other.

References
----------
.. [Tukey1960] J. W. Tukey, A survey of sampling from contaminated distributions, in I. Olkin (ed.), Contributions to
   Probability and Statistics, Stanford 1960, 448-485 (from memory).
"""

from __future__ import annotations

import functools
import math
from statistics import NormalDist

import attrs
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
# numbers-in-code: a grid of places to interpolate between, and how far out it goes in standard deviations
_PLACES, _OUT = 401, 8.0


@attrs.frozen(kw_only=True)
class Tail:
    """A normal error that is now and then a far wider one (the contaminated normal of [Tukey1960]_).

    Attributes
    ----------
    share : float
        How often, 0 to 1.
    size : float
        Standard deviation of what then comes on top, on the scale that the error acts on.
    """

    share: float
    size: float

    def reach(self, z: Array, scale: float) -> Array:
        """Return where standard-normal ``z``, any shape, lies in the mixture, in units of ``scale``.

        Parameters
        ----------
        scale : float
            The usual standard deviation. Where it is as wide as the wider error, nothing is changed.
        """
        return self.with_common(z, scale, 0.0)

    def with_common(self, z: Array, scale: float, common: float) -> Array:
        """Return the same of a sum: the mixture, and a standard normal that makes ``common`` of the usual variance.

        Parameters
        ----------
        scale : float
            The usual standard deviation of the mixture alone.
        """
        if self.share <= 0 or self.size <= scale:
            return z
        # numbers-in-code: two digits of a ratio of spreads, so that few curves are drawn
        wide = float(f"{math.hypot(1.0, self.size / scale):.2g}")
        at, place = _curve(self.share, math.sqrt(common + (1.0 - common) * wide**2))
        return np.asarray(np.interp(z, at, place))


@functools.cache
def _curve(share: float, wide: float) -> tuple[Array, Array]:
    """Return standard-normal places, and the places of the mixture that are exceeded as often."""
    usual = NormalDist()
    half = np.sinh(np.linspace(0.0, math.asinh(_OUT * wide), _PLACES))

    def above(x: float) -> float:
        return math.erfc(x / math.sqrt(2.0)) / 2.0

    over = [(1.0 - share) * above(x) + share * above(x / wide) for x in half]
    z = np.array([-usual.inv_cdf(p) for p in over])
    return np.concatenate([-z[:0:-1], z]), np.concatenate([-half[:0:-1], half])
