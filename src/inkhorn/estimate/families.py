r"""How many independent draws a cloud of particles is worth, from which of them are kin.

Resampling copies particles; all copies of one particle of the first cloud are a
family. Until moves have made them forget each other, what a family has in common
is luck that counts once, not once a member. The variance of a mean over the cloud
is therefore, as for any sample drawn in clusters, that of the families' sums
[ChanLai2013]_ [LeeWhiteley2018]_:

.. math:: \widehat{\mathrm{var}}(\bar x) = \frac{1}{N^2} \sum_f \Big(\sum_{i \in f} (x_i - \bar x)\Big)^2

and the effective number is the variance of x over that.

References
----------
.. [ChanLai2013] H. P. Chan, T. L. Lai, A general theory of particle filters in hidden Markov models and some
   applications, Ann. Statist. 41 (2013) 2877.
.. [LeeWhiteley2018] A. Lee, N. Whiteley, Variance estimation in the particle filter, Biometrika 105 (2018) 609.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def effective(along: Array, family: NDArray[np.intp]) -> float:
    """Return the effective number of particles along the direction where it is least.

    Parameters
    ----------
    along : ndarray, shape (R, N)
        What is known of each particle: its place along R directions.
    family : ndarray of int, shape (N,)
        From which particle of the first cloud each descends.

    Returns
    -------
    float
        Between 1 and N; N where there is no direction.
    """
    n = len(family)
    off = along - along.mean(axis=1, keepdims=True)
    _, mine = np.unique(family, return_inverse=True)
    sums = np.stack([np.bincount(mine, x) for x in off]) if len(off) else np.zeros((0, 1))
    together, alone = np.sum(sums**2, axis=1), np.sum(off**2, axis=1)
    worth = np.divide(n * alone, together, out=np.full(len(off), float(n)), where=together > 0)
    return float(np.clip(worth.min(initial=n), 1.0, n))
