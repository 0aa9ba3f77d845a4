r"""A posterior pieced together from normals, each fitted where a draw lies.

At a draw ``z_k`` the readings' slopes give the normal that Gauss-Newton takes
the posterior to be there: covariance ``(I + H_k)^{-1}``, about one Newton step
on from ``z_k``. One such normal is a poor likeness of a bent ridge; fifty along
it follow the bend. Along the directions that no piece is informed of, all are
the prior, and only the few informed directions are worked with [Cui2014]_.

The mixture is the reference of the moves. A particle at ``z`` picks a piece ``k``
with the share that ``k`` has of the mixture there, moves by preconditioned
Crank-Nicolson about that piece's normal [Cotter2013]_, and the move is taken
with the ratio of target to *mixture*: picking and moving together leave
``target`` unchanged, for ``pi(z) (w_k N_k / M)(z) = (pi / M)(z) w_k N_k(z)`` and the
move is reversible with respect to ``N_k``.

Where some unknowns make up for others the posterior is bent beyond what fifty
normals can follow. There the normals are laid in unknowns in which it is
straight (`inkhorn.estimate.aim.Exchange`); slopes carry over by the chain rule.

References
----------
.. [Cui2014] T. Cui, J. Martin, Y. Marzouk, A. Solonen, A. Spantini, Inverse Problems 30 (2014) 114015.
.. [Cotter2013] S. Cotter, G. Roberts, A. Stuart, D. White, Stat. Sci. 28 (2013) 424.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.estimate.aim import Array, Exchange, Settings, Target

#: Slope beyond which what unknowns are worth is about to break off: a normal that followed it would be endlessly wide.
STEEPEST = 5.0


@attrs.frozen(kw_only=True, eq=False)
class Pieces:
    """A mixture of K normals along the R directions of ``basis``, standard normal across them.

    Parameters
    ----------
    basis : ndarray, shape (D, R)
        Orthonormal.
    log_share : ndarray, shape (K,)
        Natural logarithm of each piece's share; they add up to one.
    mean : ndarray, shape (K, R)
    root : ndarray, shape (K, R, R)
        Lower Cholesky roots of the covariances.
    exchange : Exchange, optional
        Makes the unknowns straight in which the normals are laid: every method
        takes and gives columns ``u`` of those.
    parts : int
        The last so many normals are each for one part of the columns alone, in their order; 1 for all of them.
    """

    basis: Array
    log_share: Array
    mean: Array
    root: Array
    exchange: Exchange | None = None
    parts: int = 1
    _inverse: Array = attrs.field(init=False)
    _offset: Array = attrs.field(init=False)
    _height: Array = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        """Keep what every density needs."""
        inverse = np.linalg.inv(self.root)
        k, r = self.mean.shape
        object.__setattr__(self, "_inverse", inverse.reshape(k * r, r))
        object.__setattr__(self, "_offset", np.einsum("kij,kj->ki", inverse, self.mean)[:, :, None])
        volume = np.log(np.diagonal(self.root, axis1=1, axis2=2)).sum(axis=1)
        object.__setattr__(self, "_height", (self.log_share - volume)[:, None])

    def straight(self, z: Array) -> Array:
        """Return the straight unknowns of columns ``z`` (D, N) of the target's."""
        return z if self.exchange is None else self.exchange.straight(z)

    def bent(self, u: Array) -> Array:
        """Return the target's unknowns of straight ones (D, N)."""
        return u if self.exchange is None else self.exchange.bent(u)

    def each(self, u: Array) -> Array:
        """Return the log of share times density of every piece along the basis at columns (D, N), (K, N)."""
        k, r = self.mean.shape
        white = (self._inverse @ (self.basis.T @ u)).reshape(k, r, u.shape[1])
        white -= self._offset
        out = np.asarray(self._height - 0.5 * np.einsum("kin,kin->kn", white, white))
        if self.parts > 1:
            out[k - self.parts :][~_belongs(self.parts, u.shape[1])] = -np.inf
        return out

    def total(self, u: Array, each: Array) -> Array:
        """Return the log-density of columns whose `each` is known, but for the constant of a standard normal, (N,)."""
        top = each.max(axis=0)
        along = self.basis.T @ u
        across = np.sum(u**2, axis=0) - np.sum(along**2, axis=0)
        return np.asarray(top + np.log(np.exp(each - top).sum(axis=0)) - 0.5 * across)

    def draw(self, n: int, rng: np.random.Generator) -> Array:
        """Return ``n`` columns drawn from the mixture, (D, n)."""
        pick = np.asarray(rng.choice(len(self.log_share), n, p=np.exp(self.log_share)), dtype=np.intp)
        noise = rng.standard_normal((len(self.basis), n))
        along = self.basis.T @ noise
        placed = self._rooted(pick, along) + self.mean[pick].T
        return np.asarray(noise + self.basis @ (placed - along))

    def moved(self, u: Array, each: Array, stride: Array, rng: np.random.Generator) -> Array:
        """Return columns (D, N) moved by ``stride`` (N,), each about a piece of its own.

        ``each`` (K, N) is what `each` tells of them.
        """
        along = self.basis.T @ u
        share = np.exp(each - each.max(axis=0))
        share /= share.sum(axis=0)
        pick = (np.cumsum(share, axis=0) < rng.random(u.shape[1])).sum(axis=0)
        pick = np.minimum(pick, len(share) - 1)
        noise = rng.standard_normal(u.shape)
        fresh = self.basis.T @ noise
        middle, stay = self.mean[pick].T, np.sqrt(1.0 - stride**2)
        placed = middle + stay * (along - middle) + stride * self._rooted(pick, fresh)
        return np.asarray(stay * u + stride * noise + self.basis @ (placed - stay * along - stride * fresh))

    def _rooted(self, pick: NDArray[np.intp], noise: Array) -> Array:
        out = np.empty_like(noise)
        for k in np.unique(pick):
            mine = np.flatnonzero(pick == k)
            out[:, mine] = self.root[k] @ noise[:, mine]
        return out


