"""Tempered sequential Monte Carlo in whitened space, with Gauss-Newton preconditioned moves.

The prior of every unknown is standard normal (`inkhorn.replay.draws`), so the
target at temperature ``beta`` is

.. math:: \\pi_\\beta(z) \\propto N(z; 0, I)\\, L(z)^\\beta .

Stages, in order: (1) the next ``beta`` is chosen so that reweighting keeps half
of the particles effective [DelMoral2006]_; (2) systematic resampling;
(3) the Gauss-Newton matrix ``beta J' W J``, averaged over some particles, tells
the few directions that the readings inform; along them a normal takes the
particles' own mean and covariance, across them it is the prior [Cui2014]_;
(4) preconditioned Crank-Nicolson moves [Cotter2013]_, which leave that normal unchanged and so are accepted nearly always where the
target is nearly normal, whatever the number of unknowns; the step is tuned on
the acceptance, and moves go on until the particles have forgotten where they
were. The normalising constant comes with it.

References
----------
.. [DelMoral2006] P. Del Moral, A. Doucet, A. Jasra, J. R. Stat. Soc. B 68 (2006) 411.
.. [Cui2014] T. Cui, J. Martin, Y. Marzouk, A. Solonen, A. Spantini, Inverse Problems 30 (2014) 114015.
.. [Cotter2013] S. Cotter, G. Roberts, A. Stuart, D. White, Stat. Sci. 28 (2013) 424.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular
from scipy.special import logsumexp

from inkhorn.errors import EstimateError

Array = NDArray[np.float64]


class Target(Protocol):
    """What is sampled: a likelihood over whitened unknowns."""

    def log_likelihood(self, z: Array) -> Array:
        """Return the log-likelihood of each column of ``z`` (D, N), (N,)."""
        ...

    def curvature(self, z: Array) -> Array:
        """Return the Gauss-Newton matrix of minus the log-likelihood, (D, D), mean over columns of ``z``."""
        ...


@attrs.frozen(kw_only=True)
class Settings:
    """How hard to sample; numerical choices, not beliefs about ink."""

    keep: float = 0.5
    accept: float = 0.35
    forget: float = 0.1
    max_moves: int = 24
    looks: int = 8
    informed: float = 0.05
    particles_a_direction: int = 12
    widen: float = 1.05
    max_stages: int = 120


@attrs.frozen(kw_only=True, eq=False)
class Cloud:
    """Particles, equally weighted, with their log-likelihoods."""

    z: Array
    log_likelihood: Array
    beta: float
    log_evidence: float


@attrs.frozen(kw_only=True)
class Report:
    """What one stage did."""

    beta: float
    ess: float
    acceptance: float
    moves: int
    memory: float


@attrs.frozen(kw_only=True, eq=False)
class Sample:
    """The outcome: particles of the posterior, effective number, evidence, the stages' reports."""

    z: Array
    log_likelihood: Array
    ess: float
    log_evidence: float
    reports: tuple[Report, ...]


def sample(
    target: Target,
    start: Array,
    rng: np.random.Generator,
    *,
    settings: Settings | None = None,
    progress: Callable[[float], None] | None = None,
) -> Sample:
    """Draw from the posterior.

    Parameters
    ----------
    target : Target
        Likelihood and its curvature.
    start : ndarray, shape (D, N)
        Draws of the prior, standard normal.
    rng : numpy.random.Generator
        Drives resampling and moves; the same generator gives the same sample.
    progress : callable, optional
        Told the share of the way (the temperature) after each stage.

    Returns
    -------
    Sample
        ``N`` particles of equal weight.

    Raises
    ------
    EstimateError
        If no draw of the prior explains the readings at all, or the
        temperature does not reach 1 within the allowed stages.
    """
    how = settings or Settings()
    ll = target.log_likelihood(start)
    if not np.isfinite(ll).any():
        raise EstimateError(
            "no draw of the prior explains the readings", mend="Look for a slip in the last entries"
        )
    cloud = Cloud(z=start, log_likelihood=ll, beta=0.0, log_evidence=0.0)
    reports: list[Report] = []
    while cloud.beta < 1.0:
        if len(reports) >= how.max_stages:
            raise EstimateError(
                f"the sampler stood at temperature {cloud.beta:.3g} after {len(reports)} stages",
                mend="Two readings may contradict each other; void one and try again",
            )
        cloud, report = step(rng, cloud, target, how)
        reports.append(report)
        if progress is not None:
            progress(cloud.beta)
    n = cloud.z.shape[1]
    if not reports:
        return Sample(z=cloud.z, log_likelihood=ll, ess=n, log_evidence=0.0, reports=())
    last = reports[-1]
    ess = n / (1.0 + last.memory**2 * (n / last.ess - 1.0))
    return Sample(
        z=cloud.z,
        log_likelihood=cloud.log_likelihood,
        ess=float(ess),
        log_evidence=cloud.log_evidence,
        reports=tuple(reports),
    )


def step(rng: np.random.Generator, cloud: Cloud, target: Target, how: Settings) -> tuple[Cloud, Report]:
    """Go one temperature further: reweight, resample, move."""
    ll = np.where(np.isfinite(cloud.log_likelihood), cloud.log_likelihood, -np.inf)
    rise = next_rise(ll, 1.0 - cloud.beta, how.keep)
    log_w = rise * ll
    total = logsumexp(log_w)
    weights = np.exp(log_w - total)
    beta = min(cloud.beta + rise, 1.0)
    ess = 1.0 / np.sum(weights**2)
    chosen = systematic(weights, rng)
    z, ll = cloud.z[:, chosen], ll[chosen]
    z, ll, acceptance, moves, memory = move(rng, z, ll, beta, target, how)
    return (
        Cloud(z=z, log_likelihood=ll, beta=beta, log_evidence=cloud.log_evidence + total - np.log(len(ll))),
        Report(beta=beta, ess=float(ess), acceptance=acceptance, moves=moves, memory=memory),
    )


