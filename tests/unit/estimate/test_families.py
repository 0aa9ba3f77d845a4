"""The effective number of a cloud, told from which particles are kin."""

import numpy as np
import pytest

from inkhorn.estimate.aim import Settings
from inkhorn.estimate.families import effective
from support.known_targets import Linear, run


def test_strangers_are_worth_their_number():
    """Independent particles, each its own family, are worth all of them."""
    along = np.random.default_rng(0).standard_normal((3, 5000))
    assert effective(along, np.arange(5000)) == pytest.approx(5000, rel=1e-9)


@pytest.mark.parametrize("copies", [2, 10])
def test_copies_are_worth_one(copies):
    """Families of so many equal members: the variance of a mean of clusters (Cochran, Sampling Techniques, 9.4)."""
    one = np.random.default_rng(1).standard_normal((1, 400))
    along, family = np.repeat(one, copies, axis=1), np.repeat(np.arange(400), copies)
    assert effective(along, family) == pytest.approx(400, rel=1e-9)


def test_kin_that_have_forgotten_each_other_are_strangers():
    """Members of a family that were drawn anew are worth about as much as strangers."""
    along = np.random.default_rng(2).standard_normal((1, 6000))
    assert effective(along, np.repeat(np.arange(600), 10)) == pytest.approx(6000, rel=0.2)


def test_the_direction_that_forgets_least_counts():
    """One direction of copies among directions of strangers sets the number."""
    rng = np.random.default_rng(3)
    copied = np.repeat(rng.standard_normal((1, 100)), 10, axis=1)
    along = np.concatenate([rng.standard_normal((4, 1000)), copied])
    assert effective(along, np.repeat(np.arange(100), 10)) == pytest.approx(100, rel=1e-9)


def test_no_direction_leaves_all():
    """Where nothing is informed of, nothing was lost."""
    assert effective(np.zeros((0, 64)), np.zeros(64, dtype=np.intp)) == 64


def test_the_number_told_is_that_of_the_scatter_between_seeds():
    """Badly sampled, a mean scatters over seeds as that of so many independent draws would, to the error of sixty seeds."""
    hasty = Settings(moves=1, last_moves=1, most_moves=1, widen=3.0)
    target, means, spread, share = Linear(12, 10, 0.5, seed=8), [], [], []
    along = np.linalg.svd(target.a)[2][:1]
    for seed in range(60):
        got = run(target, 12, n=512, seed=seed, settings=hasty)
        x = along @ got.z
        means.append(x.mean())
        spread.append(x.var())
        share.append(1 / effective(x, got.family))
    worth = 1 / np.mean(share)
    assert worth < 200
    assert np.var(means, ddof=1) / np.mean(spread) * worth == pytest.approx(1, abs=0.5)
