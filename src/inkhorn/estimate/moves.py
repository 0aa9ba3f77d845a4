"""Moves of the sampler: preconditioned Crank-Nicolson about a reference normal."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular

from inkhorn.estimate.frame import Frame, Settings
from inkhorn.estimate.mode import Array, Target


@attrs.frozen(kw_only=True, eq=False)
class Cloud:
    """Particles of equal weight at one temperature.

    ``start`` (N,) is the log-density that tempering comes from, ``top`` the
    one it goes to, in coordinates ``x`` (D, N): the target is
    ``(1 - beta) start + beta top``.
    """

    x: Array
    log_likelihood: Array
    start: Array
    top: Array
    beta: float
    log_evidence: float

    @property
    def log_ratio(self) -> Array:
        """Return how much higher the goal lies than the start, (N,); minus infinity where it is impossible."""
        ratio = self.top - self.start
        return np.where(np.isfinite(ratio), ratio, -np.inf)

    def at(self, picks: NDArray[np.intp]) -> Cloud:
        """Return some of the particles."""
        return attrs.evolve(
            self,
            x=self.x[:, picks],
            log_likelihood=self.log_likelihood[picks],
            start=self.start[picks],
            top=self.top[picks],
        )


#: The log-density that tempering starts from, of coordinates ``x`` and unknowns ``z`` (D, N) each, (N,).
Begin = Callable[[Array, Array], Array]


@attrs.frozen(kw_only=True)
class Report:
    """What one stage did."""

    beta: float
    ess: float
    acceptance: float
    moves: int
    memory: float


def log_posterior(ll: Array, z: Array) -> Array:
    """Return the log-posterior of unknowns ``z`` (D, N) but for a constant, (N,)."""
    return np.asarray(ll - 0.5 * np.sum(z**2, axis=0))


@attrs.frozen(kw_only=True, eq=False)
class Normal:
    """A reference normal over ``x``: mean and lower root along the informed directions, else standard."""

    basis: Array
    mean: Array
    root: Array

    def whiten(self, x: Array) -> Array:
        """Return ``x`` (D, N) in coordinates in which the reference is standard."""
        along = self.basis.T @ x
        scaled = solve_triangular(self.root, along - self.mean[:, None], lower=True)
        return np.asarray(x + self.basis @ (scaled - along))

    def unwhiten(self, y: Array) -> Array:
        """Return the inverse of `whiten`."""
        along = self.basis.T @ y
        return np.asarray(y + self.basis @ (self.root @ along + self.mean[:, None] - along))


def reference(x: Array, frame: Frame, ess: float) -> Normal:
    """Return the reference normal of one stage.

    Along the informed directions it has the particles' mean and a covariance
    shrunk towards the start's (the identity) by as much as so many directions
    are unsure from so few effective particles.
    """
    along = frame.basis.T @ x
    r, n = along.shape
    if r == 0:
        return Normal(basis=frame.basis, mean=np.zeros(0), root=np.zeros((0, 0)))
    mean = along.mean(axis=1)
    centred = along - mean[:, None]
    shrink = r / (r + ess)
    covariance = (1.0 - shrink) * centred @ centred.T / n + shrink * np.eye(r)
    return Normal(basis=frame.basis, mean=mean, root=cholesky(covariance, lower=True))


def move(
    rng: np.random.Generator,
    cloud: Cloud,
    target: Target,
    frame: Frame,
    normal: Normal,
    begin: Begin,
    how: Settings,
    ess: float,
) -> tuple[Cloud, Report]:
    """Move every particle by preconditioned Crank-Nicolson until it has forgotten where it was.

    The lot that decides is drawn before the likelihood is asked for: a target
    that can tell early that a proposal falls short need not go to its end.
    """
    here, beta = normal.whiten(cloud.x), cloud.beta
    origin = here.copy()
    ll, start, top = cloud.log_likelihood, cloud.start, cloud.top
    height = _height(beta, start, top, here)
    last = beta >= 1.0
    forget, most = (how.forget, how.max_last) if last else (how.forget_between, how.max_moves)
    stride, accepted, memory, count = how.stride, 0.0, 1.0, 0
    while count < most and memory > forget:
        proposal = np.sqrt(1.0 - stride**2) * here + stride * rng.standard_normal(here.shape)
        x_new = normal.unwhiten(proposal)
        z_new = frame.z_of(x_new)
        bar = height + np.log(rng.random(len(ll)))
        start_new = np.zeros(len(ll)) if last else begin(x_new, z_new)
        base = _height(beta, start_new, -0.5 * np.sum(z_new**2, axis=0), proposal)
        ll_new = target.log_likelihood_above(z_new, (bar - base) / beta)
        height_new = base + beta * ll_new
        ok = height_new > bar
        here[:, ok] = proposal[:, ok]
        ll, start = np.where(ok, ll_new, ll), np.where(ok, start_new, start)
        height = np.where(ok, height_new, height)
        rate = float(ok.mean())
        accepted, count = accepted + rate, count + 1
        memory = _correlation(origin, here, frame.basis)
        # numbers-in-code: the shortest step worth taking
        stride = float(np.clip(stride * np.exp(rate - how.accept), 0.02, 1.0))
    x = normal.unwhiten(here)
    moved = attrs.evolve(cloud, x=x, log_likelihood=ll, start=start, top=log_posterior(ll, frame.z_of(x)))
    report = Report(
        beta=beta, ess=ess, acceptance=accepted / max(count, 1), moves=count, memory=max(memory, 0.0)
    )
    return moved, report


def _height(beta: float, start: Array, top: Array, y: Array) -> Array:
    """Return the log ratio of the stage's target to the reference normal of the moves, (N,)."""
    return np.asarray((1.0 - beta) * start + beta * top + 0.5 * np.sum(y**2, axis=0))


def _correlation(before: Array, now: Array, basis: Array) -> float:
    """Return how far particles remember where they stood, as a correlation over the informed directions."""
    a, b = (basis.T @ v if basis.shape[1] else v for v in (before, now))
    a, b = a - a.mean(axis=1, keepdims=True), b - b.mean(axis=1, keepdims=True)
    scale = np.sqrt(np.sum(a**2) * np.sum(b**2))
    return float(np.abs(np.sum(a * b)) / scale) if scale > 0 else 0.0
