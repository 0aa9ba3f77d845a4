"""Density of the intact ink and the split of wear, with errors from resampling letters."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.cores import Cores
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.wear import Mixture, refit, shares_of, split, split_all

# numbers-in-code: bins of a histogram
_BINS = 80


@attrs.frozen(kw_only=True, eq=False)
class InkReading:
    """What the core pixels say.

    Attributes
    ----------
    density : ndarray (3,)
        Channel density of the intact ink.
    covariance : ndarray (3, 3)
        Of the error of ``density``.
    spread : ndarray (3,)
        Standard deviation of the intact density from letter to letter.
    wear : ndarray (3,)
        Shares bare, thinned, intact of the cores.
    wear_sd : ndarray (3,)
    mixture : Mixture
    pooled : float
        Share of the deep cores that lies in pools and was left out of ``density``.
    """

    density: NDArray[np.float64]
    covariance: NDArray[np.float64]
    spread: NDArray[np.float64]
    wear: NDArray[np.float64]
    wear_sd: NDArray[np.float64]
    mixture: Mixture
    pooled: float


def measure(
    cores: Cores, noise: float, width: float, rng: np.random.Generator, settings: Settings
) -> InkReading:
    """Fit the mixture and resample letters, not pixels (pixels of a letter repeat each other)."""
    letter, letters = _grouped(cores.letter, settings)
    independent = max(int(cores.letter.max()) + 1, np.count_nonzero(cores.deep) / max(1.0, width**2))
    mixture = split(
        cores.density[cores.deep], cores.density, noise=noise, independent=independent, settings=settings
    )
    sharing = split_all(
        cores.density,
        cores.weight,
        cap=mixture.cap,
        noise=noise,
        independent=max(letters, float(cores.weight.sum()) / max(1.0, width**2)),
        settings=settings,
    )
    scalar = np.minimum(cores.density, mixture.cap)
    kept = cores.deep & (cores.density <= mixture.cap + mixture.spread[2])
    low, high = float(scalar.min()), float(np.quantile(scalar, 1 - 1e-3)) + 1e-6
    bins = np.clip(((scalar - low) / (high - low) * _BINS).astype(int), 0, _BINS - 1)
    middle = low + (np.arange(_BINS) + 0.5) * (high - low) / _BINS
    cell = (letter * _BINS + bins).astype(np.int64)
    every = np.bincount(cell, cores.weight, letters * _BINS).reshape(letters, _BINS).astype(np.float64)
    deep = cell[kept]
    shape = (letters, _BINS)
    count = np.bincount(deep, minlength=letters * _BINS).reshape(shape).astype(np.float64)
    lights = [np.bincount(deep, cores.ratio[kept, c], letters * _BINS).reshape(shape) for c in range(3)]
    light = np.asarray(lights, dtype=np.float64)
    belong, shared = mixture.shares(middle), sharing.shares(middle)
    density = _density(count.sum(axis=0), light.sum(axis=1), belong)
    times = rng.multinomial(letters, np.full(letters, 1 / letters), int(settings.resamples)).astype(
        np.float64
    )
    totals, every_again = _summed(times, count), _summed(times, every)
    lots = np.stack([_summed(times, channel) for channel in light], axis=1)
    again = shares_of(refit(mixture, middle, totals, noise, settings), middle)
    draws = [_density(*one) for one in zip(totals, lots, again, strict=True)]
    again = shares_of(refit(sharing, middle, every_again, noise, settings), middle)
    splits = [_shares(*one) for one in zip(every_again, again, strict=True)]
    return InkReading(
        density=density,
        covariance=np.cov(np.array(draws).T) + 1e-12 * np.eye(3),
        spread=_between(count, light, belong),
        wear=_shares(every.sum(axis=0), shared),
        wear_sd=np.std(splits, axis=0),
        mixture=mixture,
        pooled=1 - float(np.count_nonzero(kept)) / max(1, int(np.count_nonzero(cores.deep))),
    )


def _summed(times: NDArray[np.float64], each: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the sums over letters (S, B); so small a product only wakes the threads of a matrix library for nothing."""
    return np.asarray(np.einsum("sl,lb->sb", times, each, optimize=False))


def _grouped(letter: NDArray[np.int64], settings: Settings) -> tuple[NDArray[np.int64], int]:
    """Return numbers of letters, neighbours taken together where there are more than an error needs, and their count."""
    letters = int(letter.max()) + 1
    most = min(letters, int(settings.letters_most))
    return letter * most // letters, most


def _shares(total: NDArray[np.float64], belong: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(total @ belong / max(1.0, total.sum()))


def _density(
    total: NDArray[np.float64], light: NDArray[np.float64], belong: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return channel densities; the light of a bin is shared out as its pixels are, means run in linear light."""
    mean: NDArray[np.float64] = light @ belong[:, 2] / max(1e-9, float(total @ belong[:, 2]))
    return np.asarray(-np.log10(np.maximum(mean, 1e-6)))


def _between(
    count: NDArray[np.float64], light: NDArray[np.float64], belong: NDArray[np.float64]
) -> NDArray[np.float64]:
    intact = count @ belong[:, 2]
    use = intact >= max(1.0, np.median(intact) / 2)
    mean = np.maximum(light @ belong[:, 2] / np.maximum(intact, 1e-9), 1e-6)[:, use]
    return np.asarray(np.std(-np.log10(mean), axis=1))
