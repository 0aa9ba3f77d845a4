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
        return np.asarray(shares_of((self,), density)[0])


def shares_of(mixtures: tuple[Mixture, ...], density: Array) -> Array:
    """Return `Mixture.shares` of the same densities (N,) for several mixtures, shape (S, N, 3)."""
    mean, spread, weight = (
        np.array([getattr(one, name) for one in mixtures])[:, None] for name in ("mean", "spread", "weight")
    )
    capped = np.minimum(density, np.array([[one.cap] for one in mixtures]))
    z = (capped[..., None] - mean) / spread
    z[..., 0] = np.maximum(z[..., 0], 0)
    z[..., 2] = np.minimum(z[..., 2], 0)
    part = weight / spread * np.exp(-0.5 * z**2) + 1e-300 * (weight > 0)
    return np.asarray(part / part.sum(axis=2, keepdims=True))


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
    middle, share = _counted(every)
    parts = share @ first.shares(middle)
    if (
        parts[1] <= settings.pool_share * (parts[1] + parts[2])
        or first.mean[1] < settings.pool_ratio * first.mean[2]
    ):
        return first
    cap = float(first.mean[1] + first.spread[1])
    again = _best(np.minimum(density, cap), noise, independent, settings)
    return attrs.evolve(again, cap=cap)


# numbers-in-code: bins of a histogram
_BINS = 200


def split_all(
    density: Array, weight: Array, *, cap: float, noise: float, independent: float, settings: Settings
) -> Mixture:
    """Fit the mixture that shares out the stroke area, to every core by the area it stands for.

    The deep cores that tell a density best are few where ink is thinned or
    narrow; of all the area each part has its due, at the price of more noise.
    """
    fitted = _best(np.minimum(density, cap), noise, independent, settings, weight)
    return attrs.evolve(fitted, cap=cap)


def _counted(density: Array, low: float = np.inf, weight: Array | None = None) -> tuple[Array, Array]:
    """Return the bins of a histogram and the share of the values in each; the last and first hold what lies beyond."""
    top = float(np.quantile(density, 1 - 1e-3)) + 1e-6
    low = min(low, float(np.quantile(density, 1e-3)))
    place = np.clip((density - low) / (top - low) * _BINS, 0, _BINS - 1).astype(np.int64)
    counts = np.bincount(place, weight, _BINS)
    middle = low + (np.arange(_BINS) + 0.5) * (top - low) / _BINS
    return middle, counts / max(1, counts.sum())


#: Which of bare, thinned and intact there may be; intact ink there always is.
_SETS = np.array(((0, 0, 1), (0, 1, 1), (1, 0, 1), (1, 1, 1)), bool)


def _best(
    density: Array, noise: float, independent: float, settings: Settings, weight: Array | None = None
) -> Mixture:
    x, share = _counted(density, -3 * noise, weight)
    cumulative = np.cumsum(share)
    starts = np.searchsorted(cumulative, 1 - np.array([1, 2, 3]) / 12)
    dark = np.tile(x[np.minimum(len(x) - 1, starts)], len(_SETS))
    present = np.repeat(_SETS, len(starts), axis=0)
    floor = max(settings.intact_floor, noise)
    mean = np.stack([0 * dark, dark / 2, dark], axis=1)
    spread = np.stack([np.full(len(dark), max(noise, floor / 2)), dark / 4 + floor, floor + dark / 8], axis=1)
    part = present / present.sum(axis=1, keepdims=True)
    # numbers-in-code: rounds before giving up
    mean, spread, part = _climb(x, share[None], (mean, spread, part), noise, settings, most=200)
    score = (share * np.log(_parts(x, mean, spread, part).sum(axis=2) + 1e-300)).sum(axis=1)
    parameters = 3 * present.sum(axis=1) - 1 - present[:, 0]
    criterion = -2 * independent * score + parameters * np.log(max(2.0, independent))
    best = int(criterion.argmin())
    return Mixture(mean=mean[best], spread=spread[best], weight=part[best])


def refit(
    mixture: Mixture, middle: Array, counts: Array, noise: float, settings: Settings
) -> tuple[Mixture, ...]:
    """Fit the same parts again to other counts (S, B), one a resample, starting from ``mixture``."""
    share = counts / np.maximum(1.0, counts.sum(axis=1, keepdims=True))
    start = tuple(
        np.repeat(part[None], len(counts), axis=0) for part in (mixture.mean, mixture.spread, mixture.weight)
    )
    # numbers-in-code: rounds before giving up
    fitted = _climb(middle, share, (start[0], start[1], start[2]), noise, settings, most=40)
    return tuple(
        Mixture(mean=m, spread=s, weight=w, cap=mixture.cap) for m, s, w in zip(*fitted, strict=True)
    )


def _climb(
    x: Array, share: Array, start: tuple[Array, Array, Array], noise: float, settings: Settings, *, most: int
) -> tuple[Array, Array, Array]:
    """Climb by EM from several starts at once: parameters (S, 3), shares (S, B) or (1, B)."""
    mean, spread, weight = start
    present, floor = weight > 0, max(settings.intact_floor, noise)
    for _ in range(most):
        part = _parts(x, mean, spread, weight)
        belong = part * (share / (part.sum(axis=2) + 1e-300))[..., None]
        mass = belong.sum(axis=1)
        old = weight
        weight = np.where(present, np.maximum(mass, 1e-6), 0)
        weight = weight / weight.sum(axis=1, keepdims=True)
        some = mass > 1e-6
        safe = np.where(some, mass, 1)
        centre = np.where(some, np.einsum("sbk,b->sk", belong, x) / safe, mean)
        square = np.einsum("sbk,b->sk", belong, x**2) / safe - centre**2
        wide = np.where(some, np.sqrt(np.maximum(square, 0)), spread)
        mean = _kept(centre, settings)
        spread = _floored(wide, mean[:, 2], floor, noise, settings)
        # numbers-in-code: numerical tolerance of a share
        if np.abs(weight - old).max() < 1e-5:
            break
    return mean, spread, weight


def _floored(wide: Array, intact: Array, floor: float, noise: float, settings: Settings) -> Array:
    """Keep the spreads between floors and ceilings."""
    least = np.minimum(np.hypot(floor, noise * 10**intact), intact / 4)
    return np.stack(
        [
            np.clip(wide[:, 0], floor / 2, np.maximum(settings.bare_share * intact, floor)),
            np.clip(wide[:, 1], floor, intact / 2 + floor),
            np.clip(wide[:, 2], least, intact / 4 + floor),
        ],
        axis=1,
    )


def _kept(centre: Array, settings: Settings) -> Array:
    """Keep the parts in order: bare near nothing, thinned clearly between, intact on top."""
    intact = np.maximum(centre[:, 2], 1e-3)
    bare = np.clip(centre[:, 0], -settings.bare_share * intact, settings.bare_share * intact)
    thinned = np.clip(centre[:, 1], settings.bare_share * intact, settings.thin_share * intact)
    return np.stack([bare, thinned, intact], axis=1)


def _parts(x: Array, mean: Array, spread: Array, weight: Array) -> Array:
    z = (x[None, :, None] - mean[:, None]) / spread[:, None]
    return np.asarray((weight / spread)[:, None] * np.exp(-0.5 * z**2))
