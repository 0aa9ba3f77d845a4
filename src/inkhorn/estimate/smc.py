r"""Tempered sequential Monte Carlo over unknowns whose prior is standard normal.

In three goes:

1. **Scouts.** A small cloud is led from the prior to the posterior by tempering,
   ``pi_beta(z) = N(z; 0, I) L(z)^beta``. It is crude, and finds where the posterior lies: also
   along a ridge, and on more than one hill.
2. **Pieces.** At some of the scouts the readings' slopes give a normal each
   (`inkhorn.estimate.pieces`). Their mixture ``M`` is a likeness of the posterior that can be
   drawn from and whose density is known.
3. **The cloud itself** is drawn from ``M`` and led to the posterior by tempering,
   ``pi_beta = M^{1-beta} (N L)^beta``: few stages, for ``M`` is near. Once it is well on its way it
   knows the posterior better than the scouts did: from then on each stage moves about pieces laid
   at its own particles. ``M`` stays where it comes from.

Each stage: the next ``beta`` is chosen so that reweighting keeps half of the
particles effective [DelMoral2006]_; systematic resampling; moves about the
pieces (`inkhorn.estimate.moves`). The normalising constant comes with it. How many particles
of an independent sample the cloud is worth is told by its families (`inkhorn.estimate.families`).

References
----------
.. [DelMoral2006] P. Del Moral, A. Doucet, A. Jasra, J. R. Stat. Soc. B 68 (2006) 411.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from inkhorn.errors import EstimateError
from inkhorn.estimate.aim import Array, Settings, Target
from inkhorn.estimate.families import effective
from inkhorn.estimate.moves import Begin, Cloud, Report, log_posterior, move
from inkhorn.estimate.pieces import Crowd, Pieces, fit_pieces

#: Gives the pieces that the moves of one stage go about, and where tempering comes from (None: those very pieces).
Fit = Callable[[Cloud], tuple[Pieces, Begin | None]]


def from_prior(z: Array) -> Array:
    """Return the log of the prior but for a constant, (N,)."""
    return log_posterior(0.0, z)


@attrs.frozen(kw_only=True, eq=False)
class Before:
    """Particles (D, N) of an earlier posterior in the new one's unknowns, with their log-likelihood by the earlier readings.

    ``family`` (N,) is that of each particle, as `Sample` gave it.
    """

    z: Array
    log_likelihood: Array
    family: NDArray[np.intp]
    ess: float
    log_evidence: float


@attrs.frozen(kw_only=True, eq=False)
class Sample:
    """The outcome: particles of the posterior with their families, effective number, evidence, the stages' reports."""

    z: Array
    log_likelihood: Array
    family: NDArray[np.intp]
    ess: float
    log_evidence: float
    reports: tuple[Report, ...]


def untold(start: Array) -> Sample:
    """Return draws of the prior (D, N) as the outcome where nothing was read."""
    n = start.shape[1]
    return Sample(
        z=start, log_likelihood=np.zeros(n), family=np.arange(n), ess=n, log_evidence=0.0, reports=()
    )


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
    scouts = start[:, : how.scouts]
    cloud = _cloud(target, scouts, from_prior(scouts), 0.0)
    if not np.isfinite(cloud.log_ratio).any():
        raise EstimateError(
            "no draw of the prior explains the readings", mend="Look for a slip in the last entries"
        )

    def about(cloud: Cloud) -> tuple[Pieces, Begin | None]:
        places = _places(cloud, how.scout_pieces, rng)
        return fit_pieces(target, places, cloud.beta, how, _crowd(cloud)), from_prior

    way = Way(target=target, about=about, how=how, moves=how.scout_moves, last=how.scout_moves)
    cloud, _, _ = temper(rng, cloud, way, None)
    return _by_pieces(
        target, _crowd(cloud), _places(cloud, how.pieces, rng), start.shape[1], rng, how, progress
    )


def _by_pieces(
    target: Target,
    near: Crowd,
    places: Array,
    n: int,
    rng: np.random.Generator,
    how: Settings,
    progress: Callable[[float], None] | None,
) -> Sample:
    """Draw ``n`` particles of the posterior by way of pieces at ``places`` (D, K), some of a crowd that is near it."""
    pieces = fit_pieces(target, places, 1.0, how, near)
    drawn = pieces.draw(n, rng)
    cloud = _cloud(target, pieces.bent(drawn), pieces.total(drawn, pieces.each(drawn)), 0.0)

    def begin(z: Array) -> Array:
        u = pieces.straight(z)
        return pieces.total(u, pieces.each(u))

    def about(cloud: Cloud) -> tuple[Pieces, Begin | None]:
        if cloud.beta < how.own:
            return pieces, None
        places = _places(cloud, how.pieces, rng)
        # A normal leans towards the particles that lay it, and moves about it drive out those very particles: the
        # cloud comes out a little too wide. On the way there that does no harm; at the end no particle counts for its own.
        crowd = _crowd(cloud, how.parts if cloud.beta >= 1.0 else 1)
        return fit_pieces(target, places, 1.0, how, crowd), begin

    way = Way(
        target=target, about=about, how=how, moves=how.moves, last=how.last_moves, longest=how.most_moves
    )
    cloud, last, reports = temper(rng, cloud, way, progress)
    return _told(cloud, (last or pieces).basis, reports)