@attrs.frozen(kw_only=True, eq=False)
class Crowd:
    """Particles (D, N) on their way to a posterior, and how many independent ones they are worth.

    Where there are ``parts``, the normal about which the particles of one part move is laid by those of all others.
    """

    z: Array
    worth: float
    parts: int = 1


def fit_pieces(
    target: Target, places: Array, beta: float, how: Settings, crowd: Crowd | None = None
) -> Pieces:
    """Fit a normal at each of ``places`` (D, K) to the prior times the likelihood to the power ``beta``.

    A small share of the mixture is the prior itself: no place is quite
    out of reach. Where a crowd is already near the posterior, a large share is one
    normal with the crowd's own mean and covariance: where the straight unknowns are
    straight indeed it is nearer than any that was fitted at one place.
    """
    d, k = places.shape
    told_there = target.slopes(places)
    gradient, information = beta * told_there.gradient, beta * told_there.information
    prior, told = np.broadcast_to(np.eye(d), (k, d, d)), information
    uphill, down = (gradient - places).T, -places.T
    exchange, at = target.exchange, places
    spread = information.mean(axis=0)
    if exchange is not None and told_there.shift is not None:
        shift, paid = np.clip(told_there.shift, -STEEPEST, STEEPEST), exchange.paid
        undone = _undone(shift, paid, len(exchange.steps))
        at = exchange.straight(places)
        prior, told = _straightened(prior, undone, paid), _straightened(told, undone, paid)
        uphill, down = (_pulled(x, undone, paid) for x in (uphill, down))
        # What the prior no longer is round in: the paid unknowns, and whatever they make up for.
        spread = told.mean(axis=0) + np.einsum("kgi,kgj->ij", undone, undone) / k
        spread[paid, paid] += 1.0
    values, vectors = np.linalg.eigh(spread)
    basis = vectors[:, values > how.informed]
    along = (basis.T @ at).T
    alone, both = (basis.T @ x @ basis for x in (prior, prior + told))
    covariance = np.linalg.inv(both)
    first = np.linalg.inv(alone)
    middle = (along + np.einsum("kij,kj->ki", first, down @ basis)).mean(axis=0)
    means = [*(along + np.einsum("kij,kj->ki", covariance, uphill @ basis)), middle]
    covariances = [*(how.widen * covariance), first.mean(axis=0)]
    share = np.append(np.full(k, (1.0 - how.prior_share) / k), how.prior_share)
    parts = 1
    if crowd is not None and how.whole > 0:
        parts = crowd.parts
        for mean, own in _of_crowd(crowd, basis, exchange, covariance.mean(axis=0)):
            means, covariances = [*means, mean], [*covariances, how.widen * own]
        share = np.append((1.0 - how.whole) * share, np.full(parts, how.whole))
    return Pieces(
        basis=basis,
        log_share=np.log(share),
        mean=np.stack(means),
        root=np.linalg.cholesky(np.stack(covariances)),
        exchange=exchange,
        parts=parts,
    )


def _belongs(parts: int, n: int) -> NDArray[np.bool_]:
    """Return which of ``n`` columns belongs to which of as many parts, (P, N): kin, which lie side by side, mostly to one."""
    return np.asarray(np.arange(parts)[:, None] == np.arange(n) * parts // n)


def _of_crowd(
    crowd: Crowd, basis: Array, exchange: Exchange | None, fitted: Array
) -> list[tuple[Array, Array]]:
    """Return mean and covariance of a crowd along a basis of R directions, for each part without that part itself.

    Few particles tell a covariance badly. It is drawn towards that of the
    ``fitted`` normals (R, R), as a posterior mean is under a prior (inverse Wishart)
    worth as many particles as there are directions.
    """
    r = basis.shape[1]
    along = basis.T @ (crowd.z if exchange is None else exchange.straight(crowd.z))
    trust = crowd.worth / (crowd.worth + r)
    out = []
    for mine in _belongs(crowd.parts, along.shape[1]):
        others = along if crowd.parts == 1 else along[:, ~mine]
        own = np.cov(others).reshape(r, r)
        out.append((others.mean(axis=1), trust * own + (1.0 - trust) * fitted))
    return out


def _undone(shift: Array, paid: NDArray[np.intp], steps: int) -> Array:
    """Return what bends back at first order: ``1 + E shift`` has the inverse ``1 - E undone``, (K, G, D).

    What one trade pays with may be among what a later one pays for, but for no earlier one: the series ends.
    """
    out = shift
    for _ in range(steps - 1):
        out = shift - shift[:, :, paid] @ out
    return out


def _straightened(second: Array, shift: Array, paid: NDArray[np.intp]) -> Array:
    """Return second derivatives (K, D, D) in the straight unknowns, bent back by slopes (K, G, D)."""
    right = second - second[:, :, paid] @ shift
    return np.asarray(right - np.swapaxes(shift, 1, 2) @ right[:, paid, :])


def _pulled(first: Array, shift: Array, paid: NDArray[np.intp]) -> Array:
    """Return first derivatives (K, D) in the straight unknowns."""
    return np.asarray(first - np.einsum("kgi,kg->ki", shift, first[:, paid]))
