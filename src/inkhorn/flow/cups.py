"""Flow cups after ISO 2431: ``nu = A t - B / t`` between 30 and 100 seconds.

Writing ink is thinner than the narrowest cup can measure; the cups are here for
gum stock and syrups, and to say so when somebody tries.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.flow.discharge import discharge_time, kinematic_viscosity

# numbers-in-code: ISO 2431:2019
#: The times between which the standard lets a cup be used, s.
SHORTEST, LONGEST = 30, 100


def cup_viscosity(time: ArrayLike, *, a: ArrayLike, b: ArrayLike) -> NDArray[np.float64]:
    """Return mm2/s for a time in s; constants are handbook rows ``flow.cup.<jet>.a`` and ``.b``."""
    return kinematic_viscosity(time, a=a, b=b)


def cup_time(kinematic: ArrayLike, *, a: ArrayLike, b: ArrayLike) -> NDArray[np.float64]:
    """Return the time in s in which a cup empties."""
    return discharge_time(kinematic, a=a, b=b)


def in_range(time: ArrayLike) -> NDArray[np.bool_]:
    """Return where a time is one that the standard lets be used."""
    t = np.asarray(time, dtype=np.float64)
    return np.asarray((t >= SHORTEST) & (t <= LONGEST))