def next_rise(log_likelihood: Array, most: float, keep: float) -> float:
    """Return the rise in temperature after which a share ``keep`` of the particles is effective."""
    n = len(log_likelihood)

    def effective(rise: float) -> float:
        log_w = rise * log_likelihood
        return float(np.exp(2 * logsumexp(log_w) - logsumexp(2 * log_w)))

    if effective(most) >= keep * n:
        return most
    low, high = 0.0, most
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if effective(middle) >= keep * n else (low, middle)
    return max(low, 1e-12)


def systematic(weights: Array, rng: np.random.Generator) -> NDArray[np.intp]:
    """Return the indices of a systematic resampling, (N,)."""
    n = len(weights)
    points = (rng.random() + np.arange(n)) / n
    return np.minimum(np.searchsorted(np.cumsum(weights), points), n - 1)


@attrs.frozen(kw_only=True, eq=False)
class Frame:
    """Coordinates in which the reference normal is standard.

    Along the ``basis`` (D, r) of directions that the readings inform, the
    reference has the particles' own mean and covariance (``root`` its lower
    Cholesky factor); across it, it is the prior.
    """

    basis: Array
    mean: Array
    root: Array

    def to_frame(self, z: Array) -> Array:
        """Return frame coordinates of ``z`` (D, N): r informed ones moved, the rest as they are."""
        along = self.basis.T @ z
        scaled = solve_triangular(self.root, along - self.mean[:, None], lower=True)
        return np.asarray(z + self.basis @ (scaled - along))

    def from_frame(self, x: Array) -> Array:
        """Return whitened unknowns of frame coordinates ``x`` (D, N)."""
        along = self.basis.T @ x
        return np.asarray(x + self.basis @ (self.root @ along + self.mean[:, None] - along))


def reference(z: Array, curvature: Array, beta: float, how: Settings) -> Frame:
    """Return the reference normal of one stage [Cui2014]_.

    The likelihood-informed directions are the eigenvectors of the mean
    Gauss-Newton matrix whose eigenvalue, at this temperature, is not small
    against the prior's 1. There are few of them (about as many as readings),
    so their covariance is well known from the particles; it is widened a
    little to cover tails.
    """
    eigenvalues, vectors = np.linalg.eigh(beta * curvature)
    order = np.argsort(eigenvalues)[::-1]
    most = z.shape[1] // how.particles_a_direction
    kept = [i for i in order if eigenvalues[i] > how.informed][:most]
    basis = vectors[:, kept]
    along = basis.T @ z
    mean = along.mean(axis=1)
    centred = along - mean[:, None]
    covariance = how.widen * centred @ centred.T / z.shape[1]
    root = cholesky(covariance + 1e-9 * np.eye(len(kept)), lower=True) if kept else np.zeros((0, 0))
    return Frame(basis=basis, mean=mean, root=root)


def _some(z: Array, count: int) -> Array:
    """Return ``count`` particles spread evenly over the cloud, (D, count)."""
    return z[:, np.linspace(0, z.shape[1] - 1, count).astype(int)]


def move(
    rng: np.random.Generator, z: Array, ll: Array, beta: float, target: Target, how: Settings
) -> tuple[Array, Array, float, int, float]:
    """Move every particle by preconditioned Crank-Nicolson until it has forgotten where it was.

    Returns
    -------
    z, ll : ndarray
        The moved particles and their log-likelihoods.
    acceptance : float
        Mean over all moves.
    moves : int
        How many it took.
    memory : float
        Mean absolute correlation of the whitened particles with where they stood before.
    """
    frame = reference(z, target.curvature(_some(z, how.looks)), beta, how)
    here = frame.to_frame(z)
    origin = here.copy()
    # In the frame the reference is standard normal, so the log ratio of target
    # to reference is what decides; it is constant where the target is normal.
    log_ratio = beta * ll - 0.5 * np.sum(z**2, axis=0) + 0.5 * np.sum(here**2, axis=0)
    stride, accepted, memory, count = 1.0, 0.0, 1.0, 0
    while count < how.max_moves and memory > how.forget:
        proposal = np.sqrt(1.0 - stride**2) * here + stride * rng.standard_normal(here.shape)
        z_new = frame.from_frame(proposal)
        ll_new = target.log_likelihood(z_new)
        ll_new = np.where(np.isfinite(ll_new), ll_new, -np.inf)
        ratio_new = beta * ll_new - 0.5 * np.sum(z_new**2, axis=0) + 0.5 * np.sum(proposal**2, axis=0)
        ok = np.log(rng.random(len(ll))) < ratio_new - log_ratio
        here[:, ok], ll = proposal[:, ok], np.where(ok, ll_new, ll)
        log_ratio = np.where(ok, ratio_new, log_ratio)
        rate = float(ok.mean())
        accepted, count = accepted + rate, count + 1
        memory = _correlation(origin, here)
        stride = float(np.clip(stride * np.exp(rate - how.accept) if rate < how.accept else
                               stride * np.exp(0.5 * (rate - how.accept)), 0.02, 1.0))  # fmt: skip
    return frame.from_frame(here), ll, accepted / count, count, memory


def _correlation(before: Array, now: Array) -> float:
    """Return the correlation of where particles stand with where they stood, over all coordinates."""
    a = before - before.mean(axis=1, keepdims=True)
    b = now - now.mean(axis=1, keepdims=True)
    scale = np.sqrt(np.sum(a**2) * np.sum(b**2))
    return float(np.abs(np.sum(a * b)) / scale) if scale > 0 else 0.0
