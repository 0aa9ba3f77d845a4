"""Targets of the sampler whose answer is known in closed form or by quadrature."""

from __future__ import annotations

import numpy as np

from inkhorn.estimate import smc
from inkhorn.estimate.aim import Exchange, Slopes, Trade
from inkhorn.replay.draws import standard_normal


class Linear:
    """Readings y = A z + e, e ~ N(0, s^2): posterior and evidence of [Bishop 2006, eq. 2.113-2.117]."""

    def __init__(self, d: int, m: int, s: float, seed: int, *, claimed: float | None = None) -> None:
        rng = np.random.default_rng(seed)
        self.a = rng.standard_normal((m, d)) / np.sqrt(d) * 3
        self.y = self.a @ rng.standard_normal(d) + s * rng.standard_normal(m)
        self.s = s if claimed is None else claimed
        self.truth_s = s

    def log_likelihood(self, z):
        """Return the normal log-likelihood."""
        off = (self.y[:, None] - self.a @ z) / self.s
        return -0.5 * np.sum(off**2, axis=0) - len(self.y) * np.log(self.s * np.sqrt(2 * np.pi))

    def log_likelihood_above(self, z, bar):
        """Return minus infinity below the bar."""
        ll = self.log_likelihood(z)
        return np.where(ll >= bar, ll, -np.inf)

    def slopes(self, z):
        """Return A'(y - A z) / s^2, and A'A / s^2, the same everywhere."""
        information = np.broadcast_to(self.a.T @ self.a / self.s**2, (z.shape[1], len(z), len(z)))
        gradient = self.a.T @ (self.y[:, None] - self.a @ z) / self.s**2
        return Slopes(gradient=gradient, information=information)

    exchange = None

    def exact(self):
        """Return the posterior mean, its sd and the log-evidence, by linear algebra, with the true error."""
        d, m = self.a.shape[1], len(self.y)
        precision = np.eye(d) + self.a.T @ self.a / self.truth_s**2
        cov = np.linalg.inv(precision)
        mean = cov @ self.a.T @ self.y / self.truth_s**2
        total = self.a @ self.a.T + self.truth_s**2 * np.eye(m)
        evidence = -0.5 * (
            self.y @ np.linalg.solve(total, self.y) + np.linalg.slogdet(total)[1] + m * np.log(2 * np.pi)
        )
        return mean, np.sqrt(np.diag(cov)), evidence


class Ridge:
    """A colour times what binds, the lesser of iron and sites: ``y = s + min(a, b) + e``, logarithms all."""

    sd, y = 0.05, 0.3

    def __init__(self, *, trades: bool) -> None:
        trade = Trade(paid=np.array([0]), worth=lambda z: self.bound(z)[None], unit=np.ones(1))
        self.exchange = Exchange(steps=(trade,)) if trades else None

    def bound(self, z):
        """Return the logarithm of what is bound."""
        return np.minimum(z[1], 0.2 * z[2])

    def log_likelihood(self, z):
        """Return the normal log-likelihood of the one reading."""
        return -0.5 * ((self.y - z[0] - self.bound(z)) / self.sd) ** 2

    def log_likelihood_above(self, z, _bar):
        """Return the same."""
        return self.log_likelihood(z)

    def slopes(self, z):
        """Return gradient and Gauss-Newton information."""
        less = z[1] < 0.2 * z[2]
        j = np.stack([np.ones(z.shape[1]), 1.0 * less, 0.2 * ~less]) / self.sd
        gradient = j * (self.y - z[0] - self.bound(z)) / self.sd
        shift = None if self.exchange is None else self.exchange.slopes(z)
        return Slopes(gradient=gradient, information=np.einsum("ik,jk->kij", j, j), shift=shift)


def run(target, d, n=1024, seed=0, settings=None):
    """Sample a target from name-keyed prior draws."""
    start = np.array([standard_normal(seed, f"u{i}", n) for i in range(d)])
    return smc.sample(target, start, np.random.default_rng(seed), settings=settings)
