r"""Tempered sequential Monte Carlo in whitened space, from a Laplace start, with preconditioned moves.

The prior of every unknown is standard normal (`inkhorn.replay.draws`). The
cloud starts from the normal that Gauss-Newton finds at the most probable point
(`inkhorn.estimate.mode`), widened a little: ``z = m + L x``, x standard normal.
In these coordinates the posterior is a standard normal times ``exp r(x)``,

.. math:: r(x) = \log L(z) - |z|^2/2 + |x|^2/2 + \log|L|,

which is nearly flat where the posterior is nearly normal, and the cloud is led
there by tempering: ``pi_beta(x) = N(x; 0, I) exp(beta r(x))``. Where climbing
from different starts ends on different summits the start is the prior itself
(m = 0, L = I), and tempering does all the work.

Stages, in order: (1) the next ``beta`` is chosen so that reweighting keeps half
of the particles effective [DelMoral2006]_; (2) systematic resampling; (3) along
the directions that the readings inform, a reference normal takes the particles'
own mean and covariance, shrunk towards the start's; across them it is the
start's [Cui2014]_; (4) preconditioned Crank-Nicolson moves [Cotter2013]_ leave
that normal unchanged and so are accepted often, whatever the number of
unknowns; the step is tuned on the acceptance, and moves go on until the
particles have forgotten where they were. The normalising constant comes with it.

References
----------
.. [DelMoral2006] P. Del Moral, A. Doucet, A. Jasra, J. R. Stat. Soc. B 68 (2006) 411.
.. [Cui2014] T. Cui, J. Martin, Y. Marzouk, A. Solonen, A. Spantini, Inverse Problems 30 (2014) 114015.
.. [Cotter2013] S. Cotter, G. Roberts, A. Stuart, D. White, Stat. Sci. 28 (2013) 424.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular
from scipy.special import logsumexp

from inkhorn.errors import EstimateError
from inkhorn.estimate.mode import Array, Mode, Target, climb, find_mode


@attrs.frozen(kw_only=True)
class Settings:
    """How hard to sample; numerical choices, not beliefs about ink."""

    # numbers-in-code: settings of the sampler; tests on known targets hold for them
    keep: float = 0.5
    accept: float = 0.3
    forget: float = 0.1
    max_moves: int = 16
    max_stages: int = 120
    starts: int = 3
    rounds: int = 20
    enough: float = 0.05
    informed: float = 0.05
    widen: float = 1.25
    apart: float = 1.5
    close: float = 10.0


@attrs.frozen(kw_only=True, eq=False)
class Frame:
    """Coordinates ``z = centre + map x`` in which the start is standard normal.

    ``basis`` (D, r) are the directions of ``x`` that the readings inform.
    """

    centre: Array
    map: Array
    basis: Array
    log_volume: float

    def z_of(self, x: Array) -> Array:
        """Return the whitened unknowns of coordinates ``x`` (D, N)."""
        return np.asarray(self.centre[:, None] + self.map @ x)


@attrs.frozen(kw_only=True, eq=False)
class Cloud:
    """Particles of equal weight: coordinates, log-likelihoods and the log ratio ``r``."""

    x: Array
    log_likelihood: Array
    log_ratio: Array
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
        Likelihood and its slopes.
    start : ndarray, shape (D, N)
        Standard-normal numbers, keyed to the unknowns.
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
    frame = first_frame(target, start, how)
    cloud = _cloud(target, frame, start)
    if not np.isfinite(cloud.log_ratio).any():
        raise EstimateError(
            "no draw of the prior explains the readings", mend="Look for a slip in the last entries"
        )
    reports: list[Report] = []
    while cloud.beta < 1.0:
        if len(reports) >= how.max_stages:
            raise EstimateError(
                f"the sampler stood at temperature {cloud.beta:.3g} after {len(reports)} stages",
                mend="Two readings may contradict each other; void one and try again",
            )
        cloud, report = step(rng, cloud, target, frame, how)
        reports.append(report)
        if progress is not None:
            progress(cloud.beta)
    n = start.shape[1]
    return Sample(
        z=frame.z_of(cloud.x),
        log_likelihood=cloud.log_likelihood,
        ess=_effective(reports, n),
        log_evidence=cloud.log_evidence,
        reports=tuple(reports),
    )


def _effective(reports: Sequence[Report], n: int) -> float:
    """Return the effective number of particles at the end, from what each stage lost and won back.

    Reweighting and resampling cost each stage its share; moves win back what
    they make the particles forget: 1/e' = m^2/e + (1 - m^2)/N with memory m.
    """
    effective = float(n)
    for report in reports:
        effective *= report.ess / n
        effective = 1.0 / (report.memory**2 / effective + (1.0 - report.memory**2) / n)
    return effective


def first_frame(target: Target, start: Array, how: Settings) -> Frame:
    """Return the frame of the Laplace normal at the summit, or of the prior where summits differ."""
    d = len(start)
    likely = np.argsort(target.log_likelihood(start))[::-1][: how.starts - 1]
    starts = [np.zeros(d), *(start[:, i] for i in likely)]
    # A reading that is plainly wrong leaves two hills: one that believes it and one that does not.
    modes = [climb(target, starts[0], rounds=how.rounds, close=how.enough)]
    modes += [find_mode(target, z, rounds=how.rounds, close=how.enough) for z in starts]
    best = max(modes, key=lambda mode: mode.log_posterior)
    values, vectors = np.linalg.eigh(best.information)
    basis = vectors[:, values > how.informed]
    if any(_another_summit(mode, best, how) for mode in modes):
        return Frame(centre=np.zeros(d), map=np.eye(d), basis=basis, log_volume=0.0)
    scale = np.where(values > how.informed, np.sqrt(how.widen / (1.0 + np.maximum(values, 0.0))), 1.0)
    # Symmetric root, so that x stays as near to the unknowns' own axes as may be.
    return Frame(
        centre=best.z,
        map=(vectors * scale) @ vectors.T,
        basis=basis,
        log_volume=float(np.log(scale).sum()),
    )


def _another_summit(mode: Mode, best: Mode, how: Settings) -> bool:
    """Say whether a climb ended elsewhere than the best (in its own errors), and nearly as high."""
    if best.log_posterior - mode.log_posterior > how.close:
        return False
    apart = mode.z - best.z
    return bool(apart @ apart + apart @ best.information @ apart > how.apart**2)


def _cloud(target: Target, frame: Frame, x: Array) -> Cloud:
    z = frame.z_of(x)
    ll = target.log_likelihood(z)
    return Cloud(
        x=x, log_likelihood=ll, log_ratio=_log_ratio(ll, z, x), beta=0.0, log_evidence=frame.log_volume
    )


def _log_ratio(ll: Array, z: Array, x: Array) -> Array:
    ratio = ll - 0.5 * np.sum(z**2, axis=0) + 0.5 * np.sum(x**2, axis=0)
    return np.where(np.isfinite(ratio), ratio, -np.inf)


def step(
    rng: np.random.Generator, cloud: Cloud, target: Target, frame: Frame, how: Settings
) -> tuple[Cloud, Report]:
    """Go one temperature further: reweight, resample, move."""
    rise = next_rise(cloud.log_ratio, 1.0 - cloud.beta, how.keep)
    log_w = rise * cloud.log_ratio
    total = float(logsumexp(log_w))
    weights = np.exp(log_w - total)
    ess = float(1.0 / np.sum(weights**2))
    chosen = systematic(weights, rng)
    moved = Cloud(
        x=cloud.x[:, chosen],
        log_likelihood=cloud.log_likelihood[chosen],
        log_ratio=cloud.log_ratio[chosen],
        beta=min(cloud.beta + rise, 1.0),
        log_evidence=cloud.log_evidence + total - float(np.log(len(chosen))),
    )
    normal = reference(moved.x, frame, ess)
    return move(rng, moved, target, frame, normal, how, ess)


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
    how: Settings,
    ess: float,
) -> tuple[Cloud, Report]:
    """Move every particle by preconditioned Crank-Nicolson until it has forgotten where it was."""
    here = normal.whiten(cloud.x)
    origin = here.copy()
    ll, ratio = cloud.log_likelihood, cloud.log_ratio
    height = _height(cloud.beta, ratio, cloud.x, here)
    stride, accepted, memory, count = 1.0, 0.0, 1.0, 0
    while count < how.max_moves and memory > how.forget:
        proposal = np.sqrt(1.0 - stride**2) * here + stride * rng.standard_normal(here.shape)
        x_new = normal.unwhiten(proposal)
        z_new = frame.z_of(x_new)
        ll_new = target.log_likelihood(z_new)
        ratio_new = _log_ratio(ll_new, z_new, x_new)
        height_new = _height(cloud.beta, ratio_new, x_new, proposal)
        ok = np.log(rng.random(len(ll))) < height_new - height
        here[:, ok] = proposal[:, ok]
        ll, ratio = np.where(ok, ll_new, ll), np.where(ok, ratio_new, ratio)
        height = np.where(ok, height_new, height)
        rate = float(ok.mean())
        accepted, count = accepted + rate, count + 1
        memory = _correlation(origin, here, frame.basis)
        # numbers-in-code: the shortest step worth taking
        stride = float(np.clip(stride * np.exp(rate - how.accept), 0.02, 1.0))
    moved = attrs.evolve(cloud, x=normal.unwhiten(here), log_likelihood=ll, log_ratio=ratio)
    report = Report(beta=cloud.beta, ess=ess, acceptance=accepted / count, moves=count, memory=memory)
    return moved, report


def _height(beta: float, ratio: Array, x: Array, y: Array) -> Array:
    """Return the log ratio of the stage's target to the reference normal of the moves, (N,)."""
    return np.asarray(beta * ratio - 0.5 * np.sum(x**2, axis=0) + 0.5 * np.sum(y**2, axis=0))


def _correlation(before: Array, now: Array, basis: Array) -> float:
    """Return how far particles remember where they stood, as a correlation over the informed directions."""
    a, b = (basis.T @ v if basis.shape[1] else v for v in (before, now))
    a, b = a - a.mean(axis=1, keepdims=True), b - b.mean(axis=1, keepdims=True)
    scale = np.sqrt(np.sum(a**2) * np.sum(b**2))
    return float(np.abs(np.sum(a * b)) / scale) if scale > 0 else 0.0
