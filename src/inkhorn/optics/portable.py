"""From three channel densities on one support to an absorbance that can be laid on another."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.optics.film import reflectance
from inkhorn.optics.observe import FLOOR, channel_density, linear_rgb
from inkhorn.optics.spectra import WAVELENGTHS, observer

# numbers-in-code: rounds before giving up
_ROUNDS = 40
_CLOSE = 1e-9
_NUDGE = 1e-6
# An absorbance at which nothing more can be seen (a double pass lets 1e-12 through).
_BLACK = 6


@functools.cache
def channel_hats() -> NDArray[np.float64]:
    """Return three straight-sided hats ``(3, W)`` that add to one, over the centres of R, G and B.

    A centre is the mean wavelength of the positive weights of that channel.
    """
    weight = np.maximum(observer().rgb, 0)
    centres = (weight * WAVELENGTHS[:, None]).sum(axis=0) / weight.sum(axis=0)
    order = np.argsort(centres)
    hats = np.stack([np.interp(WAVELENGTHS, centres[order], row) for row in np.eye(3)])
    out = np.empty_like(hats)
    out[order] = hats
    out.setflags(write=False)
    return out


def surface_seen(density: ArrayLike, bare_rgb: ArrayLike, k1: ArrayLike) -> NDArray[np.float64]:
    """Return how much gleam a picture can have had, given how dark its ink reads.

    A stroke cannot be darker than the surface's gleam. Where it reads darker than
    half as dark again as ``k1`` allows, the camera saw less of the gleam (it was
    lit from the side), and half the darkest channel is taken instead.

    Parameters
    ----------
    density, bare_rgb : array_like
        Channel density and bare linear channels, ``(..., 3)``.
    k1 : array_like
        The surface constant it would have, ``(...)``.
    """
    dark = np.asarray(bare_rgb) * 10 ** -np.asarray(density, dtype=np.float64)
    return np.asarray(np.minimum(k1, np.maximum(dark.min(axis=-1), FLOOR) / 2))


def absorbance_from_density(
    density: ArrayLike,
    support: ArrayLike,
    k1: ArrayLike,
    k2: ArrayLike,
    *,
    start: ArrayLike | None = None,
) -> NDArray[np.float64]:
    """Return a film whose channel densities on this support are the ones measured.

    Three numbers, one a channel, are added to ``start`` as straight-sided hats
    over wavelength and found by Newton steps; the absorbance is nowhere below 0.
    Densities that no ink can have (below 0, or beyond what the gleam allows) get
    the nearest film there is.

    Parameters
    ----------
    density : array_like
        ``(..., 3)``.
    support : array_like
        Reflectance of the bare support, ``(W,)`` or ``(..., W)``.
    k1, k2 : array_like
        Surface constants, scalars or ``(...)``; see `surface_seen`.
    start : array_like, optional
        A predicted absorbance whose finer shape is to be kept, ``(W,)`` or ``(..., W)``.

    Returns
    -------
    ndarray
        Single-pass decadic absorbance, ``(..., W)``.

    Notes
    -----
    Three channels cannot fix a spectrum: laid on another skin the colour is good
    to about a difference of 1 (``tests/unit/optics/test_portable.py`` measures it).
    """
    target = np.asarray(density, dtype=np.float64)
    shape = target.shape[:-1]
    flat = target.reshape(-1, 3)
    n = len(flat)
    width = len(WAVELENGTHS)
    skin = np.broadcast_to(np.asarray(support, dtype=np.float64), (*shape, width)).reshape(n, width)
    c1 = np.broadcast_to(np.asarray(k1, dtype=np.float64), shape).reshape(n)
    c2 = np.broadcast_to(np.asarray(k2, dtype=np.float64), shape).reshape(n)
    base = np.zeros(width) if start is None else np.asarray(start, dtype=np.float64)
    base = np.broadcast_to(base, (*shape, width)).reshape(n, width)
    bare = linear_rgb(skin)

    def seen(c: NDArray[np.float64]) -> NDArray[np.float64]:
        film = np.maximum(base + c @ channel_hats(), 0)
        return channel_density(linear_rgb(reflectance(film, skin, c1, c2)), bare)

    goal = np.clip(flat, 0, _darkest(skin, c1, c2, bare))
    c = goal / 2 if start is None else np.zeros((n, 3))
    error = seen(c) - goal
    for _ in range(_ROUNDS):
        if np.max(np.abs(error), initial=0) < _CLOSE:
            break
        slope = np.stack([(seen(c + _NUDGE * row) - goal - error) / _NUDGE for row in np.eye(3)], axis=-1)
        step = np.linalg.solve(slope + _NUDGE * np.eye(3), error[..., None])[..., 0]
        trial = np.clip(c - np.clip(step, -0.5, 0.5), -_BLACK, _BLACK)
        new_error = seen(trial) - goal
        better = np.linalg.norm(new_error, axis=1) < np.linalg.norm(error, axis=1)
        c = np.where(better[:, None], trial, (c + trial) / 2)
        error = np.where(better[:, None], new_error, seen(c) - goal)
    return np.maximum(base + c @ channel_hats(), 0).reshape(*shape, width)


def _darkest(
    skin: NDArray[np.float64], k1: NDArray[np.float64], k2: NDArray[np.float64], bare: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return channel densities just short of the gleam, ``(N, 3)``, beyond which nothing can be told."""
    black = reflectance(np.full(skin.shape, float(_BLACK)), skin, k1, k2)
    limit = channel_density(linear_rgb(black), bare)
    return np.asarray(limit - limit / 1000)
