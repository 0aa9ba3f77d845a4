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
from scipy.special import logsumexp

from inkhorn.errors import EstimateError
from inkhorn.estimate.frame import Frame, Settings, first_frame, frame_at
from inkhorn.estimate.mode import Array, Target
from inkhorn.estimate.moves import Begin, Cloud, Report, log_posterior, move, reference


def from_normal(x: Array, z: Array) -> Array:
    """Return the start of a sample from nothing: the standard normal of the frame, (N,)."""
    del z
    return np.asarray(-0.5 * np.sum(x**2, axis=0))


@attrs.frozen(kw_only=True, eq=False)
class Before:
    """Particles (D, N) of an earlier posterior in the new one's unknowns; ``target`` gives its log-likelihood of them."""

    z: Array
    log_likelihood: Array
    ess: float
    log_evidence: float
    target: Callable[[Array], Array]


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
    cloud, reports = temper(rng, cloud, target, frame, from_normal, how, progress)
    n = start.shape[1]
    return Sample(
        z=frame.z_of(cloud.x),
        log_likelihood=cloud.log_likelihood,
        ess=_effective(reports, n),
        log_evidence=cloud.log_evidence,
        reports=tuple(reports),
    )


def renew(
    target: Target,
    before: Before,
    rng: np.random.Generator,
    *,
    settings: Settings | None = None,
    progress: Callable[[float], None] | None = None,
) -> Sample:
    """Carry a sample of an earlier posterior on to one with more readings, or more steps.

    The way leads straight from the earlier posterior to the new one; where
    nothing that was read tells the two apart, the particles stay as they are.

    Parameters
    ----------
    target : Target
        The new posterior.
    before : Before
        The earlier one's particles, unknowns that it did not have filled in from their prior.

    Raises
    ------
    EstimateError
        Particles of the earlier posterior explain the new readings too badly for that.
    """
    how = settings or Settings()
    n = before.z.shape[1]
    ll = target.log_likelihood(before.z)
    change = np.where(np.isfinite(ll), ll - before.log_likelihood, -np.inf)
    if not np.isfinite(change).any():
        raise EstimateError("no earlier draw explains the new readings")
    if float(np.ptp(change)) < how.same:
        return Sample(
            z=before.z,
            log_likelihood=ll,
            ess=before.ess,
            log_evidence=before.log_evidence + float(change.mean()),
            reports=(),
        )
    middle = before.z.mean(axis=1)
    frame = frame_at(middle, target.slopes(middle[:, None])[1], how)

    def begin(x: Array, z: Array) -> Array:
        del x
        return log_posterior(before.target(z), z)

    cloud = Cloud(
        x=frame.x_of(before.z),
        log_likelihood=ll,
        start=log_posterior(before.log_likelihood, before.z),
        top=log_posterior(ll, before.z),
        beta=0.0,
        log_evidence=before.log_evidence,
    )
    how = attrs.evolve(how, max_moves=how.renew_moves, max_last=how.renew_moves, max_stages=how.renew_stages,
                       forget=how.forget_between, keep=how.renew_keep, stride=how.renew_stride)  # fmt: skip
    cloud, reports = temper(rng, cloud, target, frame, begin, how, progress)
    return Sample(
        z=frame.z_of(cloud.x),
        log_likelihood=cloud.log_likelihood,
        ess=_effective(reports, n, before.ess),
        log_evidence=cloud.log_evidence,
        reports=tuple(reports),
    )


def temper(
    rng: np.random.Generator,
    cloud: Cloud,
    target: Target,
    frame: Frame,
    begin: Begin,
    how: Settings,
    progress: Callable[[float], None] | None,
) -> tuple[Cloud, list[Report]]:
    """Lead a cloud from its temperature to 1; raise `EstimateError` where it does not get there."""
    reports: list[Report] = []
    while cloud.beta < 1.0:
        if len(reports) >= how.max_stages:
            raise EstimateError(
                f"the sampler stood at temperature {cloud.beta:.3g} after {len(reports)} stages",
                mend="Two readings may contradict each other; void one and try again",
            )
        cloud, report = step(rng, cloud, target, frame, begin, how)
        reports.append(report)
        if progress is not None:
            progress(cloud.beta)
    return cloud, reports


def _effective(reports: Sequence[Report], n: int, first: float | None = None) -> float:
    """Return the effective number of particles at the end, from what each stage lost and won back.

    Reweighting and resampling cost each stage its share; moves win back what
    they make the particles forget: 1/e' = m^2/e + (1 - m^2)/N with memory m.
    """
    effective = float(n) if first is None else first
    for report in reports:
        effective *= report.ess / n
        effective = 1.0 / (report.memory**2 / effective + (1.0 - report.memory**2) / n)
    return effective


def _cloud(target: Target, frame: Frame, x: Array) -> Cloud:
    z = frame.z_of(x)
    ll = target.log_likelihood(z)
    return Cloud(
        x=x,
        log_likelihood=ll,
        start=from_normal(x, z),
        top=log_posterior(ll, z),
        beta=0.0,
        log_evidence=frame.log_volume,
    )


def step(
    rng: np.random.Generator, cloud: Cloud, target: Target, frame: Frame, begin: Begin, how: Settings
) -> tuple[Cloud, Report]:
    """Go one temperature further: reweight, resample, move."""
    ratio = cloud.log_ratio
    rise = next_rise(ratio, 1.0 - cloud.beta, how.keep)
    log_w = rise * ratio
    total = float(logsumexp(log_w))
    weights = np.exp(log_w - total)
    ess = float(1.0 / np.sum(weights**2))
    moved = attrs.evolve(
        cloud.at(systematic(weights, rng)),
        beta=min(cloud.beta + rise, 1.0),
        log_evidence=cloud.log_evidence + total - float(np.log(len(weights))),
    )
    normal = reference(moved.x, frame, ess)
    return move(rng, moved, target, frame, normal, begin, how, ess)


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
