"""From what a side measured to films on skins, for many draws or for the middle of everything."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.compare.sides import Coverage, Side
from inkhorn.optics import observe, support
from inkhorn.optics.portable import absorbance_from_density, surface_seen

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Drawn:
    """What is uncertain about a side, drawn N times: its true skin, its densities, its spectrum's shape."""

    side: Side
    support: Array
    density: Array
    start: Array | None

    def bare(self) -> Array:
        """Return the true bare skin in linear sRGB, ``(N, 3)``."""
        return observe.linear_rgb(self.support)


@attrs.frozen(kw_only=True, eq=False)
class Laid:
    """One side as films.

    Attributes
    ----------
    film : ndarray (N, W)
        Absorbance of the intact ink as that side's pen laid it.
    support : ndarray (N, W)
        True reflectance of the bare skin.
    gleam : ndarray (N,)
        Share of light the surface mirrors into the camera.
    gain : ndarray (N, 3)
        What that side's camera makes of linear channels.
    coverage : Coverage
    """

    film: Array
    support: Array
    gleam: Array
    gain: Array
    coverage: Coverage


def draw(side: Side, n: int, rng: np.random.Generator, *, noise: bool = True) -> Drawn:
    """Draw a side ``n`` times.

    Without ``noise`` the densities are taken as read: what is seen is then the same in
    every draw, and only what it is put down to differs.
    """
    lab = side.skin.draw(n, rng)
    density = rng.multivariate_normal(side.density, side.covariance, size=n, method="eigh")
    start = None
    if side.absorbance is not None:
        start = side.absorbance[rng.integers(0, len(side.absorbance), n)]
    return Drawn(
        side=side,
        support=support.reflectance(lab, strict=False),
        density=density if noise else np.broadcast_to(side.density, (n, 3)),
        start=start,
    )


def middle(side: Side) -> Drawn:
    """Return the one draw (N = 1) that is the middle of everything."""
    return Drawn(
        side=side,
        support=support.reflectance(side.skin.lab[None], strict=False),
        density=side.density[None],
        start=None if side.absorbance is None else np.median(side.absorbance, axis=0)[None],
    )


def lay(drawn: Drawn, *, gleam: Array, k2: float) -> Laid:
    """Turn densities into films under a surface of this gleam."""
    bare, seen = drawn.bare(), drawn.side.skin.seen
    gain = np.ones_like(bare) if seen is None else seen / np.maximum(bare, observe.FLOOR)
    return Laid(
        film=absorbance_from_density(drawn.density, drawn.support, gleam, k2, start=drawn.start),
        support=drawn.support,
        gleam=gleam,
        gain=gain,
        coverage=drawn.side.coverage,
    )


def lay_both(trial: Drawn, original: Drawn, *, k1: float, k2: float) -> tuple[Laid, Laid]:
    """Lay both sides under one gleam: ``k1``, or less where either stroke is too dark for that.

    How the two pictures were lit is not known; taking them as lit alike puts no part of
    the difference down to it.
    """
    gleam = np.minimum(*(surface_seen(d.density, d.bare(), k1) for d in (trial, original)))
    return lay(trial, gleam=gleam, k2=k2), lay(original, gleam=gleam, k2=k2)
