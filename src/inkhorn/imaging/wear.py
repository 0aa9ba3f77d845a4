"""Tell intact, thinned and bare apart along the strokes: a mixture of densities with floors."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.settings import Settings

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Mixture:
    """Three parts in the scalar density: bare, thinned, intact (in this order).

    Attributes
    ----------
    mean, spread, weight : ndarray (3,)
        A part that is not there has weight 0.
    cap : float
        What is denser lies in pools where the pen paused; infinite if there are none.
    """

    mean: Array
    spread: Array
    weight: Array
    cap: float = np.inf

    def shares(self, density: Array) -> Array:
        """Return the probability of each part, shape (N, 3).

        Between bare and intact the normal tails are not trusted: what is
        denser than the intact mean is intact, what is paler than bare is bare.
        """
        density = np.minimum(density, self.cap)
        z = np.column_stack(
            [
                np.maximum(density - self.mean[0], 0) / self.spread[0],
                (density - self.mean[1]) / self.spread[1],
                np.minimum(density - self.mean[2], 0) / self.spread[2],
            ]
        )
        part = self.weight / self.spread * np.exp(-0.5 * z**2) + 1e-300 * (self.weight > 0)
        return np.asarray(part / part.sum(axis=1, keepdims=True))


def split(density: Array, every: Array, *, noise: float, independent: float, settings: Settings) -> Mixture:
    """Fit the mixture to densities of stroke cores.

    Every set of parts that includes intact ink is fitted by EM [DEMPSTER] with
    floors on spreads; the set with the best Bayesian information criterion
    [SCHWARZ] is returned. Where the denser part is the smaller one, it is
    pools of ink and not what wear has spared: wear takes the half of a page
    before the page is given up, pools are spots. The ordinary strokes are then
    split again with the pools cut off.

    Parameters
    ----------
    density : ndarray (N,)
        Scalar density of core pixels deep inside the strokes.
    every : ndarray (M,)
        Scalar density of these and of less deep pixels, which stand for the narrow strokes too.
    noise : float
        Spread of bare support in density.
    independent : float
        How many independent patches the pixels amount to; neighbouring pixels
        repeat each other, and the criterion must not count them as evidence.
    """
    first = _best(density, noise, independent, settings)
    parts = first.shares(every).mean(axis=0)
    if (
        parts[1] <= settings.pool_share * (parts[1] + parts[2])
        or first.mean[1] < settings.pool_ratio * first.mean[2]
    ):
        return first
    cap = float(first.mean[1] + first.spread[1])
    again = _best(np.minimum(density, cap), noise, independent, settings)
    return attrs.evolve(again, cap=cap)


def _best(density: Array, noise: float, independent: float, settings: Settings) -> Mixture:
    top = float(np.quantile(density, 1 - 1e-3)) + 1e-6
    low = min(-3 * noise, float(np.quantile(density, 1e-3)))
    # numbers-in-code: bins of a histogram
    counts, edges = np.histogram(np.clip(density, low, top), bins=200, range=(low, top))
    middle = (edges[1:] + edges[:-1]) / 2
    share = counts / max(1, counts.sum())
    tried = []
    for present in ((0, 0, 1), (0, 1, 1), (1, 0, 1), (1, 1, 1)):
        for start in (1, 2, 3):
            fitted, score = _fit(
                middle, share, np.array(present, bool), noise=noise, start=start, settings=settings
            )
            parameters = 3 * sum(present) - 1 - present[0]
            criterion = -2 * independent * score + parameters * np.log(max(2.0, independent))
            tried.append((criterion, fitted))
    return min(tried, key=lambda pair: pair[0])[1]


def refit(mixture: Mixture, middle: Array, counts: Array, noise: float, settings: Settings) -> Mixture:
    """Fit the same parts again to other counts (a resample), starting from ``mixture``."""
    share = counts / max(1.0, counts.sum())
    # numbers-in-code: rounds before giving up
    return attrs.evolve(_climb(middle, share, mixture, noise, settings, most=40)[0], cap=mixture.cap)


def _fit(
    x: Array, share: Array, present: NDArray[np.bool_], *, noise: float, start: int, settings: Settings
) -> tuple[Mixture, float]:
    cumulative = np.cumsum(share)
    dark = float(x[min(len(x) - 1, int(np.searchsorted(cumulative, 1 - start / 12)))])
    mean = np.array([0.0, dark / 2, dark])
    floor = max(settings.intact_floor, noise)
    spread = np.array([max(noise, floor / 2), dark / 4 + floor, floor + dark / 8])
    weight = np.where(present, 1.0, 0.0) / present.sum()
    # numbers-in-code: rounds before giving up
    return _climb(x, share, Mixture(mean=mean, spread=spread, weight=weight), noise, settings, most=200)


def _climb(
    x: Array, share: Array, start: Mixture, noise: float, settings: Settings, *, most: int
) -> tuple[Mixture, float]:
    mean, spread, weight = start.mean, start.spread, start.weight
    present, floor = weight > 0, max(settings.intact_floor, noise)
    for _ in range(most):
        part = _parts(x, mean, spread, weight)
        total = part.sum(axis=1) + 1e-300
        belong = part / total[:, None] * share[:, None]
        mass = belong.sum(axis=0)
        old = weight
        weight = np.where(present, np.maximum(mass, 1e-6), 0)
        weight = weight / weight.sum()
        with np.errstate(divide="ignore", invalid="ignore"):
            centre = np.where(mass > 1e-6, (belong * x[:, None]).sum(axis=0) / mass, mean)
            wide = np.where(
                mass > 1e-6, np.sqrt((belong * (x[:, None] - centre) ** 2).sum(axis=0) / mass), spread
            )
        mean = _kept(centre, settings)
        spread = np.array(
            [
                np.clip(wide[0], floor / 2, max(settings.bare_share * mean[2], floor)),
                np.clip(wide[1], floor, mean[2] / 2 + floor),
                np.clip(
                    wide[2],
                    np.minimum(np.hypot(floor, noise * 10 ** mean[2]), mean[2] / 4),
                    mean[2] / 4 + floor,
                ),
            ]
        )
        if np.abs(weight - old).max() < 1e-6:
            break
    score = float((share * np.log(_parts(x, mean, spread, weight).sum(axis=1) + 1e-300)).sum())
    return Mixture(mean=mean, spread=spread, weight=weight), score


def _kept(centre: Array, settings: Settings) -> Array:
    """Keep the parts in order: bare near nothing, thinned clearly between, intact on top."""
    intact = max(centre[2], 1e-3)
    bare = np.clip(centre[0], -settings.bare_share * intact, settings.bare_share * intact)
    thinned = np.clip(centre[1], settings.bare_share * intact, settings.thin_share * intact)
    return np.array([bare, thinned, intact])


def _parts(x: Array, mean: Array, spread: Array, weight: Array) -> Array:
    z = (x[:, None] - mean) / spread
    return np.asarray(weight / spread * np.exp(-0.5 * z**2))
