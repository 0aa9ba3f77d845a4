"""Share a visible difference out among its causes, whatever order they are taken in."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from typing import Any

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.colour.difference import ciede2000
from inkhorn.compare.model import Pair, middle_pair, pair
from inkhorn.compare.sides import Side

Array = NDArray[np.float64]
# numbers-in-code: the percentiles of every uncertain figure
_PERCENTILES = (50, 5, 25, 75, 95)
_NAMES = ("median", "p05", "p25", "p75", "p95")


def shapley(causes: tuple[str, ...], worth: Callable[[frozenset[str]], Array]) -> dict[str, Array]:
    r"""Return each cause's share of ``worth(all) - worth(none)``, the same in whatever order.

    .. math:: \phi_i = \sum_{S \not\ni i} \frac{|S|!\,(n - |S| - 1)!}{n!}
        \left[v(S \cup i) - v(S)\right]

    Parameters
    ----------
    causes : tuple of str
    worth : callable
        Value of a set of causes, an array of draws; asked once for each set.

    References
    ----------
    [Shapley1953]. Checked in ``tests/unit/compare/test_shares.py``.
    """
    n = len(causes)
    values = {
        frozenset(some): worth(frozenset(some))
        for size in range(n + 1)
        for some in itertools.combinations(causes, size)
    }
    out = {}
    for cause in causes:
        total: Array = np.zeros_like(values[frozenset()])
        for some, without in values.items():
            if cause not in some:
                size = len(some)
                weight = math.factorial(size) * math.factorial(n - size - 1) / math.factorial(n)
                total = total + weight * (values[some | {cause}] - without)
        out[cause] = total
    return out


@attrs.frozen(kw_only=True, eq=False)
class Shares:
    """A visible difference shared out.

    The draws of ``total`` and ``parts`` are over what the pictures do not show (the true
    skin, hence the camera; the films; age): what is seen is as it is measured. Those of
    the ink are over the error of the densities as well.

    Attributes
    ----------
    total : ndarray (N,)
        CIEDE2000 between the trial and the original as they are seen.
    parts : mapping of str to ndarray (N,)
        Each cause's share of ``total``, in the same unit; they add up to it. A share
        below zero means that this cause hides part of the difference.
    ink_difference : ndarray (N,)
        CIEDE2000 between the two inks alone, whole, on the original's skin.
    ink_shift : ndarray (N, 3)
        Trial's ink minus the original's in L*, a*, b*, on the same skin.
    ink_middle : ndarray (3,)
        The shift with everything at its central value.
    ink_size : float
        The difference likewise: noise can only add to a distance, so the draws of a
        small one lie above it.
    """

    total: Array
    parts: Mapping[str, Array]
    ink_difference: Array
    ink_shift: Array
    ink_middle: Array
    ink_size: float

    def fraction(self, cause: str) -> float:
        """Return the mean share of one cause as a fraction of the mean difference; 0 if there is none."""
        whole = float(self.total.mean())
        return float(self.parts[cause].mean()) / whole if whole > 0 else 0

    def to_dict(self) -> dict[str, Any]:
        """Return the figures with their bands for a JSON answer."""
        return {
            "difference": figure(self.total),
            "shares": {
                name: figure(part) | {"fraction": round(self.fraction(name), 3)}
                for name, part in self.parts.items()
            },
            "ink_difference": figure(self.ink_difference),
            "ink_shift": {k: figure(self.ink_shift[:, i], unit="1") for i, k in enumerate("Lab")},
        }


def figure(draws: Array, *, unit: str = "dE00") -> dict[str, float | str]:
    """Return a figure with its bands as in every answer."""
    points = np.percentile(draws, _PERCENTILES)
    return {name: round(float(v), 3) for name, v in zip(_NAMES, points, strict=True)} | {"unit": unit}


def share_out(
    trial: Side,
    original: Side,
    *,
    film_ratio: ArrayLike = 1,
    draws: int = 256,
    seed: int = 0,
    as_new: bool = False,
) -> Shares:
    """Share out the difference between a trial's stroke and an original's.

    Parameters
    ----------
    trial, original : Side
        See `inkhorn.compare.sides`.
    film_ratio : array_like
        Wet film that the original's pen and hand laid over that of the trial's (one value or draws).
    draws, seed : int
        How many draws of what is uncertain.
    as_new : bool
        Take the original as it may have been when new; age is then one more cause.
    """
    read = pair(trial, original, film_ratio=film_ratio, draws=draws, seed=seed, as_new=as_new, noise=False)
    noisy = pair(trial, original, film_ratio=film_ratio, draws=draws, seed=seed, as_new=as_new)
    total, parts = shared(read)
    mine, theirs = noisy.ink_alone()
    centre = middle_pair(trial, original, film_ratio=film_ratio, as_new=as_new).ink_alone()
    return Shares(
        total=total,
        parts=parts,
        ink_difference=ciede2000(mine, theirs),
        ink_shift=mine - theirs,
        ink_middle=(centre[0] - centre[1])[0],
        ink_size=float(ciede2000(*centre)[0]),
    )


def shared(both: Pair) -> tuple[Array, dict[str, Array]]:
    """Return the visible difference of two sides and each cause's share of it, ``(N,)`` each."""
    causes = both.causes()
    origin = both.seen(**dict.fromkeys(causes, False))

    def worth(changed: frozenset[str]) -> Array:
        return ciede2000(both.seen(**{cause: cause in changed for cause in causes}), origin)

    return worth(frozenset(causes)), shapley(causes, worth)
