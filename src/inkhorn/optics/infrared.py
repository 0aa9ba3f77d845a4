"""Ink in the near infrared: how much darkness is left there, and what that says of its kind.

Carbon stays black. Iron-tannin ink fades away behind the red, and so do brown
organic inks (bistre, sepia): the index tells carbon from what is not carbon,
and no more. To part iron-tannin ink from bistre and sepia takes a spectrum
[GAL]_ or a test for iron.
"""

from __future__ import annotations

import functools
import importlib
from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from inkhorn.errors import InkhornError
from inkhorn.handbook.load import row, value

Array = NDArray[np.float64]

#: The kinds that are told apart.
TYPES = ("iron-tannin", "carbon", "mixed")
#: Standard normals that make one draw of every kind, see `index_of`.
NORMALS = 5
_QUADRATURE = 1024


def iron_left(band_nm: ArrayLike, *, red: ArrayLike, middle: ArrayLike, width: ArrayLike) -> Array:
    r"""Return the absorbance of iron-tannin ink in a band over that in the red.

    .. math:: \rho(\lambda) = \frac{1 + e^{(\lambda_r - \lambda_m)/w}}{1 + e^{(\lambda - \lambda_m)/w}}

    Parameters
    ----------
    band_nm, red : array_like
        nm.
    middle, width : array_like
        Where half is gone and how gently, nm (rows ``infrared.iron``).
    """
    m, w = np.asarray(middle, dtype=np.float64), np.asarray(width, dtype=np.float64)
    return np.asarray((1 + np.exp((np.asarray(red) - m) / w)) / (1 + np.exp((np.asarray(band_nm) - m) / w)))


def carbon_left(band_nm: ArrayLike, *, red: ArrayLike, exponent: ArrayLike) -> Array:
    r"""Return the same of carbon ink, :math:`(\lambda/\lambda_r)^{-x}` [LIU2018]_, [BERGSTROM2002]_."""
    ratio = np.asarray(band_nm, dtype=np.float64) / np.asarray(red, dtype=np.float64)
    return np.asarray(ratio ** -np.asarray(exponent))


def brown_left(band_nm: ArrayLike, *, red: ArrayLike, width: ArrayLike) -> Array:
    r"""Return the same of brown organic matter, :math:`e^{-(\lambda-\lambda_r)/w}`."""
    span = np.asarray(band_nm, dtype=np.float64) - np.asarray(red)
    return np.asarray(np.exp(-span / np.asarray(width)))


def index_of(kind: str, band_nm: float, source: np.random.Generator | ArrayLike, n: int) -> Array:
    """Return draws ``(n,)`` of the infrared index that an ink of one kind truly has.

    Parameters
    ----------
    kind : str
        "iron-tannin", "carbon", "mixed", or "brown" (bistre, sepia).
    band_nm : float
        Centre of the band, nm.
    source : numpy.random.Generator or array_like
        A generator, or standard normals ``(n, NORMALS)``: zeros give the middle.
    n : int

    Raises
    ------
    InkhornError
        For a kind that is none of these, or a band outside the near infrared.
    """
    _check_band(band_nm)
    if isinstance(source, np.random.Generator):
        z: Array = source.standard_normal((n, NORMALS))
    else:
        z = np.asarray(source, dtype=np.float64).reshape(n, NORMALS)
    red = value("infrared.red")
    names = ("iron.middle", "iron.width", "carbon.exponent", "brown.width", "mixed.carbon")
    middle, width, exponent, browning, share = (row(f"infrared.{k}").at(z[:, i]) for i, k in enumerate(names))
    iron = iron_left(band_nm, red=red, middle=middle, width=width)
    carbon = carbon_left(band_nm, red=red, exponent=exponent)
    if kind == "mixed":
        return np.asarray(share * carbon + (1 - share) * iron)
    kinds = {
        "iron-tannin": iron,
        "carbon": carbon,
        "brown": brown_left(band_nm, red=red, width=browning),
    }
    if kind not in kinds:
        raise InkhornError(
            "this kind of ink is not known in infrared",
            where=repr(kind),
            mend=f"Known are {', '.join((*kinds, 'mixed'))}",
        )
    return kinds[kind]


