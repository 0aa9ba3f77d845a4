"""The mixture of bare, thinned and intact densities."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.imaging.settings import from_handbook
from inkhorn.imaging.wear import split

SETTINGS = from_handbook()


def _drawn(seed: int, *, intact: float, thinned: float, bare: float, n: int = 20000) -> np.ndarray:
    rng = np.random.default_rng(seed)
    parts = [
        rng.normal(0.8, 0.05, round(n * intact)),
        rng.normal(0.4, 0.09, round(n * thinned)),
        rng.normal(0.0, 0.015, round(n * bare)),
    ]
    return np.concatenate(parts)


@pytest.mark.parametrize(
    ("intact", "thinned", "bare"),
    [(1, 0, 0), (0.7, 0.3, 0), (0.8, 0, 0.2), (0.5, 0.3, 0.2), (0.52, 0.38, 0.1)],
)
def test_known_mixtures_are_recovered(intact: float, thinned: float, bare: float) -> None:
    """Drawn from normals of known means and shares, both come back; parts not there get none."""
    x = _drawn(1, intact=intact, thinned=thinned, bare=bare)
    found = split(x, x, noise=0.015, independent=800, settings=SETTINGS)
    np.testing.assert_allclose(found.shares(x).mean(axis=0), [bare, thinned, intact], atol=0.03)
    assert found.mean[2] == pytest.approx(0.8, abs=0.01)


def test_a_threshold_would_be_wrong() -> None:
    """The intact mean is not the mean above a threshold half way: that is biased where parts overlap."""
    rng = np.random.default_rng(2)
    x = np.concatenate([rng.normal(0.8, 0.08, 10000), rng.normal(0.55, 0.1, 8000)])
    found = split(x, x, noise=0.015, independent=3000, settings=SETTINGS)
    assert abs(found.mean[2] - 0.8) < 0.02
    assert abs(x[x > 0.4].mean() - 0.8) > 0.08


def test_few_witnesses_do_not_split() -> None:
    """With few independent patches a slight shoulder is not called a second part."""
    x = _drawn(3, intact=0.97, thinned=0.03, bare=0)
    few = split(x, x, noise=0.015, independent=12, settings=SETTINGS)
    assert few.shares(x).mean(axis=0)[1] == 0


def test_pools_are_cut_off() -> None:
    """Where the denser part is the smaller, it is pools: ordinary strokes count as intact."""
    rng = np.random.default_rng(4)
    x = np.concatenate([rng.normal(0.5, 0.04, 15000), rng.normal(0.95, 0.05, 4000)])
    found = split(x, x, noise=0.01, independent=800, settings=SETTINGS)
    assert found.cap == pytest.approx(0.54, abs=0.02)
    assert found.mean[2] == pytest.approx(0.5, abs=0.03)
    assert found.shares(x).mean(axis=0)[2] > 0.95


def test_shares_are_probabilities_everywhere() -> None:
    """At any density the shares add to one; beyond the ends the outer parts take all."""
    x = _drawn(5, intact=0.5, thinned=0.3, bare=0.2)
    found = split(x, x, noise=0.015, independent=500, settings=SETTINGS)
    at = np.linspace(-1, 3, 200)
    np.testing.assert_allclose(found.shares(at).sum(axis=1), 1)
    assert found.shares(np.array([3.0]))[0, 2] > 0.99
    assert found.shares(np.array([-1.0]))[0, 0] > 0.99
