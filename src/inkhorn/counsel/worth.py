"""What knowing more is worth for a decision: the expected value of sample information.

A result is simulated on every draw; given it, the draws that could have given
it weigh more, and the best course may be another. What that course then loses
*on the draw that the result came from*, which itself is left out of the
weighing, is compared with the same for the course chosen without the result.
Left out, because a draw that helps to choose its own course would make every
check look useful.

References
----------
.. [RaiffaSchlaifer1961] H. Raiffa, R. Schlaifer, Applied Statistical Decision Theory, Harvard 1961, ch. 4.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.judged import Judged, plainly

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Chosen:
    """Which course is chosen on each simulated result, (M,), knowing it and not."""

    knowing: NDArray[np.intp]
    not_knowing: NDArray[np.intp]

    def gain(self, judged: Judged) -> float:
        """Return by how much what the choice comes to falls by knowing, in units of CIEDE2000."""
        return judged.picked(self.not_knowing) - judged.picked(self.knowing)

    def fall(self, of: Array) -> float:
        """Return by how much something tabled for each course and draw, (K, M), falls on the average by knowing."""
        return self.gain(plainly(of))


def weights_of(seen: Array, foreseen: Array, sd: float, *, own: bool = False) -> Array:
    """Return how much each draw weighs given each result, (R, M); rows are results.

    Parameters
    ----------
    seen : ndarray, shape (R, c)
        Results, errors in.
    foreseen : ndarray, shape (M, c)
        What would be read on each draw, without error.
    sd : float
        Standard error of every component.
    own : bool
        Whether result r comes from draw r, which then is itself left out.
    """
    # -(r - f)^2 / 2 without its r^2, which is common to a row: a product of matrices instead of every difference.
    middle = foreseen.mean(axis=0)
    results, places = (seen - middle) / sd, (foreseen - middle) / sd
    log_w = results @ places.T
    log_w -= 0.5 * np.sum(places**2, axis=1)
    if own:
        np.fill_diagonal(log_w, -np.inf)
    log_w -= log_w.max(axis=1, keepdims=True)
    weights = np.exp(log_w, out=log_w)
    weights /= weights.sum(axis=1, keepdims=True)
    return np.asarray(weights)


def chosen(
    foreseen: Array, sd: float, judged: Judged, noise: Array, may: NDArray[np.bool_] | None = None
) -> Chosen:
    """Return what would be chosen on each simulated result of a reading.

    Parameters
    ----------
    foreseen : ndarray, shape (M, c)
    sd : float
    judged : Judged
        How each course does on each draw.
    noise : ndarray, shape (M, c)
        Standard-normal errors of the results simulated, one a draw.
    may : ndarray of bool, shape (K,), optional
        Which courses are still open after the reading; all if left out.
    """
    weights = weights_of(foreseen + sd * noise, foreseen, sd, own=True)
    after = judged.expected(weights)
    if may is not None:
        after = np.where(may[:, None], after, np.inf)
    return Chosen(knowing=after.argmin(axis=0), not_knowing=judged.without_own().argmin(axis=0))


def worth(foreseen: Array, sd: float, judged: Judged, noise: Array) -> float:
    """Return what one reading gains, in units of CIEDE2000; never below nothing."""
    return max(chosen(foreseen, sd, judged, noise).gain(judged), 0.0)
