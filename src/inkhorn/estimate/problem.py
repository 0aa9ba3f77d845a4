"""A daybook as something to sample: unknowns, replay, likelihood and its slope."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import attrs
import numpy as np

from inkhorn.estimate.likelihood import Array, Evidence, make_evidence
from inkhorn.replay.draws import Draws, Scout, Unknown, standard_normal
from inkhorn.replay.fold import Plan, Played, play

_STEP = 1e-4


@attrs.frozen(kw_only=True, eq=False)
class Problem:
    """Likelihood over the whitened unknowns of one plan (see `inkhorn.estimate.smc.Target`)."""

    plan: Plan
    evidence: tuple[Evidence, ...]
    unknowns: Mapping[str, Unknown]
    direct: frozenset[str]

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
        return self._total(outcome, draws)

    def _total(self, outcome: Played, draws: Draws) -> Array:
        total = np.zeros(draws.n)
        for item in self.evidence:
            mu = outcome.predicted[item.number]
            total += np.where(np.isnan(mu).any(axis=0), 0.0, item.log_density(np.nan_to_num(mu), draws))
        return total

    def slopes(self, z: Array) -> tuple[Array, Array]:
        """Return the gradient of the log-likelihood and its information at columns of ``z`` (D, K).

        One replay of K (D + 1) draws gives every slope at once, by forward
        differences. The information is J' W J; the sizes of the model's own
        errors and people's cuts act on the likelihood directly and get the
        square of the gradient (the empirical information) in its stead.

        Returns
        -------
        gradient : ndarray, shape (D, K)
        information : ndarray, shape (D, D)
            Mean over the columns.
        """
        d, k = z.shape
        steps = np.concatenate([np.zeros((d, 1)), _STEP * np.eye(d)], axis=1)
        columns = (z[:, :, None] + steps[:, None, :]).reshape(d, k * (d + 1))
        outcome, draws = self.played(columns)
        direct = [i for i, name in enumerate(self.unknowns) if name in self.direct]
        points = [self.draws(z[:, i : i + 1]) for i in range(k)]
        total, gradient = np.zeros((d, d)), np.zeros((d, k))
        for item in self.evidence:
            mu = outcome.predicted[item.number]
            if not np.isfinite(mu).all():
                continue
            height = item.log_density(mu, draws).reshape(k, d + 1)
            rise = ((height[:, 1:] - height[:, :1]) / _STEP).T
            gradient += rise
            total[direct, direct] += np.sum(rise[direct] ** 2, axis=1)
            per_point = mu.reshape(-1, k, d + 1)
            for i in range(k):
                slope = (per_point[:, i, 1:] - per_point[:, i, :1]) / _STEP
                information = item.information(per_point[:, i, :1], points[i])
                total += slope.T @ information @ slope
        return gradient, total / k

    def prior(self, seed: int, n: int) -> Array:
        """Return standard-normal draws keyed by the seed and each unknown's name, (D, n)."""
        if not self.unknowns:
            return np.zeros((0, n))
        return np.stack([standard_normal(seed, name, n) for name in self.unknowns])


def make_problem(plan: Plan) -> Problem:
    """Return a plan with its likelihood; unknowns of the likelihood join those of the replay."""
    evidence = tuple(make_evidence(item, plan.scene) for item in plan.evidence)
    scout = Scout()
    for item in evidence:
        m = len(getattr(item, "observed", (0,)))
        item.log_density(np.zeros((m, 1)), scout)
    met = {**plan.unknowns, **scout.met}
    return Problem(
        plan=plan,
        evidence=evidence,
        unknowns=MappingProxyType({name: met[name] for name in sorted(met)}),
        direct=frozenset(scout.met),
    )
