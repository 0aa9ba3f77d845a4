"""A daybook as something to sample: unknowns, replay, likelihood and its slope."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from types import MappingProxyType

import attrs
import numpy as np
from scipy.special import logsumexp

from inkhorn.daybook.entries import Reading
from inkhorn.estimate import contents
from inkhorn.estimate.aim import Exchange, Slopes, along, stepped
from inkhorn.estimate.evidence.numbers import Number
from inkhorn.estimate.likelihood import Array, Evidence, make_evidence
from inkhorn.estimate.trade import exchange_of
from inkhorn.handbook.load import row
from inkhorn.replay import kin
from inkhorn.replay.draws import Draws, Scout, Unknown, standard_normal
from inkhorn.replay.fold import Plan, Played, looked_at, play

_NODES = 7
#: Columns replayed at a time for slopes.
_COLUMNS = 1024


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Problem:
    """Likelihood over the whitened unknowns of one plan (see `inkhorn.estimate.aim.Target`)."""

    plan: Plan
    evidence: tuple[Evidence, ...]
    unknowns: Mapping[str, Unknown]
    direct: frozenset[str]

    @functools.cached_property
    def exchange(self) -> Exchange | None:
        """Return what makes up for one another in every stroke (see `inkhorn.estimate.trade`)."""
        return exchange_of(self.plan, self.unknowns, self._half)

    def draws(self, z: Array) -> Draws:
        """Return the draws that columns of ``z`` (D, N) stand for."""
        return Draws(self.unknowns, z)

    def played(self, z: Array) -> tuple[Played, Draws]:
        """Replay for columns of ``z`` (D, N)."""
        draws = self.draws(z)
        return play(self.plan, draws), draws

    def log_likelihood(self, z: Array) -> Array:
        """Return the log-likelihood of each column of ``z`` (D, N), (N,)."""
        outcome, draws = self.played(z)
        return self.likelihood_of(outcome, draws)

    def log_likelihood_above(self, z: Array, bar: Array) -> Array:
        """Return the log-likelihood of each column, or minus infinity for those sure not to reach ``bar``, (N,).

        What takes long to foresee (pH, from an equilibrium of all ions) is
        left to the end. A reading's density is never higher than at what was
        read: columns that fall short even so are settled without it.
        """
        half, draws = self._last[0][1:] if self._last and self._last[0][0] is z else self._half(z)
        outcome = looked_at(self.plan, half, draws)
        total = self.likelihood_of(outcome, draws, without=self.slow)
        ceiling = total.copy()
        for item in self.slow:
            ceiling += np.maximum(item.log_density(item.observed[:, None], draws), 0.0)
        left = np.flatnonzero(ceiling > bar)
        out = np.full(draws.n, -np.inf)
        if not len(left):
            return out
        some = self.draws(z[:, left])
        for item in self.slow:
            mu = outcome.deferred[item.number].now(left, some)
            total[left] += self._weighed(item, mu, some)
        out[left] = total[left]
        return out

    def _half(self, z: Array) -> tuple[Played, Draws]:
        """Replay for columns of ``z``, slow readings and those of trials put off.

        The last one is kept. Where a proposal's place was found by its replay
        (`Exchange.bent`), all that was filled in since are unknowns that only a
        look at a stroke asks for.
        """
        if self._last and self._last[0][0] is z:
            return self._last[0][1:]
        draws = self.draws(z)
        played = play(self.plan, draws, defer=self._put_off)
        self._last[:] = [(z, played, draws)]
        return played, draws

    @functools.cached_property
    def _put_off(self) -> frozenset[int]:
        slow = {item.number for item in self.slow}
        of_trial = {
            e.number
            for e in self.plan.evidence
            if isinstance(e.entry, Reading) and e.entry.subject[0] == "trial"
        }
        return frozenset(slow | of_trial)

    @functools.cached_property
    def _last(self) -> list[tuple[Array, Played, Draws]]:
        return []

    @functools.cached_property
    def slow(self) -> tuple[Number, ...]:
        """Return the readings whose prediction takes longer than the replay itself."""
        slow = {
            e.number
            for e in self.plan.evidence
            if isinstance(e.entry, Reading) and e.entry.what == "ph" and e.entry.subject[0] == "vessel"
        }
        return tuple(
            i for i in self.evidence if isinstance(i, Number) and i.number in slow and i.doubt is None
        )

    def likelihood_of(self, outcome: Played, draws: Draws, without: tuple[Number, ...] = ()) -> Array:
        """Return the log-likelihood of a replay, (N,), some readings left out."""
        total = np.zeros(draws.n)
        left_out = {item.number for item in without}
        for item in self.evidence:
            if item.doubt is None and item.number not in left_out:
                total += self._height(item, outcome, draws)
        for doubt in self.doubts:
            total += logsumexp(self._by_size(doubt, outcome, draws), axis=0)
        return total

    def _height(self, item: Evidence, outcome: Played, draws: Draws, doubt: float = 0.0) -> Array:
        return self._weighed(item, outcome.predicted[item.number], draws, doubt)

    def _weighed(self, item: Evidence, mu: Array, draws: Draws, doubt: float = 0.0) -> Array:
        missing = np.isnan(mu)
        if not missing.any():
            return item.log_density(mu, draws, doubt)
        known = ~missing.any(axis=0)
        return np.where(known, item.log_density(np.nan_to_num(mu), draws, doubt), 0.0)

    @property
    def doubts(self) -> tuple[str, ...]:
        """Return the kinds of the model's own errors that the readings bear on."""
        return tuple(sorted({item.doubt for item in self.evidence if item.doubt is not None}))

    def _by_size(self, doubt: str, outcome: Played, draws: Draws) -> Array:
        """Return the joint log-density of one kind's readings at each size of its error, prior in, (K, N).

        The size is common to the readings and unknown; summing over the nodes
        of its prior integrates it out, so that the sampler never sees it.
        """
        sizes, weights = error_sizes(doubt)
        mine = [item for item in self.evidence if item.doubt == doubt]
        rows = [sum(self._height(i, outcome, draws, s) for i in mine) for s in sizes]
        return np.asarray(np.stack(rows) + np.log(weights)[:, None])

    def size_of_error(self, doubt: str, outcome: Played, draws: Draws) -> Array:
        """Return the posterior mean size of one of the model's own errors on each draw, (N,)."""
        sizes, weights = error_sizes(doubt)
        if doubt not in self.doubts:
            return np.full(draws.n, float(sizes @ weights))
        log_w = self._by_size(doubt, outcome, draws)
        w = np.exp(log_w - log_w.max(axis=0))
        return np.asarray(sizes @ w / w.sum(axis=0))

    def slopes(self, z: Array) -> Slopes:
        """Return the slopes of the log-likelihood and its information at columns of ``z`` (D, K).

        One replay of K (D + 1) draws gives every slope at once, by forward
        differences. The information is J' W J; people's cuts act on the
        likelihood directly and get the square of the gradient (the empirical
        information) in its stead.
        """
        d, k = z.shape
        few = max(1, _COLUMNS // (d + 1))
        parts = [self._slopes(z[:, i : i + few]) for i in range(0, k, few)]
        return Slopes(
            gradient=np.concatenate([p.gradient for p in parts], axis=1),
            information=np.concatenate([p.information for p in parts]),
            shift=np.concatenate([p.shift for p in parts if p.shift is not None]) if self.exchange else None,
        )

    def _slopes(self, z: Array) -> Slopes:
        d, k = z.shape
        columns = stepped(z)
        half, draws = self._half(columns)
        outcome = looked_at(self.plan, half, draws, vessels=True)
        direct = np.array([i for i, name in enumerate(self.unknowns) if name in self.direct], dtype=np.intp)
        gradient = along(self.likelihood_of(outcome, draws)[None], k)[:, 0].T
        points = [self.draws(z[:, i : i + 1]) for i in range(k)]
        total = np.zeros((k, d, d))
        for item in self.evidence:
            mu = outcome.predicted[item.number]
            if not np.isfinite(mu).all():
                continue
            if item.doubt is None and len(direct):
                own = along(item.log_density(mu, draws)[None], k)[:, 0]
                total[:, direct, direct] += own[:, direct] ** 2
            slopes, at = along(mu, k), mu.reshape(len(mu), k, d + 1)[:, :, :1]
            for i, slope in enumerate(slopes):
                total[i] += slope.T @ item.information(at[:, i], points[i]) @ slope
        shift = None if self.exchange is None else along(self.exchange.worth(columns), k)
        return Slopes(gradient=gradient, information=total, shift=shift)

    def prior(self, seed: int, n: int) -> Array:
        """Return standard-normal draws keyed by the seed and each unknown's name, its entry's number aside, (D, n)."""
        if not self.unknowns:
            return np.zeros((0, n))
        return np.stack([standard_normal(seed, self.plan.alias(name), n) for name in self.unknowns])


@functools.cache
def error_sizes(doubt: str) -> tuple[Array, Array]:
    """Return sizes of one of the model's own errors and their prior weights (Gauss-Hermite nodes)."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    return row(f"misfit.{doubt}").at(nodes), weights / weights.sum()


def make_problem(plan: Plan) -> Problem:
    """Return a plan with its likelihood; unknowns of the likelihood join those of the replay."""
    evidence = tuple(make_evidence(item, plan.scene) for item in plan.evidence)
    scout = Scout()
    for item in evidence:
        m = len(getattr(item, "observed", (0,)))
        item.log_density(np.zeros((m, 1)), scout)
    # What no reading asks for, but an answer will: without these their doubt would be left out.
    asker = Scout(kin.kinship(plan.entries))
    world = play(plan, asker).world
    contents.vessels_of(world, plan, asker)
    contents.lots_of(world, asker)
    met = {**asker.met, **plan.unknowns, **scout.met}
    return Problem(
        plan=plan,
        evidence=evidence,
        unknowns=MappingProxyType({name: met[name] for name in sorted(met, key=plan.alias)}),
        direct=frozenset(scout.met),
    )
