"""Coordinates for the sampler: those in which the posterior is nearly a standard normal."""

from __future__ import annotations

import functools

import attrs
import numpy as np

from inkhorn.estimate.mode import Array, Mode, Target, climb, find_mode


@attrs.frozen(kw_only=True)
class Settings:
    """How hard to sample; numerical choices, not beliefs about ink."""

    # numbers-in-code: settings of the sampler; tests on known targets hold for them
    keep: float = 0.5
    accept: float = 0.3
    forget: float = 0.15
    forget_between: float = 0.4
    max_moves: int = 16
    max_last: int = 28
    stride: float = 1.0
    max_stages: int = 120
    starts: int = 3
    rounds: int = 20
    enough: float = 0.05
    informed: float = 0.05
    widen: float = 1.6
    apart: float = 1.5
    renew_keep: float = 0.25
    renew_moves: int = 5
    renew_stride: float = 0.35
    renew_stages: int = 4
    same: float = 1e-9
    close: float = 4.0


@attrs.frozen(kw_only=True, eq=False)
class Frame:
    """Coordinates ``z = centre + map x`` in which the start is standard normal.

    ``basis`` (D, r) are the directions of ``x`` that the readings inform.
    """

    centre: Array
    map: Array
    inverse: Array
    basis: Array
    log_volume: float

    def z_of(self, x: Array) -> Array:
        """Return the whitened unknowns of coordinates ``x`` (D, N)."""
        return np.asarray(self.centre[:, None] + self.map @ x)

    def x_of(self, z: Array) -> Array:
        """Return the coordinates of unknowns ``z`` (D, N)."""
        return np.asarray(self.inverse @ (z - self.centre[:, None]))


def first_frame(target: Target, start: Array, how: Settings) -> Frame:
    """Return the frame of the Laplace normal at the summit, or of one that holds all summits where they differ."""
    d = len(start)
    likely = np.argsort(target.log_likelihood(start))[::-1][: how.starts - 1]
    starts = [np.zeros(d), *(start[:, i] for i in likely)]
    # A reading that is plainly wrong leaves two hills: one that believes it and one that does not.
    best = climb(target, starts[0], rounds=how.rounds, close=how.enough)
    modes = []
    for z in starts:
        mode = find_mode(
            target,
            z,
            rounds=how.rounds,
            close=how.enough,
            known=functools.partial(_is_on, best, how.apart),
        )
        modes += [best, mode]
        best = max(mode, best, key=lambda one: one.log_posterior)
    others: list[Mode] = []
    for mode in modes:
        if _another_summit(mode, best, how) and not any(_is_on(one, how.apart, mode.z) for one in others):
            others.append(mode)
    if not others:
        return frame_at(best.z, best.information, how)
    # One normal over all the hills: about their middle, and as wide as they lie apart.
    hills = np.stack([best.z, *(mode.z for mode in others)])
    middle = hills.mean(axis=0)
    return frame_at(middle, best.information, how, apart=(hills - middle).T)


def frame_at(centre: Array, information: Array, how: Settings, *, apart: Array | None = None) -> Frame:
    """Return the frame of a normal with this centre (D,), widened a little.

    Parameters
    ----------
    centre : ndarray, shape (D,)
    information : ndarray, shape (D, D)
        Of the readings, over the prior.
    apart : ndarray, shape (D, H), optional
        Where hills lie from the centre: the normal is made wide enough to hold them all.
    """
    values, vectors = np.linalg.eigh(information)
    informed = values > how.informed
    variance = np.where(informed, how.widen / (1.0 + np.maximum(values, 0.0)), 1.0)
    if apart is not None:
        covariance = (vectors * variance) @ vectors.T + apart @ apart.T
        variance, vectors = np.linalg.eigh(covariance)
        informed = np.abs(np.log(variance)) > how.informed
    scale = np.sqrt(variance)
    # Symmetric root, so that x stays as near to the unknowns' own axes as may be.
    return Frame(
        centre=centre,
        map=(vectors * scale) @ vectors.T,
        inverse=(vectors / scale) @ vectors.T,
        basis=vectors[:, informed],
        log_volume=float(np.log(scale).sum()),
    )


def _another_summit(mode: Mode, best: Mode, how: Settings) -> bool:
    """Say whether a climb ended elsewhere than the best (in its own errors), on a hill that holds a share of the whole."""
    if best is mode or _mass(best) - _mass(mode) > how.close:
        return False
    return not _is_on(best, how.apart, mode.z)


def _mass(mode: Mode) -> float:
    """Return the log of what the hill of a summit holds, by Laplace's formula, but for a constant."""
    _, log_det = np.linalg.slogdet(np.eye(len(mode.z)) + mode.information)
    return mode.log_posterior - 0.5 * float(log_det)


def _is_on(summit: Mode, apart: float, z: Array) -> bool:
    """Say whether a place (D,) is within so many of a summit's own errors of it."""
    off = z - summit.z
    return bool(off @ off + off @ summit.information @ off <= apart**2)
