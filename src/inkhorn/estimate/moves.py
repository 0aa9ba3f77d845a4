"""Moves of the sampler: about the pieces of a mixture, and along what makes up for one another."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.estimate.aim import Array, Exchange, Settings, Target
from inkhorn.estimate.pieces import Pieces

#: The log-density that tempering starts from, of unknowns (D, N), (N,).
Begin = Callable[[Array], Array]


@attrs.frozen(kw_only=True, eq=False)
class Cloud:
    """Particles of equal weight at one temperature.

    ``start`` (N,) is the log-density that tempering comes from, ``top`` the
    one it goes to, at unknowns ``z`` (D, N): the target is
    ``(1 - beta) start + beta top``. ``stride`` and ``trade`` are how far moves
    last went, about the pieces and along an exchange.
    """

    z: Array
    log_likelihood: Array
    start: Array
    beta: float
    log_evidence: float
    stride: float = 1.0
    trade: float = 0.5

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
    begin: Begin,
    how: Settings,
    ess: float,
    *,
    most: int,
) -> tuple[Cloud, Report]:
    """Move every particle until it has forgotten where it was, or ``most`` times.

    Every other move goes along the target's exchange, if it has one.
    """
    mover = _Mover(rng=rng, target=target, begin=begin, how=how, cloud=cloud, pieces=pieces)
    exchange = target.exchange
    origin, memory, count = cloud.z, 1.0, 0
    while count < most and memory > how.forget:
        if exchange is not None and count % 2:
            mover.trade(exchange)
        else:
            mover.about()
        count += 1
        memory = _memory(origin, mover.cloud.z, pieces.basis)
    report = Report(
        beta=cloud.beta, ess=ess, acceptance=mover.taken / max(count, 1), moves=count, memory=memory
    )
    return mover.cloud, report


@attrs.define(kw_only=True, eq=False)
class _Known:
    """A figure of every particle, worked out anew only for those that have moved since."""

    of: Callable[[Array], Array]
    now: Array = attrs.field(factory=lambda: np.zeros((0, 0)))
    stale: NDArray[np.bool_] = attrs.field(factory=lambda: np.zeros(0, dtype=bool))

    def at(self, z: Array) -> Array:
        """Return it for particles at ``z`` (D, N), (m, N)."""
        if not self.now.size:
            self.now = self.of(z)
        elif self.stale.any():
            self.now[:, self.stale] = self.of(z[:, self.stale])
        self.stale = np.zeros(z.shape[1], dtype=bool)
        return self.now

    def moved(self, ok: NDArray[np.bool_], now: Array | None = None) -> None:
        """Take note that some particles have moved, and of the figure there if it is known."""
        if not self.now.size:
            return
        if now is None:
            self.stale |= ok
        else:
            self.now = np.where(ok, now, self.now)


@attrs.define(kw_only=True, eq=False)
class _Mover:
    """A cloud on the move; what is known of the particles that stayed is kept."""

    rng: np.random.Generator
    target: Target
    begin: Begin
    how: Settings
    cloud: Cloud
    pieces: Pieces
    taken: float = 0.0
    _each: _Known = attrs.field(init=False)
    _worth: _Known = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        """Know nothing yet."""
        self._each = _Known(of=self.pieces.each)
        exchange = self.target.exchange
        self._worth = _Known(of=exchange.worth if exchange is not None else self.pieces.each)

    def about(self) -> None:
        """Move about the pieces."""
        z = self.cloud.z
        each = self._each.at(z)
        new = self.pieces.moved(z, each, self.cloud.stride, self.rng)
        there = self.pieces.each(new)
        ok = self._decide(new, self.pieces.total(z, each), self.pieces.total(new, there))
        self._each.moved(ok, there)
        self._worth.moved(ok)
        self.cloud = attrs.evolve(self.cloud, stride=self._tuned(self.cloud.stride, ok))

    def trade(self, exchange: Exchange) -> None:
        """Move the free unknowns about their prior, the paid ones making up for it."""
        z, step = self.cloud.z, self.cloud.trade
        worth = self._worth.at(z)
        new = z.copy()
        noise = self.rng.standard_normal((len(exchange.free), z.shape[1]))
        new[exchange.free] = np.sqrt(1.0 - step**2) * z[exchange.free] + step * noise
        there = exchange.worth(new)
        new[exchange.paid] -= (there - worth) / exchange.unit[:, None]
        ok = self._decide(new, *(log_posterior(0.0, x[exchange.free]) for x in (z, new)))
        self._worth.moved(ok, there)
        self._each.moved(ok)
        self.cloud = attrs.evolve(self.cloud, trade=self._tuned(step, ok))

    def _decide(self, new: Array, here: Array, there: Array) -> NDArray[np.bool_]:
        """Take or leave a move that is reversible with respect to a density of logarithm ``here`` and ``there``, (N,).

        The lot that decides is drawn before the likelihood is asked for: a
        target that can tell early that a proposal falls short need not go to
        its end.
        """
        c, beta = self.cloud, self.cloud.beta
        height = (1.0 - beta) * c.start + beta * log_posterior(c.log_likelihood, c.z) - here
        bar = height + np.log(self.rng.random(len(height)))
        start = np.zeros(len(height)) if beta >= 1.0 else self.begin(new)
        base = (1.0 - beta) * start + beta * log_posterior(0.0, new) - there
        ll = self.target.log_likelihood_above(new, (bar - base) / beta)
        ok = np.asarray(base + beta * ll > bar)
        self.cloud = attrs.evolve(
            c,
            z=np.where(ok, new, c.z),
            log_likelihood=np.where(ok, ll, c.log_likelihood),
            start=np.where(ok, start, c.start),
        )
        self.taken += float(ok.mean())
        return ok

    def _tuned(self, stride: float, ok: NDArray[np.bool_]) -> float:
        # numbers-in-code: the shortest step worth taking
        return float(np.clip(stride * np.exp(ok.mean() - self.how.accept), 0.02, 1.0))


def _memory(before: Array, now: Array, basis: Array) -> float:
    """Return how far particles remember where they stood: the largest correlation along an informed direction."""
    a, b = (basis.T @ z if basis.shape[1] else z for z in (before, now))
    a, b = a - a.mean(axis=1, keepdims=True), b - b.mean(axis=1, keepdims=True)
    scale = np.sqrt(np.sum(a**2, axis=1) * np.sum(b**2, axis=1))
    along = np.divide(np.sum(a * b, axis=1), scale, out=np.zeros_like(scale), where=scale > 0)
    return float(along.max(initial=0.0))
