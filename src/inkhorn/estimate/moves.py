"""Moves of the sampler about the pieces of a mixture."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.estimate.aim import Array, Settings, Target
from inkhorn.estimate.families import effective
from inkhorn.estimate.pieces import Pieces

#: The log-density that tempering starts from, of unknowns (D, N), (N,).
Begin = Callable[[Array], Array]


@attrs.frozen(kw_only=True, eq=False)
class Cloud:
    """Particles of equal weight at one temperature.

    ``start`` (N,) is the log-density that tempering comes from, ``top`` the
    one it goes to, at unknowns ``z`` (D, N): the target is
    ``(1 - beta) start + beta top``. ``stride`` is how far moves last went;
    ``family`` (N,) tells from which particle of the first cloud each descends.
    """

    z: Array
    log_likelihood: Array
    start: Array
    beta: float
    log_evidence: float
    family: NDArray[np.intp]
    stride: float = 1.0

    @property
    def log_ratio(self) -> Array:
        """Return how much higher the goal lies than the start, (N,); minus infinity where it is impossible."""
        ratio = log_posterior(self.log_likelihood, self.z) - self.start
        return np.where(np.isfinite(ratio), ratio, -np.inf)

    def at(self, picks: NDArray[np.intp]) -> Cloud:
        """Return some of the particles."""
        return attrs.evolve(
            self,
            z=self.z[:, picks],
            log_likelihood=self.log_likelihood[picks],
            start=self.start[picks],
            family=self.family[picks],
        )


@attrs.frozen(kw_only=True)
class Report:
    """What one stage did."""

    beta: float
    ess: float
    acceptance: float
    moves: int
    memory: float


def log_posterior(ll: Array | float, z: Array) -> Array:
    """Return the log-posterior of unknowns ``z`` (D, N) but for a constant, (N,)."""
    return np.asarray(ll - 0.5 * np.sum(z**2, axis=0))


def move(
    rng: np.random.Generator,
    cloud: Cloud,
    target: Target,
    pieces: Pieces,
    begin: Begin | None,
    how: Settings,
    ess: float,
    *,
    most: int,
    longest: int = 0,
) -> tuple[Cloud, Report]:
    """Move every particle about the pieces until it has forgotten where it was, or ``most`` times.

    ``begin`` is None where tempering comes from the pieces themselves. Where ``longest`` is more than ``most``, it goes
    on until the particles are worth a share ``how.enough`` of as many independent ones, or so many times in all.
    """
    mover = _Mover(rng=rng, target=target, begin=begin, how=how, cloud=cloud, pieces=pieces)
    first, origin, memory, count = cloud.z, mover.straight, 1.0, 0
    while memory > how.forget and (count < most or (count < longest and _poor(mover, how))):
        mover.about()
        count += 1
        memory = max(
            _memory(a, b, pieces.basis) for a, b in ((origin, mover.straight), (first, mover.cloud.z))
        )
    report = Report(
        beta=cloud.beta, ess=ess, acceptance=mover.taken / max(count, 1), moves=count, memory=memory
    )
    return mover.cloud, report


@attrs.define(kw_only=True, eq=False)
class _Mover:
    """A cloud on the move, with its straight unknowns and what the pieces are there."""

    rng: np.random.Generator
    target: Target
    begin: Begin | None
    how: Settings
    cloud: Cloud
    pieces: Pieces
    taken: float = 0.0
    straight: Array = attrs.field(init=False)
    _each: Array = attrs.field(init=False)
    _total: Array = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        """Reckon where the cloud stands."""
        self.straight = self.pieces.straight(self.cloud.z)
        self._each = self.pieces.each(self.straight)
        self._total = self.pieces.total(self.straight, self._each)

    def about(self) -> None:
        """Move about the pieces, some particles by the cloud's stride, some all the way.

        Where a piece is near the target a particle drawn from it anew has forgotten everything at once; where none is,
        a short way is all that will be taken. How far each goes does not hang on where it is, so both leave the target
        as it is.

        The lot that decides is drawn before the likelihood is asked for: a
        target that can tell early that a proposal falls short need not go to
        its end.
        """
        c, beta = self.cloud, self.cloud.beta
        anew = self.rng.random(c.z.shape[1]) < self.how.anew
        there = self.pieces.moved(self.straight, self._each, np.where(anew, 1.0, c.stride), self.rng)
        new = self.pieces.bent(there)
        each = self.pieces.each(there)
        total = self.pieces.total(there, each)
        height = (1.0 - beta) * c.start + beta * log_posterior(c.log_likelihood, c.z) - self._total
        bar = height + np.log(self.rng.random(len(height)))
        start = total if self.begin is None else self._start(self.begin, new)
        base = (1.0 - beta) * start + beta * log_posterior(0.0, new) - total
        ll = self.target.log_likelihood_above(new, (bar - base) / beta)
        ok = np.asarray(base + beta * ll > bar)
        self.straight = np.where(ok, there, self.straight)
        self._each = np.where(ok, each, self._each)
        self._total = np.where(ok, total, self._total)
        self.taken += float(ok.mean())
        # numbers-in-code: the shortest step worth taking
        stride = float(np.clip(c.stride * np.exp(self.how.gain * (ok.mean() - self.how.accept)), 0.02, 1.0))
        self.cloud = attrs.evolve(
            c,
            z=np.where(ok, new, c.z),
            log_likelihood=np.where(ok, ll, c.log_likelihood),
            start=np.where(ok, start, c.start),
            stride=stride,
        )

    def _start(self, begin: Begin, new: Array) -> Array:
        return np.zeros(new.shape[1]) if self.cloud.beta >= 1.0 else begin(new)


def _poor(mover: _Mover, how: Settings) -> bool:
    """Say whether the cloud is not yet worth enough independent particles."""
    cloud = mover.cloud
    along = mover.pieces.basis.T @ cloud.z
    return bool(effective(along, cloud.family) < how.enough * cloud.z.shape[1])


def _memory(before: Array, now: Array, basis: Array) -> float:
    """Return how far particles remember where they stood: the largest correlation along an informed direction."""
    a, b = (basis.T @ z if basis.shape[1] else z for z in (before, now))
    a, b = a - a.mean(axis=1, keepdims=True), b - b.mean(axis=1, keepdims=True)
    scale = np.sqrt(np.sum(a**2, axis=1) * np.sum(b**2, axis=1))
    along = np.divide(np.sum(a * b, axis=1), scale, out=np.zeros_like(scale), where=scale > 0)
    return float(along.max(initial=0.0))
