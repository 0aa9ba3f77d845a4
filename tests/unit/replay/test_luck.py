"""The scatter of films with its size integrated out has the same distribution as the plain hierarchy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import ks_2samp

from inkhorn.handbook.load import row
from inkhorn.replay import luck
from inkhorn.replay.draws import Draws, Unknown

N = 20_000


def draws_for(names, seed):
    """Return draws of unit normals for the loads of trials."""
    unknowns = {f"trial:{n}/load": Unknown(f"trial:{n}/load", row("misfit.unit")) for n in names}
    z = np.random.default_rng(seed).standard_normal((len(names), N))
    return Draws(unknowns, z)


@pytest.mark.parametrize("n", [1, 2, 5, 20])
def test_radius_and_components_are_those_of_the_hierarchy(n):
    """Drawn as size times normals, the radius and one component have the same distribution (two-sample KS)."""
    names = [f"t{i}" for i in range(n)]
    u = np.stack(list(luck.scatter(names, draws_for(names, 1)).values()))
    rng = np.random.default_rng(2)
    plain = row("misfit.stroke").draw(N, rng) * rng.standard_normal((n, N))
    for mine, theirs in ((np.linalg.norm(u, axis=0), np.linalg.norm(plain, axis=0)), (u[0], plain[0])):
        assert ks_2samp(mine, theirs).pvalue > 1e-3


def test_the_size_is_given_back():
    """Where trials scatter little the size given them is small; the size's own prior comes back without trials."""
    names = [f"t{i}" for i in range(12)]
    unknowns = {f"trial:{n}/load": Unknown(f"trial:{n}/load", row("misfit.unit")) for n in names}
    place = np.random.default_rng(3).standard_normal(4000)
    z = np.random.default_rng(4).standard_normal((12, 4000))
    quiet = luck.size_given(names, Draws(unknowns, 0.3 * z), place)
    loud = luck.size_given(names, Draws(unknowns, 1.5 * z), place)
    assert np.median(quiet) < 0.7 * np.median(loud)
    prior = luck.size_given((), Draws({}, np.zeros((0, 4000))), place)
    assert np.median(prior) == pytest.approx(row("misfit.stroke").value, rel=0.05)


def test_sizes_averaged_over_the_prior_are_the_prior():
    """Drawing trials from the prior and then the size given them gives the size's prior back (calibration)."""
    names = [f"t{i}" for i in range(4)]
    place = np.random.default_rng(5).standard_normal(N)
    got = luck.size_given(names, draws_for(names, 6), place)
    expected = row("misfit.stroke").draw(N, np.random.default_rng(7))
    assert ks_2samp(got, expected).pvalue > 1e-3