def _told(cloud: Cloud, basis: Array, reports: Sequence[Report]) -> Sample:
    """Return a cloud at its end as the outcome; ``basis`` (D, R) are the directions that the readings inform of."""
    return Sample(
        z=cloud.z,
        log_likelihood=cloud.log_likelihood,
        family=cloud.family,
        ess=effective(basis.T @ cloud.z, cloud.family),
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

    Where nothing that was read tells the two apart, the particles stay as they
    are. Where it says little they are weighed anew and resampled, and moved a
    few times if that leaves many of them twice. Where it says much they only
    show where the pieces are to be laid, in the place of scouts.

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
            family=before.family,
            ess=before.ess,
            log_evidence=before.log_evidence + float(change.mean()),
            reports=(),
        )
    total = float(logsumexp(change))
    weights = np.exp(change - total)
    ess = float(1.0 / np.sum(weights**2))
    cloud = Cloud(
        z=before.z,
        log_likelihood=ll,
        start=np.zeros(n),
        beta=1.0,
        log_evidence=before.log_evidence + total - float(np.log(n)),
        family=before.family,
        stride=how.renew_stride,
    ).at(systematic(weights, rng))
    if ess < how.renew_keep * n:
        places = _places(cloud, how.pieces, rng)
        if ess < how.renew_seen * how.pieces or places.shape[1] < how.pieces:
            raise EstimateError("hardly an earlier draw explains the new readings")
        return _by_pieces(target, Crowd(z=cloud.z, worth=ess), places, n, rng, how, progress)
    if ess < how.renew_still * n:
        near = Crowd(z=cloud.z, worth=before.ess * ess / n, parts=how.parts)
        pieces = fit_pieces(target, _places(cloud, how.renew_pieces, rng), 1.0, how, near)
        cloud, report = move(rng, cloud, target, pieces, None, how, ess, most=how.renew_moves)
        got = _told(cloud, pieces.basis, (report,))
    else:
        got = Sample(
            z=cloud.z,
            log_likelihood=cloud.log_likelihood,
            family=cloud.family,
            # Weighing costs its share; nothing was won back.
            ess=before.ess * ess / n,
            log_evidence=cloud.log_evidence,
            reports=(Report(beta=1.0, ess=ess, acceptance=0.0, moves=0, memory=1.0),),
        )
    if progress is not None:
        progress(1.0)
    return got


@attrs.frozen(kw_only=True, eq=False)
class Way:
    """How a cloud is led to a target: about what it moves, how often at each stage and at the last, and there at most."""

    target: Target
    about: Fit
    how: Settings
    moves: int
    last: int
    longest: int = 0


def temper(
    rng: np.random.Generator, cloud: Cloud, way: Way, progress: Callable[[float], None] | None
) -> tuple[Cloud, Pieces | None, list[Report]]:
    """Lead a cloud from its temperature to 1; raise `EstimateError` where it does not get there.

    Returns the cloud, the pieces that it moved about last, and what each stage did.
    """
    reports: list[Report] = []
    pieces: Pieces | None = None
    while cloud.beta < 1.0:
        if len(reports) >= way.how.max_stages:
            raise EstimateError(
                f"the sampler stood at temperature {cloud.beta:.3g} after {len(reports)} stages",
                mend="Two readings may contradict each other; void one and try again",
            )
        cloud, pieces, report = step(rng, cloud, way)
        reports.append(report)
        if progress is not None:
            progress(cloud.beta)
    return cloud, pieces, reports


def _cloud(target: Target, z: Array, start: Array, log_evidence: float) -> Cloud:
    return Cloud(
        z=z,
        log_likelihood=target.log_likelihood(z),
        start=start,
        beta=0.0,
        log_evidence=log_evidence,
        family=np.arange(z.shape[1]),
    )


def _crowd(cloud: Cloud, parts: int = 1) -> Crowd:
    return Crowd(z=cloud.z, worth=effective(cloud.z, cloud.family), parts=parts)


def _places(cloud: Cloud, k: int, rng: np.random.Generator) -> Array:
    """Return up to ``k`` different particles, (D, K)."""
    _, own = np.unique(cloud.log_likelihood, return_index=True)
    return cloud.z[:, rng.permutation(own)[:k]]


def step(rng: np.random.Generator, cloud: Cloud, way: Way) -> tuple[Cloud, Pieces, Report]:
    """Go one temperature further: reweight, resample, move."""
    ratio = cloud.log_ratio
    rise = next_rise(ratio, 1.0 - cloud.beta, way.how.keep)
    log_w = rise * ratio
    total = float(logsumexp(log_w))
    weights = np.exp(log_w - total)
    ess = float(1.0 / np.sum(weights**2))
    moved = attrs.evolve(
        cloud.at(systematic(weights, rng)),
        beta=min(cloud.beta + rise, 1.0),
        log_evidence=cloud.log_evidence + total - float(np.log(len(weights))),
    )
    most, longest = (way.last, way.longest) if moved.beta >= 1.0 else (way.moves, 0)
    pieces, begin = way.about(moved)
    cloud, report = move(rng, moved, way.target, pieces, begin, way.how, ess, most=most, longest=longest)
    return cloud, pieces, report


def next_rise(log_likelihood: Array, most: float, keep: float) -> float:
    """Return the rise in temperature after which a share ``keep`` of the particles is effective."""
    n = len(log_likelihood)

    top = float(log_likelihood.max())

    def effective(rise: float) -> float:
        weights = np.exp(rise * (log_likelihood - top))
        return float(weights.sum() ** 2 / np.sum(weights**2))

    if effective(most) >= keep * n:
        return most
    low, high = 0.0, most
    # numbers-in-code: rounds of a bisection, to far below the shortest stage
    for _ in range(45):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if effective(middle) >= keep * n else (low, middle)
    return max(low, 1e-12)


def systematic(weights: Array, rng: np.random.Generator) -> NDArray[np.intp]:
    """Return the indices of a systematic resampling, (N,)."""
    n = len(weights)
    points = (rng.random() + np.arange(n)) / n
    return np.minimum(np.searchsorted(np.cumsum(weights), points), n - 1)
