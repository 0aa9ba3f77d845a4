"""The two compiled maps of the replay: iron meeting tannin in a pot, and a film coming to its pH.

One pass over the draws in place of many over arrays, for what a replay does at
every look at a pot and at every stroke. The equations are those of
`inkhorn.chemistry.binding.bound` and of `inkhorn.replay.acid`, which the tests
hold these to (``tests/unit/replay/test_uptake.py``).
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit, types

from inkhorn.replay.liquor import Array

# The types are given, so that all is compiled once, when this is first imported, and then kept on disk.
_ROW = types.Array(types.float64, 1, "C", readonly=True)
_ROWS = types.Tuple((_ROW, _ROW, _ROW, _ROW))  # type: ignore[no-untyped-call]
_FOUR = types.Tuple((types.float64,) * 4)  # type: ignore[no-untyped-call]
#: Rows of what `turn` returns, in this order.
OUT = (
    "iron2",
    "iron3",
    "complex_iron",
    "complex_pyrogallol",
    "complex_catechol",
    "gallotannin",
    "gallic",
    "ellagitannin",
    "condensed",
)
#: Keeps a division finite where there is no tannin, and is nothing beside any that there is.
LEAST = 1e-18
LN_10 = math.log(10)


@njit(
    types.float64[:, ::1](_ROWS, _ROWS, _ROW, _ROW, _ROW, _ROW, types.float64, _FOUR),
    cache=True,
    error_model="numpy",
)
def turn(
    tannins: tuple[Array, ...],
    sites: tuple[Array, ...],
    decayed: Array,
    iron2: Array,
    iron3: Array,
    complex_iron: Array,
    slack: float,
    groups: tuple[float, ...],
) -> Array:
    """Return the iron and the tannin after some of the iron(II) turned, (9, N); the rows are those of `OUT`.

    Parameters
    ----------
    tannins, sites : tuple of four ndarray, shape (N,)
        Gallotannin, gallic acid, ellagitannin, condensed tannin, g, and the
        iron that a gram of each holds, mol/g.
    decayed : ndarray, shape (N,)
        Share of the iron(II) that would turn if tannin were in plenty.
    iron2, iron3, complex_iron : ndarray, shape (N,)
        mol.
    slack : float
        Softness of the limiting-reagent bend.
    groups : tuple of four float
        Phenol groups a gram of each tannin, mol/g; what the complex takes up
        of them comes as an increase in the rows of the complex.
    """
    g0, g1, g2, g3 = tannins
    s0, s1, s2, s3 = sites
    n = len(iron2)
    out = np.empty((9, n))
    for i in range(n):
        capacity = g0[i] * s0[i] + g1[i] * s1[i] + g2[i] * s2[i] + g3[i] * s3[i]
        turned = iron2[i] * decayed[i] * capacity / max(capacity + iron2[i], LEAST)
        ferric = iron3[i] + turned
        soft = slack * math.sqrt(ferric * capacity)
        root = math.sqrt((ferric - capacity) ** 2 + soft * (2 * (ferric + capacity) + soft))
        bound = 2 * ferric * capacity / max(ferric + capacity + soft + root, LEAST)
        bound = min(bound, ferric, capacity)
        used = bound / max(capacity, LEAST)
        left = 1 - used
        out[0, i] = iron2[i] - turned
        out[1, i] = ferric - bound
        out[2, i] = complex_iron[i] + bound
        out[3, i] = used * (g0[i] * groups[0] + g1[i] * groups[1] + g2[i] * groups[2])
        out[4, i] = used * g3[i] * groups[3]
        out[5, i] = g0[i] * left
        out[6, i] = g1[i] * left
        out[7, i] = g2[i] * left
        out[8, i] = g3[i] * left
    return out


@njit(
    types.float64[::1](*([_ROW] * 10), types.int64),
    cache=True,
    error_model="numpy",
)
def settled_ph(
    base: Array,
    pyrogallol: Array,
    catechol: Array,
    sulfate: Array,
    constant: Array,
    top: Array,
    pyrogallol_middle: Array,
    pyrogallol_slope: Array,
    catechol_middle: Array,
    catechol_slope: Array,
    rounds: int,
) -> Array:
    """Return the pH at which the acid that binding sets free is the acid that a film holds, (n,).

    Parameters
    ----------
    base : ndarray, shape (n,)
        Acid with nothing bound, less the chalk, mol/L.
    pyrogallol, catechol : ndarray, shape (n,)
        Acid set free if all that each class can hold were held, mol/L.
    sulfate, constant : ndarray, shape (n,)
        Sulfate and the dissociation constant of bisulfate, mol/L.
    top : ndarray, shape (n,)
        pH where there is chalk to spare.
    pyrogallol_middle, pyrogallol_slope, catechol_middle, catechol_slope : ndarray, shape (n,)
        The law of binding of each class, natural-logarithmic slopes.
    rounds : int
        Halvings of the bracket from 0 to ``top``.
    """
    out = np.empty(len(base))
    for i in range(len(base)):
        low, high = 0.0, top[i]
        for _ in range(rounds):
            middle = 0.5 * (low + high)
            h = math.exp(-LN_10 * middle)
            over = base[i]
            over += pyrogallol[i] / (1 + math.exp(pyrogallol_slope[i] * (pyrogallol_middle[i] - middle)))
            over += catechol[i] / (1 + math.exp(catechol_slope[i] * (catechol_middle[i] - middle)))
            if over > h + sulfate[i] * h / (h + constant[i]):
                high = middle
            else:
                low = middle
        out[i] = 0.5 * (low + high)
    return out