def fading_index(
    visible_density: ArrayLike,
    infrared_density: ArrayLike,
    sds: tuple[ArrayLike, ArrayLike],
    *,
    gleam: ArrayLike = 0,
) -> tuple[Array, Array]:
    r"""Return the index Q and its standard deviation.

    .. math:: Q = \frac{D_{ir}}{D_{red}}, \qquad
        s_Q = \frac{\sqrt{s_{ir}^2 + Q^2 s_{red}^2}}{D_{red}}

    Parameters
    ----------
    visible_density, infrared_density : array_like
        Channel density of the same ink in the red and in the infrared band, against bare support nearby.
    sds : tuple of array_like
        Standard deviations of the two.
    gleam : array_like
        Share of the bare support's light that the surface mirrors into the camera in both
        bands (about ``optics.surface.k1`` over the reflectance of the support). It is taken
        off both, for it flattens the deeper of the two: :math:`10^{-D'} = (10^{-D} - g)/(1 - g)`.

    Raises
    ------
    InkhornError
        Where a density in the red is not above 0: there is no ink to speak of.
    """
    g = np.asarray(gleam, dtype=np.float64)
    seen = [np.asarray(d, dtype=np.float64) for d in (visible_density, infrared_density)]
    if not (seen[0] > 0).all():
        raise InkhornError(
            "an infrared index needs ink that shows in the red",
            where=f"visible density {float(seen[0].min()):.3g}",
            mend="Measure a darker stroke",
        )
    parts = []
    for density, sd in zip(seen, sds, strict=True):
        light = 10**-density
        under = np.maximum(light - g, light * 1e-2)
        parts.append((-np.log10(under / (1 - g)), np.asarray(sd, dtype=np.float64) * light / under))
    (red, red_sd), (infrared, infrared_sd) = parts
    q = infrared / red
    return np.asarray(q), np.asarray(np.hypot(infrared_sd, q * red_sd) / red)


def probability_of_type(q: ArrayLike, sd: ArrayLike, band_nm: float) -> Mapping[str, Array]:
    r"""Return how likely each kind of ink is after one look in infrared, by Bayes' rule.

    .. math:: P(k | Q) = (1 - u)\,\frac{\pi_k \int t_\nu\!\left(\frac{Q - \rho}{s}\right) p_k(\rho)\,d\rho}
        {\sum_j \ldots} + u\,\pi_k

    p_k is what the handbook gives a kind (`index_of`), t Student's density, s the sd with the row
    ``infrared.doubt`` added in squares, and u the share of looks that say nothing: no answer is
    ever sure. A Q beyond the middle of either pure kind is
    taken at that middle; further off it would not speak more plainly, only more oddly.

    Parameters
    ----------
    q, sd : array_like
        From `fading_index`; any shape, they broadcast.
    band_nm : float
        Centre of the infrared band, nm; one of a silicon camera's.

    Returns
    -------
    mapping of str to ndarray
        ``"iron-tannin"`` (which stands here for bistre and sepia too: they fade like it),
        ``"carbon"``, ``"mixed"``; they add up to 1.
    """
    _check_band(band_nm)
    seen, noise = np.broadcast_arrays(np.asarray(q, dtype=np.float64), np.asarray(sd, dtype=np.float64))
    ends = [float(np.median(_true_index(kind, float(band_nm)))) for kind in ("iron-tannin", "carbon")]
    where = np.clip(seen, min(ends), max(ends))[..., None]
    scale = np.hypot(noise, value("infrared.doubt"))[..., None]
    weight = prior()
    tail = value("misfit.tail")
    likely = np.stack(
        [
            weight[kind] * _student((where - _true_index(kind, float(band_nm))) / scale, tail).mean(axis=-1)
            for kind in TYPES
        ]
    )
    share = likely / likely.sum(axis=0)
    unlike = value("infrared.unlike")
    return {kind: np.asarray((1 - unlike) * share[i] + unlike * weight[kind]) for i, kind in enumerate(TYPES)}


def prior() -> Mapping[str, float]:
    """Return how likely each kind is before any look (rows ``infrared.prior``), adding up to 1."""
    given = {kind: value(f"infrared.prior.{kind.partition('-')[0]}") for kind in TYPES}
    whole = sum(given.values())
    return {kind: share / whole for kind, share in given.items()}


def _student(x: Array, tail: float) -> Array:
    r"""Return the density of Student's t, written out: the library's own takes a quarter of a second to load.

    .. math:: f(x) = \frac{\Gamma(\frac{\nu + 1}{2})}{\sqrt{\nu \pi}\, \Gamma(\frac{\nu}{2})}
              \left(1 + \frac{x^2}{\nu}\right)^{-\frac{\nu + 1}{2}}
    """
    whole = np.exp(special.gammaln((tail + 1) / 2) - special.gammaln(tail / 2)) / np.sqrt(tail * np.pi)
    return np.asarray(whole * (1 + x * x / tail) ** (-(tail + 1) / 2))


@functools.cache
def _true_index(kind: str, band_nm: float) -> Array:
    """Return evenly spread draws of a kind's index, the same every time, ``(M,)``."""
    # Loaded when an infrared picture is asked about: no other question needs it.
    even = importlib.import_module("scipy.stats.qmc").Sobol(NORMALS, scramble=False).random(_QUADRATURE)
    # The first point of the sequence is a corner of the cube: every point is moved half a step in.
    out = index_of(kind, band_nm, special.ndtri(even + 0.5 / _QUADRATURE), _QUADRATURE)
    out.setflags(write=False)
    return out


def _check_band(band_nm: float) -> None:
    low, high = value("infrared.shortest"), value("infrared.longest")
    if not low <= band_nm <= high:
        raise InkhornError(
            "this is no band of the near infrared that a silicon camera sees",
            where=f"{band_nm:g} nm",
            mend=f"Give the centre of a band between {low:g} and {high:g} nm",
        )
