"""How a page turns from blue-black to brown: part of the complex becomes brown matter."""

from __future__ import annotations

import itertools

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.optics.film import absorbance
from inkhorn.optics.spectra import Curves

_CM3_PER_LITRE = 1000


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


def colorants_of(film: ArrayLike, curves: Curves) -> Colorants:
    """Return the amounts, none below zero, whose absorbance is nearest to a film's.

    Least squares over wavelength; every set of colorants is tried and the best one
    that is nowhere negative is kept (three colorants: seven sets).

    Parameters
    ----------
    film : array_like
        Single-pass decadic absorbance ``(..., W)``.
    curves : Curves

    Notes
    -----
    A film read from three channels (`inkhorn.optics.portable`) fixes a colour, not a
    composition: this is the plainest reading of it, not a measurement. Near black it
    says nothing.
    """
    target = np.asarray(film, dtype=np.float64)
    flat = target.reshape(-1, target.shape[-1])
    basis = _CM3_PER_LITRE * np.stack([curves.gallate, curves.catecholate, curves.brown])
    best = np.zeros((len(flat), 3))
    least = (flat**2).sum(axis=1)
    for size in (1, 2, 3):
        for some in itertools.combinations(range(3), size):
            part = basis[list(some)]
            amounts = np.linalg.lstsq(part.T, flat.T, rcond=None)[0].T
            residual = ((flat - amounts @ part) ** 2).sum(axis=1)
            better = (amounts >= 0).all(axis=1) & (residual < least)
            row = np.zeros((len(flat), 3))
            row[:, list(some)] = amounts
            best = np.where(better[:, None], row, best)
            least = np.where(better, residual, least)
    shaped = best.reshape(*target.shape[:-1], 3)
    return Colorants(gallate=shaped[..., 0], catecholate=shaped[..., 1], brown=shaped[..., 2])


def film_as_new(
    film: ArrayLike, *, share: ArrayLike, brown_gain: ArrayLike, brown_scale: ArrayLike, curves: Curves
) -> NDArray[np.float64]:
    r"""Return the absorbance that an old film may have had when new.

    Of the brown matter m read from the film a share q is taken to have come from
    the complexes, :math:`q\, m\, \varepsilon_{brown} / \varepsilon_{gain}` mol/cm2 of them. They are
    put back, in the proportion of what is left of each kind, and that brown taken out.

    Parameters
    ----------
    film : array_like
        As it is now, ``(..., W)``.
    share : array_like
        q, 0 to 1 (row ``optics.ageing.brown_share``); ``(...)``.
    brown_gain, brown_scale : array_like
        As in `aged`.
    curves : Curves
    """
    now = colorants_of(film, curves)
    q = np.asarray(share, dtype=np.float64)
    turned = q * now.brown * np.asarray(brown_scale) / np.asarray(brown_gain)
    left = now.gallate + now.catecholate
    kind = np.where(left > 0, now.gallate / np.where(left > 0, left, 1), 1)
    back = absorbance(gallate=turned * kind, catecholate=turned * (1 - kind), curves=curves)
    gone = absorbance(gallate=0, brown=q * now.brown, curves=curves)
    return np.asarray(np.maximum(np.asarray(film, dtype=np.float64) + back - gone, 0))
